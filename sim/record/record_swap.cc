// SPDX-License-Identifier: Apache-2.0
#include "record/record_swap.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <vector>

#include "io/result_place.h"

namespace drycrank::record {
namespace fs = std::filesystem;
namespace {

using Paths = std::vector<fs::path>;

// Of a record of any format, and its reports; record.json is not among them.
constexpr const char* kFiles[] = {"events.csv",   "stimuli.csv", "frames.pcapng", "motion.csv",
                                  "messages.csv", "edges.bin",   "edges.csv",     "edges.vcd",
                                  "outputs.csv",  "report.html", "report.json",   "junit.xml"};

// What of profiles/ is the record's: as it lists them; where it cannot be read, by their names.
Paths ProfilesOf(const fs::path& folder) {
  std::ifstream file(folder / "record.json");
  const auto json = nlohmann::json::parse(file, nullptr, false);
  Paths profiles;
  if (json.is_object() && json.contains("profiles") && json["profiles"].is_array()) {
    for (const auto& listed : json["profiles"]) {
      const bool named =
          listed.is_object() && listed.contains("file") && listed["file"].is_string();
      const std::string name = named ? listed["file"].get<std::string>() : "";
      if (io::IsProfileCopy(fs::path(name).filename().string())) {
        profiles.push_back(fs::path("profiles") / fs::path(name).filename());
      }
    }
    return profiles;
  }
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder / "profiles", error)) {
    const fs::path name = entry.path().filename();
    if (io::IsProfileCopy(name.string())) profiles.push_back("profiles" / name);
  }
  return profiles;
}

// Without record.json.
Paths FilesOf(const fs::path& folder) {
  Paths files = ProfilesOf(folder);
  files.insert(files.end(), std::begin(kFiles), std::end(kFiles));
  std::erase_if(files, [&](const fs::path& file) {
    std::error_code error;
    return !fs::is_regular_file(fs::symlink_status(folder / file, error));
  });
  return files;
}

// A second name; where the file system knows none, another place.
std::error_code Keep(const fs::path& file, const fs::path& as) {
  std::error_code error;
  fs::create_hard_link(file, as, error);
  if (error == std::errc::operation_not_permitted || error == std::errc::operation_not_supported) {
    fs::rename(file, as, error);
  }
  return error;
}

std::string KeepBefore(const fs::path& folder, const Paths& files) {
  const fs::path before = folder / io::kBeforeFolder;
  const fs::path making = folder / io::kBeforeMakingFolder;
  std::error_code error;
  if (!fs::exists(folder / "record.json", error)) return "";  // the one before stays till the end
  fs::remove_all(before, error);
  fs::remove_all(making, error);
  fs::create_directories(making / "profiles", error);
  for (const fs::path& file : files) {
    if (!error) error = Keep(folder / file, making / file);
  }
  if (!error) error = Keep(folder / "record.json", making / "record.json");
  if (!error) fs::rename(making, before, error);
  if (!error) return "";
  std::error_code ignored;
  fs::remove_all(making, ignored);
  return fmt::format("keep the record before in {}: {}", before.string(), error.message());
}

// Nothing is moved when it cannot be seen what there is.
Paths NewFiles(const fs::path& aside, std::error_code& error) {
  Paths files;
  auto at = fs::recursive_directory_iterator(aside, error);
  for (; !error && at != fs::recursive_directory_iterator(); at.increment(error)) {
    if (at->is_regular_file(error)) files.push_back(at->path().lexically_relative(aside));
  }
  std::erase(files, fs::path("record.json"));
  files.emplace_back("record.json");
  return files;
}

}  // namespace

Aside::Aside(const fs::path& folder) : path(folder / io::kMakingFolder) { Clear(); }
Aside::~Aside() { Clear(); }

void Aside::Clear() const {
  std::error_code ignored;
  fs::remove_all(path, ignored);
}

std::string MoveIn(const fs::path& aside, const fs::path& folder) {
  std::error_code error;
  const Paths made = NewFiles(aside, error);
  if (error) return fmt::format("read {}: {}", aside.string(), error.message());
  const Paths old = FilesOf(folder);
  if (std::string problem = KeepBefore(folder, old); !problem.empty()) return problem;
  fs::remove(folder / "record.json", error);
  for (const fs::path& file : old) fs::remove(folder / file, error);
  fs::remove(folder / "profiles", error);  // if nothing else is in it
  fs::create_directory(folder / "profiles", error);
  if (error) return fmt::format("make {}: {}", (folder / "profiles").string(), error.message());
  for (const fs::path& file : made) {
    fs::rename(aside / file, folder / file, error);
    if (error) {
      return fmt::format("put {} into {}: {}", file.string(), folder.string(), error.message());
    }
  }
  fs::remove_all(folder / io::kBeforeFolder, error);
  return "";
}

}  // namespace drycrank::record
