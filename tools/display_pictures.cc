// SPDX-License-Identifier: Apache-2.0
#include "tools/display_pictures.h"

#include <fmt/format.h>

#include <algorithm>

#include "io/result_place.h"
#include "picture/read_pictures.h"
#include "picture/read_text.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

std::nullopt_t Fail(const std::string& problem) {
  fmt::print(stderr, "drycrank display sweep: {}\n", problem);
  return std::nullopt;
}

}  // namespace

std::optional<PicturesSeen> SeePictures(const profile::Bench& bench, const std::string& folder,
                                        const std::string& marks, const std::string& out) {
  if (!picture::CanRead()) return Fail(picture::kHowToRead);
  if (marks.empty()) {
    return Fail(
        "where do the readouts stand on the pictures? Give --marks FILE; "
        "hw-notes/displays.md shows one");
  }
  const std::string file = out + "/" + kReadFile;
  const io::ResultFile result{"--out", file, {picture::kReadTitle}};
  if (const std::string why = io::WhyNotReplaced(result); !why.empty()) return Fail(why);
  const picture::ReadMarks read_marks = picture::LoadMarks(marks, bench);
  if (PrintProblems(read_marks.problems) || !read_marks.marks) return std::nullopt;
  const picture::PicturesRead read = picture::ReadPictures(bench, *read_marks.marks, folder);
  for (const std::string& problem : read.problems) (void)Fail(problem);
  if (!read.problems.empty()) return std::nullopt;
  if (const std::string why = WriteFile(file, picture::TextOf(read)); !why.empty()) {
    return Fail(why);
  }
  PicturesSeen seen{picture::Believed(read), {}, {}, {}};
  for (const picture::MissingPicture& one : read.missing) {
    seen.without_picture.insert({one.question, one.page});
    seen.missing.push_back(fmt::format("{} is not in {}", one.name, folder));
  }
  for (const picture::PictureReading& one : read.readings) {
    if (one.doubt.empty() || one.doubt == picture::kNoPicture) continue;
    seen.doubts.push_back(fmt::format("{}: question {} on page {}: {}", one.reading.readout,
                                      one.reading.question, one.reading.page, one.doubt));
  }
  fmt::print("{}: {} read from pictures, {} in doubt\n", file, seen.readings.size(),
             seen.doubts.size());
  return seen;
}

}  // namespace drycrank::tools
