// SPDX-License-Identifier: Apache-2.0
#include "yaml/include.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <utility>

#include "types/limits.h"
#include "types/nth.h"
#include "yaml/parse.h"
#include "yaml/utf8.h"

namespace drycrank::yaml {
namespace {

namespace fs = std::filesystem;

// Places own entries over included ones; `into` keeps its order, what is new comes behind.
void Merge(std::vector<Entry>& into, std::vector<Entry> over) {
  for (Entry& entry : over) {
    const auto same =
        std::find_if(into.begin(), into.end(), [&](const Entry& e) { return e.key == entry.key; });
    if (same == into.end()) {
      into.push_back(std::move(entry));
    } else {
      *same = std::move(entry);
    }
  }
}

std::string Trouble(const fs::path& path) {
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  if (!fs::exists(status)) return "there is no file '" + path.string() + "'";
  if (fs::is_directory(status)) return "'" + path.string() + "' is a folder";
  if (!fs::is_regular_file(status)) return "'" + path.string() + "' is not a regular file";
  const auto bytes = fs::file_size(path, error);
  if (!error && bytes > kMaxFileBytes) {
    return "'" + path.string() + "' has " + std::to_string(bytes) + " bytes";
  }
  return {};
}

}  // namespace

std::string PathBeside(const std::string& file, const std::string& path) {
  return (fs::path(file).parent_path() / path).lexically_normal().string();
}

std::optional<std::string> Files::ReadText(const std::string& path, const Place& named_at) {
  if (std::find(names_.begin(), names_.end(), path) == names_.end()) {
    if (names_.size() >= kMaxFiles) {
      problems_.Add(named_at, "more than 64 files", "join some of them");
      return std::nullopt;
    }
    names_.push_back(path);
  }
  if (const std::string trouble = Trouble(path); !trouble.empty()) {
    problems_.Add(named_at, trouble,
                  "name a readable file of at most 1 MiB, relative to the file that names it");
    return std::nullopt;
  }
  std::ifstream stream(path, std::ios::binary);
  std::string text(kMaxFileBytes + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(AsSize(stream.gcount()));
  if (stream.bad() || !stream.is_open() || text.size() > kMaxFileBytes) {
    problems_.Add(named_at, "'" + path + "' cannot be read",
                  "name a readable file of at most 1 MiB, relative to the file that names it");
    return std::nullopt;
  }
  if (const auto bad = FindNotText(text)) {
    problems_.Add({path, bad->line, bad->column}, bad->what, bad->remedy);
    return std::nullopt;
  }
  return text;
}

const Node* Files::Parsed(const std::string& path, const Place& named_at) {
  auto known = parsed_.find(path);
  if (known == parsed_.end()) {
    std::optional<Node> root;
    if (const auto text = ReadText(path, named_at)) {
      const auto name = std::find(names_.begin(), names_.end(), path);
      root = ParseYaml(*text, *name, problems_, begin_);
      if (root && root->kind != NodeKind::kMap) {
        problems_.Add(root->Where(), std::string("the file holds ") + KindName(*root),
                      "write keys with values, as 'kind: bench'");
        root.reset();
      }
    }
    known = parsed_.emplace(path, std::move(root)).first;
  }
  return known->second ? &*known->second : nullptr;
}

bool Files::Count(std::size_t nodes, const Place& place) {
  nodes_ += nodes;
  if (nodes_ <= kMaxNodes) return true;
  problems_.Add(place, "more than 200000 values, includes expanded", "a profile needs far fewer");
  return false;
}

std::optional<Node> Files::ReadProfile(const std::string& path, const Place& named_at) {
  const Node* parsed = Parsed(path, named_at);
  if (parsed == nullptr) return std::nullopt;
  if (!Count(CountNodes(*parsed), named_at)) return std::nullopt;
  Node root = *parsed;
  open_.push_back(path);
  const bool within_limits = Expand(root, 0);
  open_.pop_back();
  if (!within_limits) return std::nullopt;
  return root;
}

// False when a limit is passed: then nothing more is worth expanding.
bool Files::Expand(Node& node, int depth) {
  if (depth > kMaxDepth) {
    problems_.Add(node.Where(), "nested deeper than 32 levels, includes expanded",
                  "a profile needs far fewer");
    return false;
  }
  if (node.kind == NodeKind::kMap && !ExpandInclude(node, depth)) return false;
  for (Node& item : node.items) {
    if (!Expand(item, depth + 1)) return false;
  }
  for (Entry& entry : node.entries) {
    // What came by an include has been expanded already, with its own file on the chain.
    if (entry.value.spot.file == node.spot.file && !Expand(entry.value, depth + 1)) return false;
  }
  return true;
}

bool Files::ExpandInclude(Node& map, int depth) {
  const auto at = std::find_if(map.entries.begin(), map.entries.end(),
                               [](const Entry& e) { return e.key == "include"; });
  if (at == map.entries.end()) return true;
  const Entry include = std::move(*at);
  map.entries.erase(at);
  const Place named_at = include.value.Where();
  std::vector<Node> names = include.value.items;
  if (include.value.kind != NodeKind::kList) names.push_back(include.value);
  std::vector<Entry> merged;
  for (const Node& name : names) {
    if (!Count(1, named_at)) return false;
    auto part = ReadPart(name, name.Where(), depth);
    if (nodes_ > kMaxNodes) return false;
    if (part) Merge(merged, std::move(part->entries));
  }
  Merge(merged, std::move(map.entries));
  map.entries = std::move(merged);
  return true;
}

std::optional<Node> Files::ReadPart(const Node& name, const Place& named_at, int depth) {
  if (name.kind != NodeKind::kScalar) {
    problems_.Add(named_at, std::string("'include' is ") + KindName(name),
                  "write a file name or a list of file names");
    return std::nullopt;
  }
  const std::string path = PathBeside(*name.spot.file, name.text);
  if (std::find(open_.begin(), open_.end(), path) != open_.end()) {
    std::string chain;
    for (const std::string& file : open_) chain += fs::path(file).filename().string() + " > ";
    problems_.Add(named_at, "include in a circle: " + chain + fs::path(path).filename().string(),
                  "leave one of them out");
    return std::nullopt;
  }
  const Node* parsed = Parsed(path, named_at);
  if (parsed == nullptr || !Count(CountNodes(*parsed), named_at)) return std::nullopt;
  Node part = *parsed;
  open_.push_back(path);
  const bool within_limits = Expand(part, depth);
  open_.pop_back();
  if (!within_limits) nodes_ = kMaxNodes + 1;
  return part;
}

}  // namespace drycrank::yaml
