// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis for programs.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "report/diagnosis.h"

namespace drycrank::report {
namespace {

constexpr double kLeastShare = 0.005;
constexpr std::size_t kMostInJson = 60;

const char* Verdict(const diagnose::Diagnosis& diagnosis) {
  if (diagnosis.healthy) return "healthy";
  return diagnosis.explained ? "explained" : "none of these";
}

nlohmann::ordered_json FaultJson(const DiagnosisReport& r, const diagnose::Candidate& candidate) {
  nlohmann::ordered_json terminals = nlohmann::ordered_json::array();
  for (const profile::Fault& fault : candidate.hypothesis.faults) {
    terminals.push_back(fault.at);
    if (!fault.with.empty()) terminals.push_back(fault.with);
  }
  return {{"fault", diagnose::Describe(*r.bench, candidate.hypothesis)},
          {"kind", candidate.hypothesis.kind},
          {"at", terminals}};
}

nlohmann::ordered_json ClearedJson(const DiagnosisReport& r) {
  nlohmann::ordered_json cleared = nlohmann::ordered_json::array();
  for (const diagnose::Candidate* candidate : r.after->cleared) {
    cleared.push_back(FaultJson(r, *candidate));
    cleared.back()["share_before"] = candidate->share;
  }
  return cleared;
}

nlohmann::ordered_json GroupsJson(const DiagnosisReport& r) {
  nlohmann::ordered_json groups = nlohmann::ordered_json::array();
  for (std::size_t g = 0; g < r.diagnosis->groups.size(); ++g) {
    const diagnose::Group& group = r.diagnosis->groups[g];
    nlohmann::ordered_json members = nlohmann::ordered_json::array();
    for (const diagnose::Candidate& member : group.members) {
      nlohmann::ordered_json told = FaultJson(r, member);
      told["share"] = member.share;
      told["unexplained_readings"] = member.surprises;
      members.push_back(told);
    }
    nlohmann::ordered_json row = {{"share", group.share}};
    if (r.after != nullptr) row["share_before"] = r.after->share_before[g];
    row["members"] = members;
    groups.push_back(row);
  }
  return groups;
}

nlohmann::ordered_json RepairsJson(const DiagnosisReport& r) {
  nlohmann::ordered_json repairs = nlohmann::ordered_json::array();
  if (r.narrowed == nullptr) return repairs;
  for (const diagnose::RepairLeft& left : r.narrowed->repairs) {
    if (left.share < kLeastShare && !repairs.empty()) break;
    repairs.push_back({{"repair", left.repair.words}, {"share", left.share}});
  }
  return repairs;
}

nlohmann::ordered_json ReadingsJson(const DiagnosisReport& r) {
  nlohmann::ordered_json readings = nlohmann::ordered_json::array();
  for (std::size_t i = 0; i < r.given.size(); ++i) {
    const GivenReading& given = r.given[i];
    const auto& nobody = r.narrowed->fits_nobody;
    readings.push_back({{"number", given.number},
                        {"said", given.said},
                        {"time", given.time},
                        {"by", given.by},
                        {"meter", given.meter},
                        {"fits_nobody", std::ranges::find(nobody, i) != nobody.end()}});
  }
  return readings;
}

}  // namespace

std::string DiagnosisJson(const DiagnosisReport& r) {
  nlohmann::ordered_json json;
  json["format"] = "drycrank diagnosis";
  json["format_version"] = 1;
  json["notes"] = r.notes;
  json["verdict"] = Verdict(*r.diagnosis);
  json["healthy_share"] = r.diagnosis->healthy_share;
  json["unknown_share"] = r.diagnosis->unknown_share;
  if (r.after != nullptr) {
    json["before_readings"] = {{"verdict", Verdict(*r.before)},
                               {"healthy_share", r.before->healthy_share},
                               {"unknown_share", r.before->unknown_share}};
  }
  json["like_healthy"] = nlohmann::ordered_json::array();
  for (const diagnose::Candidate& like : r.diagnosis->like_healthy) {
    json["like_healthy"].push_back(diagnose::Describe(*r.bench, like.hypothesis));
  }
  json["failed_expectations"] = nlohmann::ordered_json::array();
  for (const FailedExpectation& failed : r.failed) {
    json["failed_expectations"].push_back(
        {{"name", failed.name}, {"detail", failed.detail}, {"why_not_seen", failed.why_not}});
  }
  json["groups"] = GroupsJson(r);
  if (r.after != nullptr) json["cleared"] = ClearedJson(r);
  json["readings"] = ReadingsJson(r);
  json["repairs"] = RepairsJson(r);
  json["tests"] = nlohmann::ordered_json::array();
  for (const diagnose::NextTest& test : r.tests) {
    nlohmann::ordered_json answers = nlohmann::ordered_json::array();
    for (const diagnose::Answer& answer : test.answers) {
      answers.push_back({{"shows", answer.shows},
                         {"faults", SuspectsOf(*r.bench, *r.narrowed, answer, kMostInJson)}});
    }
    json["tests"].push_back({{"test", test.what},
                             {"information_bits", test.information},
                             {"effort", test.effort},
                             {"answers", answers}});
  }
  return json.dump(2) + "\n";
}

}  // namespace drycrank::report
