// SPDX-License-Identifier: Apache-2.0
//
// A shipped bench with one place of its text changed, as a file of its own: what proofread says of
// it, and on which line the change stands.
#ifndef DRYCRANK_TESTS_PROOFREAD_EDITED_BENCH_H_
#define DRYCRANK_TESTS_PROOFREAD_EDITED_BENCH_H_

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>
#include <string>

#include "profile/load.h"
#include "proofread/proofread.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::proofread {

class EditedBench {
 public:
  explicit EditedBench(const std::string& name) : name_(name + ".yaml") {
    const std::string folder = DRYCRANK_PROFILES_DIR;
    std::ifstream file(folder + "/benches/" + name_);
    std::stringstream text;
    text << file.rdbuf();
    text_ = text.str();
    while (text_.find("../parts/") != std::string::npos) {
      text_.replace(text_.find("../parts/"), 9, folder + "/parts/");
    }
  }

  // The first `from` behind `after` becomes `to`.
  void Edit(const std::string& after, const std::string& from, const std::string& to) {
    const std::size_t begin = text_.find(after);
    ASSERT_NE(begin, std::string::npos) << after;
    const std::size_t at = text_.find(from, begin);
    ASSERT_NE(at, std::string::npos) << from;
    text_.replace(at, from.size(), to);
    line_ = LineOf(at);
  }

  // Line of the last edit, and of the first `text` behind `after`, from 1.
  int line() const { return line_; }
  int LineOf(const std::string& after, const std::string& text) const {
    return LineOf(text_.find(text, text_.find(after)));
  }

  Proof Read() const {
    std::ofstream(folder_.Path(name_)) << text_;
    return ProofreadFile(folder_.Path(name_));
  }
  // "bench.yaml:12:", as a message begins, or names its other side.
  std::string At(int line) const { return folder_.Path(name_) + ":" + std::to_string(line) + ":"; }

 private:
  int LineOf(std::size_t at) const {
    const auto end = text_.begin() + static_cast<std::ptrdiff_t>(at);
    return 1 + static_cast<int>(std::count(text_.begin(), end, '\n'));
  }

  std::string name_, text_;
  int line_ = 0;
  ScratchFolder folder_;
};

}  // namespace drycrank::proofread

#endif  // DRYCRANK_TESTS_PROOFREAD_EDITED_BENCH_H_
