// SPDX-License-Identifier: Apache-2.0
#include "io/result_place.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <string_view>

#include "io/folder_lock.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;
using Names = std::vector<std::string_view>;

// Files of folders of ours. What is made from them (reports, edges.vcd) is no such file.
const Names& OwnFiles() {
  static const Names names{"record.json", "events.csv",   "stimuli.csv",   "frames.pcapng",
                           "motion.csv",  "messages.csv", "edges.bin",     "answers",
                           "signatures",  "measurements", "campaign.json", "faults.jsonl",
                           "table.txt",   "summary.json", "shown.csv",     "accepted.csv"};
  return names;
}

const Names& MadeFromThem() {
  static const Names names{"report.html", "report.json",      "junit.xml", "edges.csv",
                           "edges.vcd",   "outputs.csv",      "profiles",  kMakingFolder,
                           kBeforeFolder, kBeforeMakingFolder};
  return names;
}

// In which a record is made, or kept meanwhile: looked into apart.
const Names kMakingFolders{kBeforeFolder, kMakingFolder, kBeforeMakingFolder};

bool Holds(const Names& names, std::string_view name) {
  return std::ranges::find(names, name) != names.end();
}

// answers.before, report.html.being_made
// report.being_made-1f03.html too
std::string WithoutEnding(std::string name) {
  if (name.ends_with(".before")) name.resize(name.size() - 7);
  const auto at = name.find(".being_made");
  if (at != std::string::npos) name.erase(at, name.find('.', at + 1) - at);
  return name;
}

bool IsOurs(const std::string& name) {
  const std::string plain = WithoutEnding(name);
  return Holds(OwnFiles(), plain) || Holds(MadeFromThem(), plain) || Holds(MadeFromThem(), name);
}

// How a file of a record or a campaign is known where the one that tells whose it is, record.json or campaign.json, is gone.
struct PartMark {
  std::string_view name;
  ResultMark mark;
};
constexpr PartMark kPartMarks[] = {{"record.json", {"{", "\"drycrank\""}},
                                   {"events.csv", {"0", ",step,0,"}},
                                   {"stimuli.csv", {"t_s,"}},
                                   {"motion.csv", {"t_ns,turns,"}},
                                   {"messages.csv", {"bus,message,"}},
                                   {"frames.pcapng", {"\n\r\r\n", "drycrank"}},
                                   {"edges.bin", {"EDGE"}},
                                   {"report.html", kPageMark},
                                   {"report.json", kJsonMark},
                                   {"junit.xml", kJunitMark},
                                   {"answers", kJsonMark},
                                   {"signatures", kJsonMark},
                                   {"measurements", kJsonMark},
                                   {"campaign.json", kJsonMark},
                                   {"summary.json", kJsonMark},
                                   {"faults.jsonl", {"{\"index\":"}},
                                   {"table.txt", {"Every single fault"}}};

bool IsThere(const fs::path& path) {
  std::error_code error;
  return fs::exists(path, error);
}

bool IsSame(const fs::path& one, const fs::path& other) {
  std::error_code error;
  if (fs::equivalent(one, other, error)) return true;
  return fs::weakly_canonical(one, error) == fs::weakly_canonical(other, error);
}

fs::path FolderOf(const fs::path& path) {
  return path.has_parent_path() ? path.parent_path() : fs::path(".");
}

// Where a link leads to: that is what would be replaced.
fs::path PlaceOf(const std::string& path) {
  std::error_code error;
  const fs::path place = fs::weakly_canonical(path, error);
  return error ? fs::path(path) : place;
}

bool HoldsWorkOfOurs(const fs::path& folder, const std::string& record) {
  if (!record.empty() && IsSame(folder, record)) return true;
  return std::ranges::any_of(std::array{"record.json", "campaign.json", "answers", "shown.csv"},
                             [&](const char* name) { return IsThere(folder / name); });
}

std::string WhyNotInFolder(const fs::path& place, const std::string& record) {
  const fs::path folder = FolderOf(place);
  const bool is_profile = folder.filename() == "profiles";
  const fs::path owner = is_profile ? FolderOf(folder) : folder;
  const std::string name = place.filename().string();
  const bool is_own = is_profile ? IsThere(owner / "record.json")
                                 : Holds(OwnFiles(), name) && HoldsWorkOfOurs(owner, record);
  const bool is_made_of_it = !is_profile && Holds(MadeFromThem(), name) &&
                             HoldsWorkOfOurs(owner, "") &&
                             (record.empty() || !IsSame(owner, record));
  if (is_own || is_made_of_it) {
    return fmt::format("that is a file of the record in {}; give another name", owner.string());
  }
  const std::string holder = WhoHolds(owner.string());
  if (holder.empty()) return "";
  return fmt::format("{} is in use by {}; give a file in another folder", owner.string(), holder);
}

// The file's first kilobyte is such a result; an empty file is any.
bool Bears(const fs::path& place, const ResultMark& mark) {
  std::ifstream file(place, std::ios::binary);
  std::string first(1024, '\0');
  file.read(first.data(), static_cast<std::streamsize>(first.size()));
  first.resize(AsSize(file.gcount()));
  const bool is_number = mark.begins == "0" && first >= "0" && first < ":";
  return first.empty() || ((is_number || first.starts_with(mark.begins)) &&
                           first.find(mark.holds) != std::string::npos);
}

// A result of the same kind may be replaced.
std::string WhyNotReplaced(const fs::path& place, const ResultMark& mark) {
  std::error_code error;
  if (mark.begins.empty() || !fs::is_regular_file(place, error) || Bears(place, mark)) return "";
  return "what is there is no such result, and is not replaced; give another name, or take it away";
}

std::string WhyNot(const ResultFile& result, const std::vector<std::string>& inputs,
                   const std::string& record) {
  const fs::path place = PlaceOf(result.path);
  std::error_code error;
  for (const std::string& input : inputs) {
    if (IsSame(place, input)) return "this command reads that file; give another name";
  }
  if (fs::is_directory(place, error)) return "that is a folder; give the name of a file in it";
  const fs::path folder = FolderOf(place);
  const bool comes = !record.empty() && IsSame(folder, record);
  if (!comes && !fs::is_directory(folder, error)) {
    return fmt::format("there is no folder {0}; make it before: mkdir -p {0}",
                       FolderOf(result.path).string());
  }
  const std::string why = WhyNotInFolder(place, record);
  return why.empty() ? WhyNotReplaced(place, result.mark) : why;
}

// Itself, or a folder above it.
std::string WhyHeldAbove(const std::string& folder) {
  std::error_code error;
  for (fs::path above = fs::absolute(folder, error).lexically_normal(); above.has_relative_path();
       above = above.parent_path()) {
    const std::string holder = WhoHolds(above.string());
    if (holder.empty()) continue;
    return fmt::format("--out {}: {} is in use by {}; give another folder", folder, above.string(),
                       holder);
  }
  return "";
}

std::string WhyNoFolder(const std::string& folder) {
  std::error_code error;
  if (fs::exists(folder, error) && !fs::is_directory(folder, error)) {
    return fmt::format("--out {}: that is no folder; give another name", folder);
  }
  return WhyHeldAbove(folder);
}

// Part of a record or a campaign: by its name, without the ending of what is in the making, and by what it holds.
bool IsPart(const fs::path& file) {
  std::error_code error;
  const std::string name = WithoutEnding(file.filename().string());
  const auto part = std::ranges::find(kPartMarks, name, &PartMark::name);
  return part != std::end(kPartMarks) && fs::is_regular_file(fs::symlink_status(file, error)) &&
         Bears(file, part->mark);
}

bool HoldsRecord(const fs::path& folder) {
  std::error_code error;
  return IsPart(folder / "record.json") && !fs::is_empty(folder / "record.json", error);
}
bool HoldsCampaign(const fs::path& folder) {
  std::error_code error;
  return IsPart(folder / "campaign.json") && !fs::is_empty(folder / "campaign.json", error);
}

// What goes through a link, or is taken away through one, is another's.
std::string WhyNotThroughLinks(const std::string& folder, const char* work) {
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    if (!entry.is_symlink(error) || !IsOurs(name)) continue;
    return fmt::format(
        "--out {}: {} in it is a link, and a {} is not written through one; give another folder",
        folder, name, work);
  }
  return "";
}

std::string Foreign(const std::string& folder, const std::string& name, const char* work) {
  return fmt::format(
      "--out {}: the folder holds {}, which is of no {}; give an empty folder, or a new one",
      folder, name, work);
}

bool IsFolder(const fs::path& path) {
  std::error_code error;
  return fs::is_directory(fs::symlink_status(path, error));
}

// A name of ours on a file that is not: it would be replaced, or taken for one of ours.
bool IsForeignPart(const fs::path& file) {
  std::error_code error;
  const std::string name = WithoutEnding(file.filename().string());
  return std::ranges::find(kPartMarks, name, &PartMark::name) != std::end(kPartMarks) &&
         fs::is_regular_file(fs::symlink_status(file, error)) && !IsPart(file);
}

// In the folders in which a record is made or kept.
bool IsOfMaking(const fs::path& file) {
  const std::string name = file.filename().string();
  if (name == "profiles") return IsFolder(file);
  return IsPart(file) || name == "edges.csv" || name == "edges.vcd" || name == "outputs.csv";
}

// The answers of a walk stand before its record does.
bool IsOfWalk(const fs::path& file) {
  return WithoutEnding(file.filename().string()) == "answers" && IsPart(file);
}

// Of the folders in which a record is made or kept meanwhile: the first that holds something else, for they
// are taken away with all that is in them.
std::string WhyNotMadeThere(const std::string& folder) {
  std::error_code error;
  for (const std::string_view name : kMakingFolders) {
    const fs::path made = fs::path(folder) / name;
    if (fs::exists(fs::symlink_status(made, error)) && !IsFolder(made))
      return Foreign(folder, std::string(name), "record");
    for (const auto& entry : fs::directory_iterator(made, error)) {
      const std::string inside = entry.path().filename().string();
      if (!IsOfMaking(entry.path()))
        return Foreign(folder, fmt::format("{}/{}", name, inside), "record");
    }
    for (const auto& entry : fs::directory_iterator(made / "profiles", error)) {
      const std::string inside = entry.path().filename().string();
      if (!IsProfileCopy(inside))
        return Foreign(folder, fmt::format("{}/profiles/{}", name, inside), "record");
    }
  }
  return "";
}

}  // namespace

std::string WhyNotThere(const std::vector<ResultFile>& results,
                        const std::vector<std::string>& inputs, const std::string& record) {
  for (std::size_t i = 0; i < results.size(); ++i) {
    const ResultFile& result = results[i];
    if (result.path.empty()) continue;
    const std::string why = WhyNot(result, inputs, record);
    if (!why.empty()) return fmt::format("{} {}: {}", result.option, result.path, why);
    for (std::size_t k = 0; k < i; ++k) {
      if (results[k].path.empty() || !IsSame(PlaceOf(results[k].path), PlaceOf(result.path)))
        continue;
      std::error_code error;
      if (fs::exists(result.path, error) && !fs::is_regular_file(result.path, error)) continue;
      return fmt::format("{} {}: {} goes there too; give another name", result.option, result.path,
                         results[k].option);
    }
  }
  return "";
}

std::string WhyNotReplaced(const ResultFile& result) {
  const std::string why = WhyNotReplaced(PlaceOf(result.path), result.mark);
  return why.empty() ? "" : fmt::format("{} {}: {}", result.option, result.path, why);
}

namespace {

// The first file there that has a name of ours and is not.
std::string WhyNotAmongForeign(const std::string& folder, const char* work) {
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    if (IsForeignPart(entry.path())) return Foreign(folder, entry.path().filename().string(), work);
  }
  return "";
}

bool HoldsParts(const fs::path& folder) {
  std::error_code error;
  return std::ranges::any_of(fs::directory_iterator(folder, error),
                             [](const auto& entry) { return IsPart(entry.path()); });
}

// Copies of profiles stand in a record, in what is left of one, and where one takes another's place.
std::string WhyNotWithProfiles(const std::string& folder, bool has_record) {
  std::error_code error;
  const fs::path profiles = fs::path(folder) / "profiles";
  if (!fs::exists(fs::symlink_status(profiles, error))) return "";
  const bool is_swapped = std::ranges::any_of(
      kMakingFolders, [&](std::string_view name) { return IsFolder(fs::path(folder) / name); });
  const bool is_ours =
      has_record || is_swapped || HoldsParts(folder) || fs::is_empty(profiles, error);
  return IsFolder(profiles) && is_ours ? "" : Foreign(folder, "profiles", "record");
}

}  // namespace

std::string WhyNoRecordThere(const std::string& folder, bool overwrite) {
  std::error_code error;
  if (std::string why = WhyNoFolder(folder); !why.empty()) return why;
  if (std::string why = WhyNotThroughLinks(folder, "record"); !why.empty()) return why;
  if (std::string why = WhyNotMadeThere(folder); !why.empty()) return why;
  if (std::string why = WhyNotAmongForeign(folder, "record"); !why.empty()) return why;
  if (HoldsCampaign(folder)) return Foreign(folder, "campaign.json", "record");
  const bool has_record = HoldsRecord(folder);
  if (std::string why = WhyNotWithProfiles(folder, has_record); !why.empty()) return why;
  if (has_record && !overwrite) {
    return folder + " holds a record already; give another folder, or --overwrite to replace it";
  }
  if (has_record) return "";
  bool any = false;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    if (entry.is_socket(error) || IsOfWalk(entry.path())) continue;
    const bool is_folder = Holds(kMakingFolders, name) || name == "profiles";
    if (!is_folder && !IsPart(entry.path())) return Foreign(folder, name, "record");
    any = true;
  }
  // Killed before its first file was in place: nothing was there but its own beginnings.
  const bool is_beginning = HoldsRecord(fs::path(folder) / kMakingFolder) &&
                            !HoldsRecord(fs::path(folder) / kBeforeFolder);
  if (!any || overwrite || is_beginning) return "";
  return folder +
         " holds what is left of a record; give another folder, or --overwrite to replace it";
}

bool IsProfileCopy(const std::string& name) {
  return name.size() > 4 && name[3] == '-' && name.find_first_not_of("0123456789") == 3;
}

std::string WhyNoCampaignThere(const std::string& folder) {
  static const Names kOfCampaign{"campaign.json", "faults.jsonl", "table.txt", "summary.json",
                                 "report.html"};
  std::error_code error;
  if (std::string why = WhyNoFolder(folder); !why.empty()) return why;
  if (std::string why = WhyNotThroughLinks(folder, "campaign"); !why.empty()) return why;
  if (std::string why = WhyNotAmongForeign(folder, "campaign"); !why.empty()) return why;
  if (HoldsRecord(folder)) return Foreign(folder, "record.json", "campaign");
  if (HoldsCampaign(folder)) return "";  // notes beside it are left alone
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    if (!Holds(kOfCampaign, WithoutEnding(name)) || !IsPart(entry.path()))
      return Foreign(folder, name, "campaign");
  }
  return "";
}

}  // namespace drycrank::io
