// SPDX-License-Identifier: Apache-2.0
#include "report/compare_reports.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "report/text.h"

namespace drycrank::report {
namespace {

using Value = nlohmann::json;

constexpr int kFormat = 2;               // of a report, as json.cc writes it
constexpr double kWorthASentence = 0.1;  // of the tolerance
constexpr std::size_t kLongestDetail = 200;

std::string TextAt(const Value& value, const char* key) {
  const auto at = value.find(key);
  return at != value.end() && at->is_string() ? at->get<std::string>() : std::string();
}
std::optional<double> NumberAt(const Value& value, const char* key) {
  const auto at = value.find(key);
  return at != value.end() && at->is_number() ? std::optional(at->get<double>()) : std::nullopt;
}
// Calls visit(entry) for each mapping of a list.
template <class Visit>
void ForEach(const Value& value, const char* key, Visit visit) {
  const auto list = value.find(key);
  if (list == value.end() || !list->is_array()) return;
  for (const Value& entry : *list) {
    if (entry.is_object()) visit(entry);
  }
}

std::string Spoken(std::string key) {
  std::ranges::replace(key, '_', ' ');
  return key;
}

std::string StateOf(const Value& circuit) {
  const std::string reason = TextAt(circuit, "reason");
  const std::string state = Spoken(TextAt(circuit, "state"));
  return reason.empty() ? state : fmt::format("{} ({})", state, Spoken(reason));
}

std::string MarginOf(const ReadExpectation& e) {
  return e.margin ? SignedQuantity(*e.margin, e.margin_unit, 2) : std::string(kNoNumber);
}

class Comparer {
 public:
  Comparer(const ReadReport& was, const ReadReport& now) : was_(was), now_(now) {}

  ReportComparison Compare() {
    CompareAll(was_.expectations, now_.expectations, "", &Comparer::CompareExpectation,
               c_.expectations_as_before);
    CompareAll(was_.circuits, now_.circuits, "circuit ", &Comparer::CompareCircuit,
               c_.circuits_as_before);
    AddNotes();
    return std::move(c_);
  }

 private:
  template <class Map>
  using Compared = void (Comparer::*)(const std::string&, const typename Map::mapped_type&,
                                      const typename Map::mapped_type&);

  template <class Map>
  void CompareAll(const Map& was, const Map& now, const std::string& prefix, Compared<Map> compare,
                  std::size_t& as_before) {
    std::set<std::string> names;
    for (const auto& [name, one] : was) names.insert(name);
    for (const auto& [name, one] : now) names.insert(name);
    for (const std::string& name : names) {
      const std::size_t before = c_.changes.size();
      const auto old = was.find(name), fresh = now.find(name);
      c_.subjects.push_back(prefix + name);
      if (fresh == now.end()) {
        Add(prefix + name, "lost", "is not there any more");
      } else if (old == was.end()) {
        Add(prefix + name, "gained", "was not there");
      } else {
        (this->*compare)(prefix + name, old->second, fresh->second);
      }
      as_before += c_.changes.size() == before;
    }
  }

  void CompareExpectation(const std::string& name, const ReadExpectation& was,
                          const ReadExpectation& now) {
    if (now.requirement != was.requirement) {
      Add(name, "requirement",
          fmt::format("now asks: {}; was: {}", now.requirement, was.requirement));
    }
    if (now.outcome != was.outcome) {
      const std::string detail =
          now.detail.empty() ? "" : ": " + FirstOf(now.detail, kLongestDetail);
      Add(name, "outcome",
          fmt::format("now {}, was {}{}", Spoken(now.outcome), Spoken(was.outcome), detail));
    } else if (HasMoved(was.relative_margin, now.relative_margin)) {
      Add(name, "margin", fmt::format("margin is now {}, was {}", MarginOf(now), MarginOf(was)));
    }
  }
  static bool HasMoved(const std::optional<double>& was, const std::optional<double>& now) {
    if (!was || !now) return was.has_value() != now.has_value();
    return std::abs(*now - *was) > kWorthASentence;
  }

  void CompareCircuit(const std::string& name, const std::string& was, const std::string& now) {
    if (now != was) Add(name, "circuit", fmt::format("now {}, was {}", now, was));
  }

  void AddNotes() {
    Note("bench", was_.bench, now_.bench);
    Note("bench's file", was_.bench_file, now_.bench_file);
    Note("scenario", was_.scenario, now_.scenario);
    Note("version", was_.version, now_.version);
    Note("seed", std::to_string(was_.seed), std::to_string(now_.seed));
    Note("way it was run", was_.mode, now_.mode);
    const auto faults = [](const ReadReport& report) {
      return report.faults.empty() ? std::string("none") : Join(report.faults);
    };
    Note("list of faults put in", faults(was_), faults(now_));
  }
  void Note(const char* what, const std::string& was, const std::string& now) {
    if (now != was) c_.notes.push_back(fmt::format("the {} is {}, was {}", what, now, was));
  }
  void Add(const std::string& subject, const char* kind, std::string sentence) {
    c_.changes.push_back({subject, kind, std::move(sentence)});
  }

  const ReadReport& was_;
  const ReadReport& now_;
  ReportComparison c_;
};

std::string AsBefore(const ReportComparison& c) {
  return fmt::format(
      "{}: {} and {} as before", c.changes.empty() ? "nothing changed" : "nothing else changed",
      Counted(c.expectations_as_before, "expectation"), Counted(c.circuits_as_before, "circuit"));
}

}  // namespace

std::optional<ReadReport> ParseReport(const std::string& json, std::string& why) {
  const Value root = Value::parse(json, nullptr, false);
  if (!root.is_object() || TextAt(root, "format") != "drycrank report") {
    why = "is no report of drycrank; name a record's folder, or what --json wrote";
    return std::nullopt;
  }
  if (NumberAt(root, "format_version") != kFormat) {
    why =
        fmt::format("has another format than {}; run or judge it again with this version", kFormat);
    return std::nullopt;
  }
  ReadReport report;
  const Value none = Value::object();
  const auto part = [&](const char* key) -> const Value& {
    const auto at = root.find(key);
    return at != root.end() && at->is_object() ? *at : none;
  };
  report.bench = TextAt(part("bench"), "name");
  report.bench_file = TextAt(part("bench"), "file");
  report.scenario = TextAt(part("scenario"), "name");
  report.version = TextAt(root, "version");
  report.mode = TextAt(root, "mode");
  report.seed = std::llround(NumberAt(root, "seed").value_or(0));
  ForEach(root, "faults",
          [&](const Value& fault) { report.faults.push_back(TextAt(fault, "words")); });
  ForEach(root, "expectations", [&](const Value& e) {
    report.expectations[TextAt(e, "name")] = {
        TextAt(e, "outcome"),     TextAt(e, "requirement"), TextAt(e, "detail"),
        TextAt(e, "margin_unit"), NumberAt(e, "margin"),    NumberAt(e, "relative_margin")};
  });
  ForEach(root, "circuits", [&](const Value& circuit) {
    report.circuits[TextAt(circuit, "name")] = StateOf(circuit);
  });
  return report;
}

ReportComparison CompareReports(const ReadReport& was, const ReadReport& now) {
  return Comparer(was, now).Compare();
}

std::string Text(const ReportComparison& comparison) {
  return ChangesText(comparison.changes, AsBefore(comparison), comparison.notes);
}

std::string Json(const ReportComparison& comparison) {
  nlohmann::ordered_json json;
  json["format"] = "drycrank comparison of reports";
  json["format_version"] = 1;
  json["changes"] = nlohmann::ordered_json::array();
  for (const Change& change : comparison.changes) {
    json["changes"].push_back(
        {{"subject", change.subject}, {"kind", change.kind}, {"sentence", change.sentence}});
  }
  json["notes"] = comparison.notes;
  json["expectations_as_before"] = comparison.expectations_as_before;
  json["circuits_as_before"] = comparison.circuits_as_before;
  return json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
}

std::string JunitXml(const ReportComparison& comparison, const std::string& suite) {
  return ChangesJunit(comparison.changes, comparison.subjects, suite);
}

}  // namespace drycrank::report
