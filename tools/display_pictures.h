// SPDX-License-Identifier: Apache-2.0
//
// Pictures of a display as the witness of a sweep: read, written down in DIR/read.csv, and what is
// doubtful said.
#ifndef DRYCRANK_TOOLS_DISPLAY_PICTURES_H_
#define DRYCRANK_TOOLS_DISPLAY_PICTURES_H_

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "sweep/missing_answers.h"
#include "sweep/person.h"

namespace drycrank::tools {

inline constexpr char kReadFile[] = "read.csv";

struct PicturesSeen {
  std::vector<sweep::Reading> readings;
  std::vector<std::string> doubts;  // "coolant: question 3 on page 1: glare"
  std::vector<std::string> missing;  // "page1_question4.png is not in photographs"
  std::set<sweep::QuestionOfPage> without_picture;
};
// Nothing, and said on standard error, when a file is not to be had. `out`: the folder of the sweep.
std::optional<PicturesSeen> SeePictures(const profile::Bench& bench, const std::string& folder,
                                        const std::string& marks, const std::string& out);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_PICTURES_H_
