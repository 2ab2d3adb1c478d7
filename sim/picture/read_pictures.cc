// SPDX-License-Identifier: Apache-2.0
#include "picture/read_pictures.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <filesystem>
#include <map>
#include <memory>
#include <utility>

#include "picture/beside.h"
#include "picture/read_lamp.h"
#include "picture/read_text.h"
#include "sweep/lamps_asked.h"

namespace drycrank::picture {
namespace {

namespace fs = std::filesystem;

constexpr double kLeastPixels = 24;  // of a field's height in the picture

// A picture of a page: the raster stays where it is, the view looks at it.
struct Taken {
  Raster raster;
  std::unique_ptr<SeenPage> page;
};

class Album {
 public:
  Album(const Marks& marks, std::string folder) : marks_(marks), folder_(std::move(folder)) {}

  // The name of the question's picture, or empty; two are a problem.
  std::string NameOf(const sweep::Question& question) {
    std::string found;
    for (const char* ending : {"png", "jpg", "jpeg", "ppm", "PNG", "JPG", "JPEG"}) {
      const std::string name =
          fmt::format("page{}_question{}.{}", question.page, question.question, ending);
      std::error_code none;
      if (!fs::exists(fs::path(folder_) / name, none)) continue;
      if (found.empty()) {
        found = name;
      } else if (!fs::equivalent(fs::path(folder_) / name, fs::path(folder_) / found, none)) {
        problems.push_back(
            fmt::format("{} and {} are both in {}, and which is meant is not known; take one away",
                        found, name, folder_));
      }
    }
    return found;
  }

  // When it was taken, as far as the file says.
  std::optional<std::int64_t> TakenAt(const std::string& name) const {
    struct stat facts {};
    const std::string path = (fs::path(folder_) / name).string();
    if (stat(path.c_str(), &facts) != 0) return std::nullopt;
    return static_cast<std::int64_t>(facts.st_mtime);
  }

  // Nothing, and said, when it cannot be read.
  const SeenPage* Open(const std::string& name, const MarkedPage& page) {
    const auto known = taken_.find(name);
    if (known != taken_.end()) return known->second.page.get();
    Taken& taken = taken_[name];
    const auto own = marks_.pictures.find(name);
    const std::optional<Corners> corners =
        own == marks_.pictures.end() ? page.corners : std::optional(own->second);
    std::string why = LoadRaster((fs::path(folder_) / name).string(), taken.raster);
    if (why.empty() && !corners) {
      why = fmt::format(
          "{}: its corners are not marked; write them under its page, or under "
          "pictures",
          name);
    }
    if (!why.empty()) {
      problems.push_back(std::move(why));
      return nullptr;
    }
    taken.page =
        std::make_unique<SeenPage>(SeePage(taken.raster, *corners, page.width, page.height));
    return taken.page.get();
  }
  // Pictures that are read once only.
  void Close(const std::string& name) { taken_.erase(name); }

  std::vector<std::string> problems;

 private:
  const Marks& marks_;
  std::string folder_;
  std::map<std::string, Taken> taken_;
};

class Reading {
 public:
  Reading(const Marks& marks, const std::string& folder, sweep::LampsLit lit)
      : marks_(marks), lit_(std::move(lit)), album_(marks, folder) {}

  PicturesRead Do(const std::vector<sweep::Question>& questions) {
    if (!text_.problem().empty()) return {{}, {text_.problem()}};
    std::size_t pictures = 0;
    std::string ending;  // ".png"
    for (const sweep::Question& question : questions) {
      const std::string name = album_.NameOf(question);
      if (!name.empty()) ++pictures;
      if (name.empty() && marks_.pages.contains(question.page)) {
        out_.missing.push_back({question.question, question.page, ""});
      }
      if (ending.empty()) ending = fs::path(name).extension().string();
      Page(question, name);
    }
    for (MissingPicture& missing : out_.missing) {
      missing.name = fmt::format("page{}_question{}{}", missing.page, missing.question, ending);
    }
    if (pictures == 0) {
      album_.problems.push_back(
          "there is no picture; they are called page1_question1.png, page1_question2.png ...");
    }
    Beside();
    LitWhereDark();
    out_.problems = std::move(album_.problems);
    return std::move(out_);
  }

 private:
  // What only all pictures together tell.
  void Beside() {
    const std::vector<std::string> why = WhyNotBeside(numbers_, looked_at_);
    for (std::size_t i = 0; i < why.size(); ++i) {
      std::string& doubt = out_.readings[of_number_[i]].doubt;
      if (doubt.empty()) doubt = why[i];
    }
  }

  // A lamp that is lit in the picture in which it must be dark is told by none.
  void LitWhereDark() {
    for (PictureReading& read : out_.readings) {
      const auto why = lit_where_dark_.find(read.reading.readout);
      if (why != lit_where_dark_.end() && read.doubt.empty()) read.doubt = why->second;
    }
  }
  // Empty, or the question in whose picture, said to be dark, the lamp must be lit.
  std::string WhyNotDark(const std::string& dark, int page, const std::string& readout) const {
    for (const auto& [asked, names] : lit_) {
      const std::string stem = fmt::format("page{}_question{}", asked.page, asked.question);
      if (asked.page != page || fs::path(dark).stem() != stem || !names.contains(readout)) continue;
      return fmt::format("its lamp must be lit at question {}, and {} is said to have it dark",
                         asked.question, dark);
    }
    return {};
  }

  void Page(const sweep::Question& question, const std::string& name) {
    const auto page = marks_.pages.find(question.page);
    const SeenPage* now = nullptr;
    const SeenPage* dark = nullptr;
    if (!name.empty() && page != marks_.pages.end()) {
      now = album_.Open(name, page->second);
      if (!page->second.dark.empty()) dark = album_.Open(page->second.dark, page->second);
      if (now == nullptr || (dark == nullptr && !page->second.dark.empty())) return;
    }
    const std::size_t first = out_.readings.size();
    bool is_dark = now != nullptr;
    for (const profile::Readout* readout : question.readouts) {
      PictureReading read{{question.question, question.page, readout->name, "", "", {}}, 0, ""};
      if (now != nullptr) read.reading.at_s = album_.TakenAt(name);
      if (page == marks_.pages.end() || !page->second.readouts.contains(readout->name)) {
        read.doubt = "it is not marked";
      } else if (now == nullptr) {
        read.doubt = kNoPicture;
      } else {
        ++looked_at_;
        is_dark &= Field(*readout, page->second.readouts.at(readout->name), *now, dark, read);
      }
      out_.readings.push_back(std::move(read));
    }
    for (std::size_t i = first; is_dark && i < out_.readings.size(); ++i) {
      out_.readings[i].doubt = "nothing is to be seen on the whole page; is the display dark?";
    }
    if (page != marks_.pages.end() && name != page->second.dark) album_.Close(name);
  }

  // Whether nothing is to be seen there.
  bool Field(const profile::Readout& readout, const MarkedField& field, const SeenPage& now,
             const SeenPage* dark, PictureReading& read) {
    if (!now.view.Shows(field.text)) {
      read.doubt = "not all of it is in the picture";
      return false;
    }
    if (now.view.Fineness(field.text) * field.text.height < kLeastPixels) {
      read.doubt = "it is too small in the picture";
      return false;
    }
    TextWish wish{{}, readout.dashes};
    for (const auto& [value, word] : readout.values) wish.names.push_back(word);
    const FieldReading text =
        text_.Read(now.view.Of(field.text, kFieldPixels / field.text.height),
                   now.view.Of(field.text, kFinePixels / field.text.height), wish);
    if (readout.bar) {
      read.doubt = "it is a bar, and no number; count its segments";
      return text.is_blank;
    }
    read.reading.text = text.text;
    read.confidence = text.confidence;
    read.doubt = text.doubt;
    if (!text.signs.empty()) {
      numbers_.push_back({readout.name, readout.decimals > 0, text.text, text.signs});
      of_number_.push_back(out_.readings.size());
    }
    // A lamp that blinks may be dark in this very picture; what warns without a lamp is not read.
    if (sweep::WarnsWithoutLamp(readout) || readout.lamp_blinks_hz > 0) {
      read.reading.lamp = sweep::kLampUnseen;
      return text.is_blank;
    }
    if (!field.lamp || dark == nullptr || readout.lamp.empty()) return text.is_blank;
    const LampReading lamp = ReadLamp(now, *dark, *field.lamp, readout.lamp);
    if (lamp.is_lit) read.reading.lamp = readout.lamp;
    if (lamp.is_lit_where_dark) lit_where_dark_[readout.name] = lamp.doubt;
    const std::string why =
        WhyNotDark(marks_.pages.at(readout.page).dark, readout.page, readout.name);
    if (!why.empty()) lit_where_dark_[readout.name] = why;
    if (read.doubt.empty()) read.doubt = why.empty() ? lamp.doubt : why;
    return text.is_blank;
  }

  const Marks& marks_;
  sweep::LampsLit lit_;
  Album album_;
  std::map<std::string, std::string> lit_where_dark_;  // readout; why its lamp is in doubt
  TextReader text_;
  PicturesRead out_;
  std::vector<SeenNumber> numbers_;
  std::size_t looked_at_ = 0;           // fields
  std::vector<std::size_t> of_number_;  // in out_.readings
};

std::string Quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + "\"";
}

}  // namespace

PicturesRead ReadPictures(const profile::Bench& bench, const Marks& marks,
                          const std::string& folder) {
  const std::vector<profile::Readout> readouts = RequiredReadouts(bench);
  return Reading(marks, folder, sweep::LampsLitAt(bench)).Do(sweep::QuestionsOf(readouts));
}

std::vector<sweep::Reading> Believed(const PicturesRead& read) {
  std::vector<sweep::Reading> believed;
  for (const PictureReading& one : read.readings) {
    if (one.doubt.empty()) believed.push_back(one.reading);
  }
  return believed;
}

std::string TextOf(const PicturesRead& read) {
  std::string text = std::string(kReadTitle) +
                     "\n# format: 1\nquestion,page,readout,reading,lamp,confidence,doubt\n";
  for (const PictureReading& one : read.readings) {
    const sweep::Reading& r = one.reading;
    text += fmt::format("{},{},{},{},{},{:.2f},{}\n", r.question, r.page, r.readout, Quoted(r.text),
                        r.lamp, one.confidence, Quoted(one.doubt));
  }
  return text;
}

}  // namespace drycrank::picture
