// SPDX-License-Identifier: Apache-2.0
#include "schedule/columns.h"

#include <algorithm>
#include <set>
#include <utility>

#include "types/nth.h"

namespace drycrank::schedule {
namespace {

constexpr std::string_view kNames[kColumnCount] = {
    "from_connector", "from_pin", "to_connector", "to_pin", "circuit", "gauge",
    "colour",         "length",   "splice",       "twist",  "fuse",    "notes"};

using Words = std::vector<std::string>;

Words WordsOf(const std::string& plain) {
  Words words;
  for (std::size_t at = 0; at < plain.size();) {
    const std::size_t end = std::min(plain.find(' ', at), plain.size());
    words.push_back(plain.substr(at, end - at));
    at = end + 1;
  }
  return words;
}

bool HasAny(const Words& words, std::initializer_list<std::string_view> known) {
  return std::any_of(words.begin(), words.end(), [&](const std::string& word) {
    return std::find(known.begin(), known.end(), word) != known.end();
  });
}

// Part of a word as well: German joins words ("Leitungsquerschnitt", "Vonstecker").
bool HasPart(const std::string& plain, std::initializer_list<std::string_view> parts) {
  return std::any_of(parts.begin(), parts.end(),
                     [&](std::string_view part) { return plain.find(part) != std::string::npos; });
}

enum class Side { kNone, kFrom, kTo };

Side SideOf(const Words& words, bool has_noun) {
  if (HasAny(words, {"from", "von", "start", "source", "begin", "anfang", "quelle"})) {
    return Side::kFrom;
  }
  if (has_noun || HasAny(words, {"end", "ende", "side", "seite"})) {
    if (HasAny(words, {"a", "1"})) return Side::kFrom;
    if (HasAny(words, {"b", "2"})) return Side::kTo;
  }
  if (HasAny(words, {"to", "nach", "end", "ende", "destination", "ziel", "bis", "zu"})) {
    return Side::kTo;
  }
  return Side::kNone;
}

// What a heading may be, the likelier first: a lower rank wins over a higher one for one column.
struct Guess {
  std::optional<Column> column;
  int rank = 0;
  bool needs_side = false;  // "Pin" alone: from or to by the order
};

Guess GuessOf(const std::string& plain) {
  const Words words = WordsOf(plain);
  if (HasPart(plain, {"twist", "verdrill"}) || HasAny(words, {"pair", "paar"})) {
    return {Column::kTwist};
  }
  if (HasPart(plain, {"splice", "spleiss"})) return {Column::kSplice};
  if (HasPart(plain, {"fuse", "sicherung"})) return {Column::kFuse};
  if (HasPart(plain, {"colour", "color", "farbe"}) || HasAny(words, {"col"})) {
    return {Column::kColour};
  }
  if (HasPart(plain, {"gauge", "querschnitt", "cross section"}) ||
      HasAny(words, {"awg", "csa", "mm2", "size", "area"})) {
    return {Column::kGauge};
  }
  if (HasPart(plain, {"length", "laenge"}) || HasAny(words, {"len", "lg"})) {
    return {Column::kLength};
  }
  if (HasPart(plain, {"note", "remark", "comment", "bemerkung", "notiz", "kommentar", "hinweis"})) {
    return {Column::kNotes};
  }
  const bool is_pin = HasAny(words, {"pin", "pins", "terminal", "cavity", "contact", "kontakt",
                                     "klemme", "kammer", "position", "pos", "way", "pol"});
  const bool is_plug = HasPart(plain, {"stecker"}) ||
                       HasAny(words, {"connector", "conn", "plug", "device", "component", "bauteil",
                                      "geraet", "housing", "kupplung"});
  const Side side = SideOf(words, is_pin || is_plug);
  if (is_pin && !is_plug) {
    return {side == Side::kTo ? Column::kToPin : Column::kFromPin, 0, side == Side::kNone};
  }
  if (is_plug || side != Side::kNone) {
    return {side == Side::kTo ? Column::kToConnector : Column::kFromConnector, is_plug ? 0 : 1,
            side == Side::kNone};
  }
  if (HasPart(plain, {"circuit", "stromkreis"})) return {Column::kCircuit, 0};
  if (HasPart(plain, {"signal"})) return {Column::kCircuit, 1};
  if (HasAny(words, {"net", "netz", "potential", "funktion", "function"})) {
    return {Column::kCircuit, 2};
  }
  if (HasAny(words, {"name", "bezeichnung", "label", "wire", "leitung"})) {
    return {Column::kCircuit, 3};
  }
  return {};
}

std::string UnitOf(const std::string& plain) {
  const Words words = WordsOf(plain);
  for (const std::string_view unit : {"mm2", "awg", "mm", "cm", "m", "in", "inch", "inches", "zoll",
                                      "ft", "feet", "meter", "metres", "meters", "metre"}) {
    if (!HasAny(words, {unit})) continue;
    if (unit == "awg") return "AWG";
    if (unit == "inch" || unit == "inches" || unit == "zoll") return "in";
    if (unit == "feet") return "ft";
    if (unit.starts_with("met")) return "m";
    return std::string(unit);
  }
  return {};
}

Column OtherSide(Column column) {
  return column == Column::kFromPin ? Column::kToPin : Column::kToConnector;
}

}  // namespace

std::string_view NameOf(Column column) { return Nth(kNames, column); }

std::optional<Column> ColumnNamed(std::string_view name) {
  for (int i = 0; i < kColumnCount; ++i) {
    if (kNames[i] == name) return static_cast<Column>(i);
  }
  return std::nullopt;
}

bool Headings::complete() const {
  return (*this)[Column::kFromConnector].index >= 0 && (*this)[Column::kToConnector].index >= 0;
}

std::string Plain(std::string_view text) {
  static constexpr std::pair<std::string_view, std::string_view> kLetters[] = {
      {"ä", "ae"}, {"ö", "oe"}, {"ü", "ue"}, {"Ä", "ae"},   {"Ö", "oe"},
      {"Ü", "ue"}, {"ß", "ss"}, {"²", "2"},  {"\"", " in "}};
  std::string plain;
  for (std::size_t i = 0; i < text.size();) {
    const auto letter =
        std::find_if(std::begin(kLetters), std::end(kLetters),
                     [&](const auto& known) { return text.substr(i).starts_with(known.first); });
    if (letter != std::end(kLetters)) {
      plain += letter->second;
      i += letter->first.size();
      continue;
    }
    const char c = text[i++];
    const bool kept = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '+' || c == '#';
    plain += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : kept ? c : ' ';
  }
  std::string single;
  for (const char c : plain) {
    if (c != ' ' || (!single.empty() && single.back() != ' ')) single += c;
  }
  while (!single.empty() && single.back() == ' ') single.pop_back();
  return single;
}

Headings TakeColumns(const yaml::CsvRecord& record, const std::map<Column, std::string>& named) {
  Headings headings;
  std::array<int, kColumnCount> rank{};
  std::set<std::size_t> used;
  const auto take = [&](Column column, std::size_t i, bool guessed, int its_rank) {
    TakenColumn& taken = Nth(headings.taken, column);
    const std::string& text = record.fields[i].text;
    if (taken.index >= 0) used.erase(AsSize(taken.index));
    taken = {static_cast<int>(i), text, UnitOf(Plain(text)), guessed};
    Nth(rank, column) = its_rank;
    used.insert(i);
  };
  for (const auto& [column, heading] : named) {
    for (std::size_t i = 0; i < record.fields.size(); ++i) {
      if (Plain(record.fields[i].text) != Plain(heading) || used.contains(i)) continue;
      take(column, i, false, -1);
      break;
    }
  }
  for (std::size_t i = 0; i < record.fields.size(); ++i) {
    if (used.contains(i)) continue;
    const Guess guess = GuessOf(Plain(record.fields[i].text));
    if (!guess.column) continue;
    Column column = *guess.column;
    if (guess.needs_side && headings[column].index >= 0) column = OtherSide(column);
    if (named.contains(column)) continue;
    const bool better = guess.rank < Nth(rank, column);
    if (headings[column].index < 0 || better) take(column, i, true, guess.rank);
  }
  for (std::size_t i = 0; i < record.fields.size(); ++i) {
    if (!used.contains(i) && !record.fields[i].text.empty()) {
      headings.passed_over.push_back(record.fields[i].text);
    }
  }
  headings.score = static_cast<int>(used.size());
  return headings;
}

}  // namespace drycrank::schedule
