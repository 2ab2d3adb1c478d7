// SPDX-License-Identifier: Apache-2.0
#include "capture/sr_trace.h"

#include <fmt/format.h>
#include <zip.h>

#include <bit>
#include <charconv>
#include <map>

#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::capture {
namespace {

constexpr std::size_t kMostMetadata = 1 << 20;
constexpr int kMostUnitBytes = 32;

struct ZipCloser {
  void operator()(zip_t* zip) const { zip_discard(zip); }
  void operator()(zip_file_t* file) const { zip_fclose(file); }
};
using Zip = std::unique_ptr<zip_t, ZipCloser>;
using ZipFile = std::unique_ptr<zip_file_t, ZipCloser>;

// Parts NAME-1, NAME-2, ... (or NAME alone) one behind the other.
class PartStream {
 public:
  PartStream(zip_t* zip, const std::string& name) : zip_(zip), name_(name) {}

  // Bytes of all parts, unpacked, as the zip says.
  std::uint64_t Size() const {
    std::uint64_t size = 0;
    for (int part = 0; part == 0 || Exists(part); ++part) size += SizeOf(part);
    return size;
  }
  // Fewer at the end and where the zip is damaged: see problem().
  std::size_t Read(std::uint8_t* out, std::size_t count) {
    std::size_t done = 0;
    while (done < count) {
      if (!file_ && !OpenNext()) break;
      const auto got = zip_fread(file_.get(), out + done, count - done);
      if (got < 0) problem_ = zip_file_strerror(file_.get());
      if (got < 0) break;
      if (got == 0) file_.reset();
      done += AsSize(got);
    }
    return done;
  }
  const std::string& problem() const { return problem_; }
  const std::string& name() const { return name_; }

 private:
  std::string NameOf(int part) const {
    return part == 0 ? name_ : fmt::format("{}-{}", name_, part);
  }
  bool Exists(int part) const { return zip_name_locate(zip_, NameOf(part).c_str(), 0) >= 0; }
  std::uint64_t SizeOf(int part) const {
    zip_stat_t status;
    if (zip_stat(zip_, NameOf(part).c_str(), 0, &status) != 0) return 0;
    return (status.valid & ZIP_STAT_SIZE) != 0 ? status.size : 0;
  }
  // False, with the problem where one is: parts are numbered without a break.
  bool NoPartIsLater() {
    constexpr int kLookedFor = 64;
    for (int part = next_ + 1; part <= next_ + kLookedFor && next_ > 1; ++part) {
      if (Exists(part)) problem_ = fmt::format("part {} is not in it, part {} is", next_, part);
      if (!problem_.empty()) break;
    }
    return false;
  }
  bool OpenNext() {
    if (next_ == 0 && !Exists(0)) next_ = 1;
    if (!Exists(next_)) return NoPartIsLater();
    file_.reset(zip_fopen(zip_, NameOf(next_).c_str(), 0));
    if (!file_) problem_ = zip_strerror(zip_);
    ++next_;
    return file_ != nullptr;
  }

  zip_t* zip_;
  std::string name_;
  ZipFile file_;
  int next_ = 0;
  std::string problem_;
};

std::string Trimmed(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t\r");
  if (begin == std::string_view::npos) return "";
  return std::string(text.substr(begin, text.find_last_not_of(" \t\r") - begin + 1));
}

// "1 MHz", "500000" in Hz; 0: it is no rate.
double RateOf(std::string_view text) {
  double rate = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), rate);
  if (error != std::errc()) return 0;
  const std::string unit = Trimmed({end, AsSize(text.data() + text.size() - end)});
  const double factor = unit.empty() || unit == "Hz" ? 1
                        : unit == "kHz"              ? 1e3
                        : unit == "MHz"              ? 1e6
                        : unit == "GHz"              ? 1e9
                                                     : 0;
  return rate > 0 ? rate * factor : 0;
}

class SrTrace : public Trace {
 public:
  SrTrace(const std::string& path, Zip zip) : zip_(std::move(zip)) {
    path_ = path;
    info_.format = "sigrok session";
  }

  bool Open() {
    std::string metadata;
    if (!ReadMetadata(metadata)) return false;
    TakeKeys(metadata);
    info_.rate_hz = RateOf(keys_["samplerate"]);
    if (info_.rate_hz == 0) return Refuse(0, "its metadata have no samplerate", kAgain);
    return OpenLogic() && OpenAnalogue() && HasChannels();
  }

  bool Next(TraceBlock& block) override {
    block.Clear();
    const std::size_t channels = info_.channels.size();
    std::size_t rows = kRowsPerBlock;
    block.values.assign(rows * channels, 0);
    for (std::size_t s = 0; s < streams_.size(); ++s) {
      const std::size_t got = Take(s, rows, block);
      if (problem_) return false;
      if (s > 0 && got != rows)
        return Refuse(0,
                      fmt::format("'{}' is of another length than '{}'", streams_[s].name(),
                                  streams_[0].name()),
                      kAgain);
      rows = got;
    }
    block.values.resize(rows * channels);
    for (std::size_t i = 0; i < rows; ++i)
      block.t_ns.push_back(static_cast<double>(row_++) * 1e9 / info_.rate_hz);
    return rows > 0 || (row_ == 0 && Refuse(0, "no samples", kAgain));
  }

 private:
  static constexpr const char* kAgain = "save it again";

  bool ReadMetadata(std::string& text) {
    const ZipFile file(zip_fopen(zip_.get(), "metadata", 0));
    if (!file)
      return Refuse(0, "a zip without 'metadata': not a sigrok session", "CSV, WAV, VCD or .sr");
    text.resize(kMostMetadata + 1);
    const auto got = zip_fread(file.get(), text.data(), text.size());
    if (got < 0)
      return Refuse(0, fmt::format("'metadata' is damaged: {}", zip_file_strerror(file.get())),
                    kAgain);
    if (AsSize(got) > kMostMetadata) return Refuse(0, "metadata of more than 1 MiB", kAgain);
    text.resize(AsSize(got));
    return true;
  }

  // Of the first device; others are passed over.
  void TakeKeys(std::string_view text) {
    bool is_first = false;
    while (!text.empty()) {
      const auto end = std::min(text.find('\n'), text.size());
      const std::string line = Trimmed(text.substr(0, end));
      text.remove_prefix(std::min(end + 1, text.size()));
      if (line.starts_with('[')) is_first = line == "[device 1]";
      const auto equals = line.find('=');
      if (is_first && equals != std::string::npos)
        keys_[Trimmed(line.substr(0, equals))] = Trimmed(line.substr(equals + 1));
    }
  }

  int NumberAt(const std::string& key) const {
    const auto at = keys_.find(key);
    int number = 0;
    if (at != keys_.end())
      std::from_chars(at->second.data(), at->second.data() + at->second.size(), number);
    return number;
  }

  bool OpenLogic() {
    const auto file = keys_.find("capturefile");
    if (file == keys_.end()) return true;
    unit_bytes_ = NumberAt("unitsize");
    if (unit_bytes_ < 1 || unit_bytes_ > kMostUnitBytes) {
      return Refuse(0, fmt::format("samples of {} bytes", unit_bytes_),
                    fmt::format("a unitsize of 1 to {}", kMostUnitBytes));
    }
    for (int bit = 0; bit < 8 * unit_bytes_; ++bit) {
      const auto name = keys_.find(fmt::format("probe{}", bit + 1));
      if (name == keys_.end()) continue;
      bits_.push_back(bit);
      info_.channels.push_back({OneLine(name->second), true, ""});
    }
    return AddStream(file->second);
  }

  bool OpenAnalogue() {
    for (int n = 1; n <= static_cast<int>(kMostChannels); ++n) {
      const auto name = keys_.find(fmt::format("analog{}", n));
      if (name == keys_.end()) continue;
      info_.channels.push_back({OneLine(name->second), false, "V"});
      if (!AddStream(fmt::format("analog-1-{}", n))) return false;
    }
    return true;
  }

  bool AddStream(const std::string& name) {
    streams_.emplace_back(zip_.get(), name);
    unpacked_ += streams_.back().Size();
    if (streams_.back().Size() == 0)
      return Refuse(0, fmt::format("'{}' is not in it, or empty", OneLine(name)), kAgain);
    if (unpacked_ <= kMostUnpacked) return true;
    return Refuse(0, fmt::format("{} GiB when unpacked", unpacked_ >> 30),
                  fmt::format("{} GiB at most: save a part of it", kMostUnpacked >> 30));
  }

  bool HasChannels() {
    if (!info_.channels.empty() && info_.channels.size() <= kMostChannels) return true;
    return Refuse(0, fmt::format("{} channels", info_.channels.size()),
                  fmt::format("1 to {}", kMostChannels));
  }

  // Rows that came.
  std::size_t Take(std::size_t stream, std::size_t rows, TraceBlock& block) {
    const bool is_logic = stream == 0 && unit_bytes_ > 0;
    const std::size_t unit = is_logic ? AsSize(unit_bytes_) : sizeof(float);
    raw_.resize(rows * unit);
    const std::size_t got = streams_[stream].Read(raw_.data(), raw_.size());
    if (!streams_[stream].problem().empty()) {
      Refuse(row_ * unit + got,
             fmt::format("'{}' is damaged: {}", OneLine(streams_[stream].name()),
                         streams_[stream].problem()),
             kAgain);
    } else if (got % unit != 0) {
      Refuse(row_ * unit + got,
             fmt::format("'{}' ends within a sample", OneLine(streams_[stream].name())), kAgain);
    }
    for (std::size_t row = 0; row < got / unit; ++row) {
      is_logic ? PutLogic(row, block) : PutAnalogue(row, stream, block);
    }
    return got / unit;
  }

  void PutLogic(std::size_t row, TraceBlock& block) const {
    const std::uint8_t* at = raw_.data() + row * AsSize(unit_bytes_);
    for (std::size_t c = 0; c < bits_.size(); ++c) {
      const auto bit = static_cast<unsigned>(bits_[c]);
      block.values[row * info_.channels.size() + c] =
          static_cast<float>(at[bit / 8] >> (bit % 8) & 1);
    }
  }

  void PutAnalogue(std::size_t row, std::size_t stream, TraceBlock& block) const {
    const std::uint8_t* at = raw_.data() + row * sizeof(float);
    const std::uint32_t word =
        at[0] | std::uint32_t{at[1]} << 8 | std::uint32_t{at[2]} << 16 | std::uint32_t{at[3]} << 24;
    const std::size_t channel = bits_.size() + stream - (unit_bytes_ > 0 ? 1 : 0);
    block.values[row * info_.channels.size() + channel] = std::bit_cast<float>(word);
  }

  Zip zip_;
  std::map<std::string, std::string> keys_;
  int unit_bytes_ = 0;  // 0: no logic channels
  std::vector<int> bits_;
  std::vector<PartStream> streams_;
  std::uint64_t unpacked_ = 0, row_ = 0;
  std::vector<std::uint8_t> raw_;
};

}  // namespace

OpenedTrace OpenSr(const std::string& path) {
  int error = 0;
  Zip zip(zip_open(path.c_str(), ZIP_RDONLY, &error));
  if (!zip) {
    zip_error_t said;
    zip_error_init_with_code(&said, error);
    const Diagnostic problem{
        {path, 0, 0},
        fmt::format("at byte 0: the zip cannot be read: {}", zip_error_strerror(&said)),
        "save it again"};
    zip_error_fini(&said);
    return {nullptr, problem};
  }
  auto trace = std::make_unique<SrTrace>(path, std::move(zip));
  if (!trace->Open()) return {nullptr, trace->problem()};
  return {std::move(trace), {}};
}

}  // namespace drycrank::capture
