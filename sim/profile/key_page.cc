// SPDX-License-Identifier: Apache-2.0
#include "profile/key_page.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <utility>

#include "profile/key_words.h"

namespace drycrank::profile {
namespace {

constexpr std::string_view kHead = R"(<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Written by `drycrank explain --page` from the tables of keys; edit sim/profile/keys_*.h. -->
# Keys of bench and scenario files

What may stand in a file, section by section, as the program reads it. On the terminal the same is said by
`drycrank explain KEY`, as in `drycrank explain gauge.stale_ms`.

- A number is in the unit beside it, or carries one that converts: `25 psi`, `90 °C`, `2.2 kohm`. "Of the stimulus" is
  the unit that the stimulus has.
- A key without default may be left out, unless it is needed.
- Defaults marked *common practice, no source* are what people in workshops expect. Your data sheet comes before them.

)";

// Text in a cell of a table; the name of a section leads there.
std::string Cell(std::string_view text) {
  constexpr std::string_view kBefore = "the keys of ";
  std::string cell;
  for (const char c : text) cell += c == '|' ? std::string("\\|") : std::string(1, c);
  const auto before = cell.find(kBefore);
  if (before == std::string::npos) return cell;
  const auto begin = before + kBefore.size();
  const auto end = std::min(cell.find_first_of("; ", begin), cell.size());
  const std::string name = cell.substr(begin, end - begin);
  return cell.replace(begin, end - begin, fmt::format("[{}](#{})", name, name));
}

std::string Range(const KeyInfo& info) {
  constexpr std::size_t kFew = 12;  // words; a longer list stands below, with sentences
  const bool many = info.value.kind == ValueKind::kWord && info.value.words.size() > kFew;
  return many ? "a word, see below" : Cell(RangeInWords(info.value));
}

std::string RestOfRow(const KeyInfo& info) {
  return fmt::format("| {} | {} | {} | {} |\n", UnitInWords(info.value), Range(info),
                     Cell(DefaultInWords(info)), info.meaning);
}

std::string Rows(const std::vector<KeyInfo>& keys) {
  std::string text =
      "| key | unit | range | default | meaning |\n| --- | --- | --- | --- | --- |\n";
  for (const KeyInfo& info : keys) {
    text += fmt::format("| `{}` {}", info.key, RestOfRow(info));
  }
  return text + "\n";
}

std::string KindInWords(const Part& part) {
  if (part.kind.empty()) return std::string(part.word);
  return fmt::format("{} over {}", part.kind, part.word);
}

// Kinds with few keys each: one table.
std::string KindRows(const std::vector<Part>& parts) {
  std::string text = "| kind | meaning | its keys |\n| --- | --- | --- |\n";
  for (const Part& part : parts) {
    if (part.key != "kind") continue;
    std::vector<std::string> keys;
    for (const KeyInfo& info : part.keys) {
      const std::string optional = info.needs.empty() ? "" : " (needed)";
      keys.push_back(fmt::format("`{}`{}", info.key, optional));
    }
    text += fmt::format("| `{}` | {} | {} |\n", part.word, part.meaning, fmt::join(keys, ", "));
  }
  text +=
      "\n| key | of kind | unit | range | default | meaning |\n"
      "| --- | --- | --- | --- | --- | --- |\n";
  std::map<std::pair<std::string, std::string>, std::string> kinds_of;  // key, rest of its row
  for (const Part& part : parts) {
    if (part.when == Part::When::kAlways) continue;
    for (const KeyInfo& info : part.keys) {
      std::string& kinds = kinds_of[{std::string(info.key), RestOfRow(info)}];
      kinds += (kinds.empty() ? "" : ", ") + KindInWords(part);
    }
  }
  for (const auto& [row, kinds] : kinds_of) {
    text += fmt::format("| `{}` | {} {}", row.first, kinds, row.second);
  }
  return text + "\n";
}

std::string PageOf(const SectionInfo& section) {
  std::string text = fmt::format("## {}\n\n{}\n\n", section.name, section.meaning);
  text += Rows(section.parts.front().keys);
  constexpr std::size_t kManyKinds = 10;
  if (section.parts.size() > kManyKinds) return text + KindRows(section.parts);
  for (const Part& part : section.parts) {
    if (part.when == Part::When::kAlways) continue;
    text +=
        fmt::format("With `{}`{}: {}\n\n", WhenInWords(part),
                    part.when == Part::When::kKeyIsOrNone ? ", or left out" : "", part.meaning) +
        Rows(part.keys);
  }
  return text;
}

}  // namespace

std::string KeyPage() {
  std::string text(kHead);
  for (const SectionInfo& section : Sections()) text += PageOf(section);
  text.pop_back();
  return text;
}

}  // namespace drycrank::profile
