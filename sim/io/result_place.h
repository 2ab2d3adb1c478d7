// SPDX-License-Identifier: Apache-2.0
//
// Where a result may go: asked once, for all files of a command, before it does anything. Refused, by
// name, is a file that
//
//   is an input of the same command,             --html SCENARIO
//   belongs to a record, a walk or a campaign,   --json out/events.csv
//   is the report of one, which another command made,
//   lies in a folder that another process holds,
//   is there and is no such result,              --html notes.txt
//   or cannot be made, for there is no folder.   --html nodir/page.html
//
// and a record's folder that holds files which are not a record's: they would be mixed.
#ifndef DRYCRANK_IO_RESULT_PLACE_H_
#define DRYCRANK_IO_RESULT_PLACE_H_

#include <string>
#include <string_view>
#include <vector>

namespace drycrank::io {

// How a result is known, of which one that is there may be replaced: with what it begins ("0" is any
// digit), and what its first kilobyte holds. Both empty: whatever is there.
struct ResultMark {
  std::string_view begins = {}, holds = {};
};

inline constexpr ResultMark kPageMark{"<!DOCTYPE html>", "content=\"drycrank\""};
inline constexpr ResultMark kJsonMark{"{", "\"drycrank "};
inline constexpr ResultMark kJunitMark{"<?xml", "<testsuites name=\"drycrank\""};

// In a record's folder while a record is made, and while it takes the old one's place: names that nobody gives
// to a folder of his own. What lies there after a kill is replaced by the next record.
inline constexpr std::string_view kBeforeFolder = "record_before.drycrank";
inline constexpr std::string_view kMakingFolder = "record_in_making.drycrank";
inline constexpr std::string_view kBeforeMakingFolder = "record_before_in_making.drycrank";

struct ResultFile {
  std::string option;  // "--html", as the user wrote it
  std::string path;    // empty: not asked for
  ResultMark mark = {};
};

// `record`: the folder of the record that the command makes; empty: none. Empty, or why not.
[[nodiscard]] std::string WhyNotThere(const std::vector<ResultFile>& results,
                                      const std::vector<std::string>& inputs,
                                      const std::string& record = "");

// The same of one file that stands in the command's own folder: is what is there such a result?
[[nodiscard]] std::string WhyNotReplaced(const ResultFile& result);

// May a record begin in `folder`? Nothing of it is changed. What a broken-off record has left there may
// be replaced, as a whole one may; files of anybody else may not be mixed with one.
[[nodiscard]] std::string WhyNoRecordThere(const std::string& folder, bool overwrite);

// 000-kart.yaml: as a record names the profiles that it has copied.
bool IsProfileCopy(const std::string& name);

// May a campaign's results stand in `folder`? Where nothing else does, and beside what was put to a
// campaign that is there.
[[nodiscard]] std::string WhyNoCampaignThere(const std::string& folder);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_RESULT_PLACE_H_
