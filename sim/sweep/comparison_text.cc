// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <vector>

#include "sweep/compare_shown.h"
#include "types/changes.h"

namespace drycrank::sweep {
namespace {

std::string Identical(const Comparison& c) {
  if (NothingCompared(c)) return "nothing was compared";
  const char* what = c.changes.empty() ? "nothing changed" : "nothing else changed";
  return fmt::format("{}: {} readout{} and {} points identical", what, c.readouts_identical,
                     c.readouts_identical == 1 ? "" : "s", c.points_identical);
}

std::vector<Change> Changes(const std::vector<ShownChange>& of,
                            std::string (*name)(const std::string&)) {
  std::vector<Change> changes;
  for (const ShownChange& change : of) {
    changes.push_back({name(change.readout), Name(change.kind), change.sentence});
  }
  return changes;
}

}  // namespace

std::string ComparisonText(const Comparison& comparison) {
  std::string rest = Identical(comparison);
  for (const ShownChange& gained : comparison.not_asked_before) {
    rest += fmt::format("\n{}: {}", Spoken(gained.readout), gained.sentence);
  }
  for (const ShownChange& missing : comparison.not_shown) {
    rest += fmt::format("\nnot shown: {}: {}", Spoken(missing.readout), missing.sentence);
  }
  return ChangesText(Changes(comparison.changes, Spoken), rest, comparison.notes);
}

std::string ComparisonJson(const Comparison& comparison) {
  nlohmann::ordered_json json;
  json["format"] = "drycrank comparison";
  json["format_version"] = 1;
  json["changes"] = nlohmann::ordered_json::array();
  for (const ShownChange& change : comparison.changes) {
    json["changes"].push_back(
        {{"readout", change.readout}, {"kind", Name(change.kind)}, {"sentence", change.sentence}});
  }
  json["not_asked_before"] = nlohmann::ordered_json::array();
  for (const ShownChange& gained : comparison.not_asked_before) {
    json["not_asked_before"].push_back(
        {{"readout", gained.readout}, {"sentence", gained.sentence}});
  }
  json["not_shown"] = nlohmann::ordered_json::array();
  for (const ShownChange& missing : comparison.not_shown) {
    json["not_shown"].push_back({{"readout", missing.readout}, {"sentence", missing.sentence}});
  }
  json["notes"] = comparison.notes;
  json["readouts_identical"] = comparison.readouts_identical;
  json["points_identical"] = comparison.points_identical;
  return json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
}

std::string ComparisonJunit(const Comparison& comparison, const std::string& suite) {
  const auto as_it_is = [](const std::string& readout) { return readout; };
  std::vector<Change> not_shown = Changes(comparison.not_shown, as_it_is);
  for (Change& missing : not_shown) missing.kind = "not_shown";
  std::vector<std::string> subjects = Compared(comparison);
  for (const Change& missing : not_shown) {
    const bool known = std::ranges::find(subjects, missing.subject) != subjects.end();
    if (!known) subjects.push_back(missing.subject);
  }
  return ChangesJunit(Changes(comparison.changes, as_it_is), subjects, suite, not_shown);
}

}  // namespace drycrank::sweep
