// SPDX-License-Identifier: Apache-2.0
#include "sweep/where_not_so.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "sweep/alike.h"
#include "sweep/two_witnesses.h"

namespace drycrank::sweep {
namespace {

constexpr std::size_t kMostLines = 6;  // of a readout

// The columns in which two differ: what the one has, and the other.
struct Columns {
  std::vector<std::string> is, must;

  void Add(const char* column, const std::string& a, const std::string& b, const char* none) {
    if (a == b) return;
    is.push_back(fmt::format("{} {}", column, a.empty() ? none : "'" + a + "'"));
    must.push_back(b.empty() ? none : "'" + b + "'");
  }
};

std::string Input(const ShownFact& f) { return f.input ? Plain(*f.input) : std::string(); }

Columns ColumnsOf(const ShownFact& is, const ShownFact& must) {
  Columns columns;
  columns.Add("input", Input(is), Input(must), "none");
  columns.Add("page", std::to_string(is.shown.page), std::to_string(must.shown.page), "none");
  columns.Add("text", is.shown.text, must.shown.text, "empty");
  columns.Add("unit", is.shown.unit, must.shown.unit, "empty");
  columns.Add("state", is.shown.state, must.shown.state, "empty");
  columns.Add("lamp", is.shown.lamp, must.shown.lamp, "dark");
  return columns;
}

std::string PlaceOf(const std::vector<profile::Readout>& readouts, const std::string& name) {
  const auto found = std::ranges::find(readouts, name, &profile::Readout::name);
  if (found == readouts.end() || found->place.line == 0) return {};
  return fmt::format("{}:{}:{}: ", found->place.file, found->place.line, found->place.column);
}

}  // namespace

std::vector<std::string> WhereNotSo(const std::string& file, const WhatItShowed& showed,
                                    const WhatItShowed& all_required,
                                    const std::vector<profile::Readout>& readouts,
                                    const Comparison& judged) {
  if (AreOfTwoKinds(showed, all_required)) return {};
  WhatItShowed required = all_required;
  TakeLitAsSame(showed, required);
  std::set<std::string> names;
  for (const ShownChange& change : judged.changes) names.insert(change.readout);
  std::map<std::pair<std::string, std::string>, const ShownFact*> due;
  for (const ShownFact& f : required.facts) due[{f.readout, KeyOf(f)}] = &f;
  std::vector<std::string> lines;
  for (const std::string& name : names) {
    std::size_t count = 0;
    for (const ShownFact& f : showed.facts) {
      const auto must = due.find({f.readout, KeyOf(f)});
      if (f.readout != name || must == due.end() || *must->second == f) continue;
      if (++count > kMostLines) continue;
      const Columns columns = ColumnsOf(f, *must->second);
      lines.push_back(fmt::format("{}:{}:1: {}, {}{}: {}; {}must be {}", file, f.line, name,
                                  StepOf(f), IsPoint(f) && f.input ? " " + Input(f) : "",
                                  fmt::join(columns.is, ", "), PlaceOf(readouts, name),
                                  fmt::join(columns.must, ", ")));
    }
    if (count > kMostLines) {
      lines.push_back(fmt::format("{}: and {} more lines of {}", file, count - kMostLines, name));
    }
  }
  return lines;
}

}  // namespace drycrank::sweep
