// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "sweep/compare_shown.h"
#include "types/markup.h"

namespace drycrank::sweep {
namespace {

std::string Identical(const Comparison& c) {
  const char* what = c.changes.empty() ? "nothing changed" : "nothing else changed";
  return fmt::format("{}: {} readout{} and {} points identical\n", what, c.readouts_identical,
                     c.readouts_identical == 1 ? "" : "s", c.points_identical);
}

Markup Case(const Comparison& comparison, const std::string& suite, const std::string& readout) {
  Markup failures;
  for (const ShownChange& change : comparison.changes) {
    if (change.readout != readout) continue;
    failures += Element("failure", {{"message", change.sentence}, {"type", Name(change.kind)}},
                        change.sentence);
  }
  const Attributes head = {{"classname", suite}, {"name", readout}};
  return "    " +
         (failures.empty() ? EmptyElement("testcase", head) : Element("testcase", head, failures)) +
         "\n";
}

}  // namespace

std::string ComparisonText(const Comparison& comparison) {
  std::string text;
  for (const ShownChange& change : comparison.changes) {
    text += fmt::format("{}: {}\n", Spoken(change.readout), change.sentence);
  }
  text += Identical(comparison);
  for (const std::string& note : comparison.notes) text += fmt::format("note: {}\n", note);
  return text;
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
  json["notes"] = comparison.notes;
  json["readouts_identical"] = comparison.readouts_identical;
  json["points_identical"] = comparison.points_identical;
  return json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
}

std::string ComparisonJunit(const Comparison& comparison, const std::string& suite) {
  std::size_t failed = 0;
  Markup cases;
  for (const std::string& readout : comparison.readouts) {
    for (const ShownChange& change : comparison.changes) {
      if (change.readout != readout) continue;
      ++failed;
      break;
    }
    cases += Case(comparison, suite, readout);
  }
  const Attribute tests("tests", comparison.readouts.size()), failures("failures", failed);
  const Markup suites =
      Element("testsuite", {{"name", suite}, tests, failures}, "\n" + cases + "  ");
  const Markup root =
      Element("testsuites", {{"name", "drycrank"}, tests, failures}, "\n  " + suites + "\n");
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + root.text() + "\n";
}

}  // namespace drycrank::sweep
