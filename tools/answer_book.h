// SPDX-License-Identifier: Apache-2.0
//
// The answers of a walk, kept one by one: DIR/answers, JSON lines. The first names the bench by its
// contents and the walk by its options; each further one is an answer, and the last one about an
// output holds: one that was skipped may be answered later. What a meter answered has its readings beside it. Whatever was told to be kept is on the
// disk (io/journal.h).
#ifndef DRYCRANK_TOOLS_ANSWER_BOOK_H_
#define DRYCRANK_TOOLS_ANSWER_BOOK_H_

#include <optional>
#include <string>
#include <vector>

#include "io/folder_lock.h"
#include "io/journal.h"
#include "profile/answers.h"

namespace drycrank::tools {

class AnswerBook {
 public:
  struct Head {
    std::string bench, bench_hash;
    std::string walk;  // the command that walks so again
  };

  // Without a folder answers are kept for this run only. Empty on success, else what is wrong and
  // what to do; a book of another bench or walk, and a folder that another process writes into, is left
  // alone.
  // Of what is to be overwritten nothing is touched yet: Begin does.
  [[nodiscard]] std::string Open(const std::string& folder, const Head& head, bool resume,
                                 bool overwrite);
  // Once the new walk's record stands in the folder: what people said of the one before is put aside as
  // NAME.before, and what was told since Open is kept. Empty on success; nothing to do: success.
  [[nodiscard]] std::string Begin();

  const std::vector<profile::GivenAnswer>& answers() const { return answers_; }
  // Nothing: not answered yet.
  std::optional<profile::Answer> About(const std::string& name) const;
  // Empty when it is kept.
  [[nodiscard]] std::string Add(const profile::GivenAnswer& answer);
  // Of its folder. REQUIRES: it was opened with one.
  const io::FolderLock& owner() const { return owner_; }
  // An earlier walk's book was found.
  bool resumes() const { return resumes_; }
  // Answers that were there when it was opened.
  std::size_t taken_up() const { return taken_up_; }

 private:
  void Keep(const profile::GivenAnswer& answer);
  [[nodiscard]] std::string OpenJournal();
  [[nodiscard]] std::string Append(const profile::GivenAnswer& answer);
  [[nodiscard]] std::string ReadLines(const std::string& path, const Head& head);

  io::FolderLock owner_;  // of the whole walk's folder: its record is written beside the book
  io::Journal journal_;
  std::string path_;
  Head head_;
  bool keeps_ = false, resumes_ = false;
  bool waits_ = false;  // for Begin
  std::vector<profile::GivenAnswer> answers_;
  std::size_t taken_up_ = 0;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ANSWER_BOOK_H_
