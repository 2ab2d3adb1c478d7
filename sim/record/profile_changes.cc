// SPDX-License-Identifier: Apache-2.0
#include "record/profile_changes.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>

#include "io/result_place.h"

namespace drycrank::record {
namespace {

namespace fs = std::filesystem;

// By the file's own name: each text that was read of one, in order.
using Texts = std::map<std::string, std::vector<std::string>>;

std::string TextOf(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// "profiles/001-hill_climb.yaml": without its number. Names from a record lead nowhere but into it.
std::string NameOf(const fs::path& copy) { return copy.filename().string().substr(4); }

// The record's own copy is the file that it is a copy of.
std::string NameOfRead(const fs::path& folder, const fs::path& path) {
  std::error_code error;
  const bool own = fs::equivalent(path.parent_path(), folder / "profiles", error);
  return own && !error && io::IsProfileCopy(path.filename().string()) ? NameOf(path)
                                                                      : path.filename().string();
}

Texts Recorded(const fs::path& folder, const nlohmann::json& list) {
  Texts texts;
  for (const nlohmann::json& entry : list) {
    if (!entry.is_object() || !entry.contains("file") || !entry["file"].is_string()) continue;
    const fs::path copy =
        folder / "profiles" / fs::path(entry["file"].get<std::string>()).filename();
    if (io::IsProfileCopy(copy.filename().string())) texts[NameOf(copy)].push_back(TextOf(copy));
  }
  return texts;
}

int FirstLineThatDiffers(const std::string& a, const std::string& b) {
  const auto at = std::mismatch(a.begin(), a.end(), b.begin(), b.end()).first;
  return 1 + static_cast<int>(std::count(a.begin(), at, '\n'));
}

std::string Change(const std::string& name, const std::vector<std::string>& was,
                   const std::vector<std::string>& now) {
  if (was.empty()) return name + " was not read by that run";
  if (now.empty()) return name + " was read by that run, and is not read now";
  for (std::size_t i = 0; i < std::min(was.size(), now.size()); ++i) {
    if (was[i] == now[i]) continue;
    return fmt::format("{} is not as it was at that run, from line {} on", name,
                       FirstLineThatDiffers(was[i], now[i]));
  }
  return was.size() == now.size() ? "" : name + " was read another number of times by that run";
}

}  // namespace

std::vector<std::string> ProfileChanges(const std::string& folder,
                                        const std::vector<std::string>& files,
                                        const std::string& version, bool is_live) {
  std::ifstream file(fs::path(folder) / "record.json");
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (!json.is_object() || !json.contains("profiles") || !json["profiles"].is_array()) return {};
  Texts was = Recorded(folder, json["profiles"]), now;
  for (const std::string& path : files) now[NameOfRead(folder, path)].push_back(TextOf(path));
  std::vector<std::string> changes;
  const auto add = [&](const std::string& name) {
    if (std::string change = Change(name, was[name], now[name]); !change.empty()) {
      changes.push_back(std::move(change));
    }
  };
  for (const auto& [name, texts] : Texts(now)) {
    if (!is_live || !was[name].empty()) add(name);
  }
  for (const auto& [name, texts] : Texts(was)) {
    if (now[name].empty()) add(name);
  }
  const auto made_by = json.find("version");
  if (made_by != json.end() && made_by->is_string() && *made_by != version) {
    changes.push_back(fmt::format("the record was made by version {}, this is {}",
                                  made_by->get<std::string>(), version));
  }
  return changes;
}

}  // namespace drycrank::record
