// SPDX-License-Identifier: Apache-2.0
#include "report/diagnosis.h"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <nlohmann/json.hpp>

#include "types/nth.h"

namespace drycrank::report {
namespace {

constexpr std::size_t kGroupsShown = 4, kMembersShown = 6, kCluesShown = 5;
constexpr double kLeastShare = 0.005;

const diagnose::Reading& ReadingOf(const DiagnosisReport& r, const diagnose::Clue& clue) {
  return Nth(*r.readings, clue.reading);
}

const std::string& StepOf(const DiagnosisReport& r, const diagnose::Clue& clue) {
  return Nth(*r.situations, clue.situation).name;
}

void AddFor(const DiagnosisReport& r, std::string& out) {
  for (std::size_t i = 0; i < r.clues_for.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = r.clues_for[i];
    const diagnose::Reading& reading = ReadingOf(r, clue);
    out += fmt::format("     for      {}: {} {}; this fault predicts {}, a healthy bench {}\n",
                       StepOf(r, clue), reading.name, diagnose::InWords(reading, clue.observed),
                       diagnose::InWords(reading, clue.predicted),
                       diagnose::InWords(reading, clue.healthy));
  }
  if (r.clues_for.size() > kCluesShown) {
    out += fmt::format("              and {} more readings\n", r.clues_for.size() - kCluesShown);
  }
}

void AddAgainst(const DiagnosisReport& r, std::string& out) {
  if (r.clues_against.empty()) out += "     against  no reading\n";
  for (std::size_t i = 0; i < r.clues_against.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = r.clues_against[i];
    const diagnose::Reading& reading = ReadingOf(r, clue);
    out += fmt::format("     against  {}: {} {}, but this fault predicts {}\n", StepOf(r, clue),
                       reading.name, diagnose::InWords(reading, clue.observed),
                       diagnose::InWords(reading, clue.predicted));
  }
}

void AddGroup(const DiagnosisReport& r, std::size_t index, std::string& out) {
  const diagnose::Group& group = r.diagnosis->groups[index];
  for (std::size_t m = 0; m < group.members.size() && m < kMembersShown; ++m) {
    const std::string words = diagnose::Describe(*r.bench, group.members[m].hypothesis);
    if (m == 0) {
      out += fmt::format("{:2}. {:3.0f} %  {}\n", index + 1, 100 * group.share, words);
    } else {
      out += fmt::format("       or   {}\n", words);
    }
  }
  if (group.members.size() > kMembersShown) {
    out += fmt::format("            and {} more that look the same\n",
                       group.members.size() - kMembersShown);
  }
  if (index == 0) {
    AddFor(r, out);
    AddAgainst(r, out);
  }
}

void AddTests(const DiagnosisReport& r, std::string& out) {
  if (r.tests.empty()) return;
  const diagnose::NextTest& test = r.tests[0];
  out += fmt::format("\nNext test: {} ({:.1f} bits)\n", test.what, test.information);
  if (test.kind == diagnose::NextTest::Kind::kVoltage) {
    out +=
        "  CAUTION: key on. Coils and injectors unplugged. Probe from the wire side; do not pierce "
        "insulation\n  or spread contacts; volts, not amperes.\n"
        "  Meter against the supply's minus, engine not turning, sensors plugged on and at the "
        "values "
        "of\n  the first step.\n";
  }
  for (const diagnose::Answer& answer : test.answers) {
    for (std::size_t i = 0; i < answer.candidates.size() && i < kMembersShown; ++i) {
      out += fmt::format("  {:28}  {}\n", i == 0 ? answer.shows : "",
                         diagnose::Describe(*r.bench, r.asked[answer.candidates[i]].hypothesis));
    }
  }
}

// What of all weight no group has.
void AddRest(const diagnose::Diagnosis& d, std::string& out) {
  if (d.explained && d.unknown_share >= kLeastShare) {
    out += fmt::format("    {:3.0f} %  something that is not on the list\n", 100 * d.unknown_share);
  }
  if (d.healthy_share >= kLeastShare) {
    out += fmt::format("    {:3.0f} %  nothing wrong: what is off is within tolerances\n",
                       100 * d.healthy_share);
  }
}

std::string HealthyText(const DiagnosisReport& r) {
  if (r.failed.empty()) {
    return "Nothing to explain: every reading is what a healthy bench gives.\n";
  }
  std::string out =
      "The readings at rest are what a healthy bench gives, and yet not all that was expected came "
      "true:\n\n";
  for (const FailedExpectation& failed : r.failed) {
    out += fmt::format("  {}: {}\n", failed.name, failed.detail);
    out += fmt::format("     not in the readings at rest: {}\n", failed.why_not);
  }
  return out;
}

const char* Verdict(const diagnose::Diagnosis& diagnosis) {
  if (diagnosis.healthy) return "healthy";
  return diagnosis.explained ? "explained" : "none of these";
}

}  // namespace

std::string DiagnosisText(const DiagnosisReport& r) {
  const diagnose::Diagnosis& d = *r.diagnosis;
  if (d.healthy) return HealthyText(r);
  std::string out;
  if (!d.explained) {
    out += fmt::format(
        "None of the faults on the list explains all readings (something else: {:.0f} %). The "
        "nearest are:\n\n",
        100 * d.unknown_share);
  } else {
    out += d.groups[0].members.size() == 1
               ? "One fault explains every reading:\n\n"
               : fmt::format("One of {} faults that look the same explains every reading:\n\n",
                             d.groups[0].members.size());
  }
  for (std::size_t i = 0; i < d.groups.size(); ++i) {
    const bool explains = d.groups[i].members[0].surprises == 0;
    if (i > 0 && d.groups[i].share < kLeastShare) break;
    if (i >= kGroupsShown && !explains) continue;
    AddGroup(r, i, out);
  }
  AddRest(d, out);
  AddTests(r, out);
  return out;
}

std::string DiagnosisJson(const DiagnosisReport& r) {
  nlohmann::ordered_json json;
  json["verdict"] = Verdict(*r.diagnosis);
  json["healthy_share"] = r.diagnosis->healthy_share;
  json["unknown_share"] = r.diagnosis->unknown_share;
  json["failed_expectations"] = nlohmann::ordered_json::array();
  for (const FailedExpectation& failed : r.failed) {
    json["failed_expectations"].push_back(
        {{"name", failed.name}, {"detail", failed.detail}, {"why_not_seen", failed.why_not}});
  }
  json["groups"] = nlohmann::ordered_json::array();
  for (const diagnose::Group& group : r.diagnosis->groups) {
    nlohmann::ordered_json members = nlohmann::ordered_json::array();
    for (const diagnose::Candidate& member : group.members) {
      nlohmann::ordered_json terminals = nlohmann::ordered_json::array();
      for (const profile::Fault& fault : member.hypothesis.faults) {
        terminals.push_back(fault.at);
        if (!fault.with.empty()) terminals.push_back(fault.with);
      }
      members.push_back({{"fault", diagnose::Describe(*r.bench, member.hypothesis)},
                         {"kind", member.hypothesis.kind},
                         {"at", terminals},
                         {"share", member.share},
                         {"unexplained_readings", member.surprises}});
    }
    json["groups"].push_back({{"share", group.share}, {"members", members}});
  }
  json["tests"] = nlohmann::ordered_json::array();
  for (const diagnose::NextTest& test : r.tests) {
    nlohmann::ordered_json answers = nlohmann::ordered_json::array();
    for (const diagnose::Answer& answer : test.answers) {
      nlohmann::ordered_json faults = nlohmann::ordered_json::array();
      for (const std::size_t c : answer.candidates) {
        faults.push_back(diagnose::Describe(*r.bench, r.asked[c].hypothesis));
      }
      answers.push_back({{"shows", answer.shows}, {"faults", faults}});
    }
    json["tests"].push_back(
        {{"test", test.what}, {"information_bits", test.information}, {"answers", answers}});
  }
  return json.dump(2) + "\n";
}

}  // namespace drycrank::report
