// SPDX-License-Identifier: Apache-2.0
#include "profile/explain.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "profile/key_words.h"
#include "yaml/nearest.h"

namespace drycrank::profile {
namespace {

constexpr std::size_t kMostNear = 5;

std::string Wrapped(std::string_view text, std::string_view indent) {
  constexpr std::size_t kWidth = 88;
  std::string wrapped(indent);
  std::size_t column = indent.size();
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    if (column > indent.size() && column + 1 + end - begin > kWidth) {
      wrapped += "\n" + std::string(indent);
      column = indent.size();
    } else if (column > indent.size()) {
      wrapped += ' ';
      ++column;
    }
    wrapped += text.substr(begin, end - begin);
    column += end - begin;
    begin = end + 1;
  }
  return wrapped + "\n";
}

std::string ExplainKey(const SectionInfo& section, const Part& part, const KeyInfo& info) {
  const std::string when = WhenInWords(part);
  return fmt::format("`{}` in {}{}:\n", info.key, section.where,
                     when.empty() ? "" : " with " + when) +
         Wrapped(info.meaning, "  ") + Wrapped(InWords(info), "  ");
}

std::string ListKeys(const Part& part) {
  std::string text;
  for (const KeyInfo& info : part.keys) {
    text += fmt::format("    {:<22} {}\n", info.key, InWords(info));
  }
  return text;
}

// A word that a key may have, as `wheel_offset` for the kind of a fault.
std::string ExplainWord(const SectionInfo& section, const Part& part) {
  return fmt::format("`{}` in {}:\n", WhenInWords(part), section.where) +
         Wrapped(part.meaning, "  ") + ListKeys(part);
}

std::string ExplainSection(const SectionInfo& section) {
  std::string text = fmt::format("{}: {}\n", section.name, section.meaning);
  for (const Part& part : section.parts) {
    if (part.when != Part::When::kAlways) {
      text += Wrapped(fmt::format("with {}: {}", WhenInWords(part), part.meaning), "  ");
    }
    text += ListKeys(part);
  }
  return text;
}

}  // namespace

std::string ExplainSections() {
  std::string text;
  for (const SectionInfo& section : Sections()) {
    text += fmt::format("{:<20} {}\n", section.name, section.meaning);
  }
  return text;
}

std::string Explain(std::string_view word) {
  const auto dot = word.find('.');
  const std::string_view wanted = dot == std::string_view::npos ? word : word.substr(dot + 1);
  const std::string_view in = dot == std::string_view::npos ? "" : word.substr(0, dot);
  std::string text;
  for (const SectionInfo& section : Sections()) {
    if (in.empty() && section.name == word) text += ExplainSection(section) + "\n";
  }
  for (const SectionInfo& section : Sections()) {
    if (!in.empty() && section.name != in) continue;
    for (const Part& part : section.parts) {
      if (part.word == wanted) text += ExplainWord(section, part) + "\n";
      for (const KeyInfo& info : part.keys) {
        if (info.key == wanted) text += ExplainKey(section, part, info) + "\n";
      }
    }
  }
  if (!text.empty()) text.pop_back();
  return text;
}

std::vector<std::string> NearKeys(std::string_view word) {
  const auto dot = word.find('.');
  const std::string_view wanted = dot == std::string_view::npos ? word : word.substr(dot + 1);
  std::set<std::string> known;
  for (const SectionInfo& section : Sections()) {
    known.emplace(section.name);
    for (const Part& part : section.parts) {
      if (!part.word.empty()) known.emplace(part.word);
      for (const KeyInfo& info : part.keys) known.emplace(info.key);
    }
  }
  std::vector<std::pair<int, std::string>> near;
  const int few = std::max(2, static_cast<int>(wanted.size()) / 3);
  for (const std::string& key : known) {
    const int edits = yaml::EditDistance(wanted, key);
    const bool is_part = wanted.size() >= 3 && key.find(wanted) != std::string::npos;
    if (edits <= few || is_part) near.emplace_back(is_part ? 0 : edits, key);
  }
  std::ranges::sort(near);
  std::vector<std::string> keys;
  for (const auto& [edits, key] : near) {
    if (keys.size() < kMostNear) keys.push_back(key);
  }
  return keys;
}

}  // namespace drycrank::profile
