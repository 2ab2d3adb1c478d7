// SPDX-License-Identifier: Apache-2.0
#include "yaml/reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

#include "types/limits.h"
#include "types/unit.h"
#include "yaml/nearest.h"

namespace drycrank::yaml {
namespace {

std::string Quoted(std::string_view key) { return fmt::format("'{}'", key); }

// A number may be written "7000 rpm"; a text may not be a list. What was written instead.
void WrongKind(Problems& problems, const Node& node, const std::string& what,
               const std::string& wanted) {
  problems.Add(node.Where(), fmt::format("{} is {}", what, KindName(node)), wanted);
}

}  // namespace

Reader::Reader(Problems& problems, const Node& node, std::string title)
    : Reader(problems, node, std::move(title), node.Where()) {}

Reader::Reader(Problems& problems, const Node& node, std::string title, Place place)
    : problems_(problems),
      node_(node),
      title_(std::move(title)),
      place_(std::move(place)),
      first_problem_(problems.size()) {
  if (!is_map()) WrongKind(problems, node, title_, "write keys with values, as {key: value}");
}

Reader::~Reader() {
  if (!judge_keys_) return;
  for (const Entry& entry : node_.entries) {
    if (!Knows(entry.key)) ReportUnknown(entry);
  }
}

void Reader::ReportUnknown(const Entry& entry) {
  const std::string what = fmt::format("unknown key '{}' in {}", entry.key, title_);
  const std::string remedy = Suggest(entry.key, known_);
  const bool section = entry.value.kind == NodeKind::kMap || entry.value.kind == NodeKind::kList;
  if (is_top_ && section) {
    const std::string meant = Nearest(entry.key, known_).value_or("");
    problems_.AddCause(entry.key_spot.Where(), what, remedy, first_problem_, HasNone(meant));
  } else {
    problems_.Add(entry.key_spot.Where(), what, remedy);
  }
}

std::string Reader::HasNone(std::string_view key) const {
  return fmt::format("{} has no '{}'", title_, key);
}

void Reader::Know(std::string_view key) {
  has_table_ = true;
  if (!Knows(key)) known_.emplace_back(key);
}

bool Reader::Knows(std::string_view key) const {
  return std::find(known_.begin(), known_.end(), key) != known_.end();
}

const Node* Reader::Find(std::string_view key) {
  assert(!has_table_ || Knows(key));
  if (!has_table_ && !Knows(key)) known_.emplace_back(key);
  return node_.Find(key);
}

Place Reader::PlaceOf(std::string_view key) const {
  const Node* node = node_.Find(key);
  return node == nullptr ? place_ : node->Where();
}

WrittenAt Reader::Written() const {
  WrittenAt written;
  for (const Entry& entry : node_.entries) {
    written.keys.emplace_back(entry.key, entry.value.Where());
  }
  return written;
}

bool Reader::Require(std::string_view key, std::string_view example) {
  if (Find(key) != nullptr || !is_map()) return true;
  problems_.Add(place_, HasNone(key), fmt::format("add '{}'", example));
  return false;
}

void Reader::Complain(std::string_view key, const std::string& what, std::string remedy) {
  problems_.Add(PlaceOf(key), fmt::format("{}: {}", title_, what), std::move(remedy));
}

bool Reader::Get(std::string_view key, double* out, const Range& range) {
  const Node* node = Find(key);
  if (node == nullptr) return false;
  const auto value = ReadNumber(problems_, *node, Quoted(key), range);
  if (value) *out = *value;
  return value.has_value();
}

bool Reader::Get(std::string_view key, std::optional<double>* out, const Range& range) {
  double value = 0;
  if (!Get(key, &value, range)) return false;
  *out = value;
  return true;
}

bool Reader::Get(std::string_view key, int* out, int min, int max) {
  std::int64_t value = 0;
  if (!GetInt64(key, &value, min, max)) return false;
  *out = static_cast<int>(value);
  return true;
}

bool Reader::GetInt64(std::string_view key, std::int64_t* out, std::int64_t min, std::int64_t max) {
  const Node* node = Find(key);
  if (node == nullptr) return false;
  const auto value = ReadInt(problems_, *node, Quoted(key), min, max);
  if (value) *out = *value;
  return value.has_value();
}

bool Reader::Get(std::string_view key, bool* out) {
  const Node* node = Find(key);
  if (node == nullptr) return false;
  if (node->kind != NodeKind::kScalar || (node->text != "true" && node->text != "false")) {
    WrongKind(
        problems_, *node,
        node->kind == NodeKind::kScalar ? fmt::format("'{}: {}'", key, node->text) : Quoted(key),
        "write true or false");
    return false;
  }
  *out = node->text == "true";
  return true;
}

bool Reader::GetText(std::string_view key, std::string* out) {
  const Node* node = Find(key);
  if (node == nullptr) return false;
  if (node->kind != NodeKind::kScalar) {
    WrongKind(problems_, *node, Quoted(key), "write text");
    return false;
  }
  if (node->text.size() > kMaxTextLength) {
    problems_.Add(node->Where(), fmt::format("'{}' has {} bytes", key, node->text.size()),
                  fmt::format("at most {}", kMaxTextLength));
    return false;
  }
  *out = node->text;
  return true;
}

bool Reader::GetName(std::string_view key, std::string* out) {
  return GetText(key, out) && CheckName(problems_, PlaceOf(key), *out);
}

bool Reader::GetUnit(std::string_view key, std::string* out) {
  std::string text;
  if (!GetText(key, &text)) return false;
  const auto unit = text == "none" ? std::optional<std::string>("") : CanonicalUnit(text);
  if (!unit) {
    problems_.Add(PlaceOf(key), fmt::format("unit '{}' is not known", text),
                  "write one as degC, kPa, psi, rpm, V, km/h, deg, ms, \"%\", count, or none");
    return false;
  }
  *out = *unit;
  return true;
}

bool Reader::GetPoints(std::string_view key, Points* out, const Range& x, const Range& y) {
  const Node* node = Find(key);
  return node != nullptr && ReadPoints(problems_, *node, Quoted(key), x, y, out);
}

std::optional<Ref> Reader::GetRef(std::string_view key) {
  const Node* node = Find(key);
  if (node == nullptr) return std::nullopt;
  return ReadRef(problems_, *node, Quoted(key));
}

std::vector<Ref> Reader::GetRefs(std::string_view key) {
  std::vector<Ref> refs;
  EachItem(problems_, Find(key), Quoted(key), [&](const Node& item) {
    auto ref = ReadRef(problems_, item, "an entry of " + Quoted(key));
    if (!ref) return;
    const auto same = [&](const Ref& r) { return r.text == ref->text; };
    if (std::any_of(refs.begin(), refs.end(), same)) {
      problems_.Add(ref->place, fmt::format("'{}' is twice in '{}'", ref->text, key), "keep one");
      return;
    }
    refs.push_back(std::move(*ref));
  });
  return refs;
}

int Reader::WordIndex(std::string_view key, const std::vector<std::string>& known,
                      const std::string& all) {
  const auto ref = GetRef(key);
  if (!ref) return -1;
  const auto at = std::find(known.begin(), known.end(), ref->text);
  if (at != known.end()) return static_cast<int>(at - known.begin());
  problems_.Add(ref->place, fmt::format("'{}' is not a value of '{}'", ref->text, key),
                all.empty() || Nearest(ref->text, known) ? Suggest(ref->text, known) : all);
  return -1;
}

bool IsName(std::string_view text) {
  const auto is_letter = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
  };
  const auto is_part = [&](char c) { return is_letter(c) || (c >= '0' && c <= '9'); };
  return !text.empty() && text.size() <= kMaxNameLength && is_letter(text.front()) &&
         std::all_of(text.begin(), text.end(), is_part);
}

bool CheckName(Problems& problems, const Place& place, std::string_view text) {
  if (IsName(text)) return true;
  problems.Add(place, fmt::format("'{}' is not a name", text.substr(0, 2 * kMaxNameLength)),
               "letters, digits and _, no digit first, at most 64");
  return false;
}

int Resolve(Problems& problems, const Ref& ref, const std::vector<std::string>& known,
            const std::string& what) {
  const auto at = std::find(known.begin(), known.end(), ref.text);
  if (at != known.end()) return static_cast<int>(at - known.begin());
  problems.AddReference(ref.place, fmt::format("there is no {} '{}'", what, ref.text),
                        Suggest(ref.text, known, fmt::format("no {} is known", what)));
  return -1;
}

}  // namespace drycrank::yaml
