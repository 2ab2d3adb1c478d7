// SPDX-License-Identifier: Apache-2.0
#include "record/bus_alone.h"

#include <variant>

namespace drycrank::record {
namespace expect = profile::expect;
namespace {

constexpr const char* kDriven = "needs to know what was driven";
constexpr const char* kBegin = "counts from the begin of a step or the first turn";
constexpr const char* kCrank = "needs the edges of the crank, or what the outputs do";
constexpr const char* kAsked = "needs answers of a tester or a person";

// A kind that is new has to be thought of here: there is no general case.
struct Needs {
  std::string operator()(const expect::Follows& kind) const { return Of(kind.target); }
  std::string operator()(const expect::DisplayShows& kind) const { return Of(kind.target); }
  std::string operator()(const expect::Always&) const { return ""; }
  std::string operator()(const expect::Never&) const { return ""; }
  std::string operator()(const expect::ForAtLeast&) const { return ""; }
  std::string operator()(const expect::MessagePresent&) const { return ""; }
  std::string operator()(const expect::Counter&) const { return ""; }
  std::string operator()(const expect::Checksum&) const { return ""; }
  std::string operator()(const expect::OnlyKnownMessages&) const { return ""; }
  std::string operator()(const expect::NoErrorFrames&) const { return ""; }
  std::string operator()(const expect::Within&) const { return kBegin; }
  std::string operator()(const expect::Synchronised&) const { return kBegin; }
  std::string operator()(const expect::ControllerReads&) const { return kAsked; }
  std::string operator()(const expect::TroubleCode&) const { return kAsked; }
  std::string operator()(const expect::NoTroubleCodes&) const { return kAsked; }
  std::string operator()(const expect::FiresAt&) const { return kCrank; }
  std::string operator()(const expect::InjectsAt&) const { return kCrank; }
  std::string operator()(const expect::CamEdges&) const { return kCrank; }
  std::string operator()(const expect::Order&) const { return kCrank; }
  std::string operator()(const expect::Witnessed&) const { return kAsked; }

  static std::string Of(const expect::Target& target) {
    return target.stimulus >= 0 || target.absolute ? kDriven : "";
  }
};

}  // namespace

std::string WhatElseItNeeds(const profile::Expectation& expectation) {
  std::string needs = std::visit(Needs(), expectation.kind);
  if (needs.empty() && !expectation.during.empty()) needs = "is for some steps only";
  return needs;
}

profile::Scenario AsJudgedByFrames(const profile::Scenario& scenario) {
  profile::Scenario judged = scenario;
  profile::Step all, never;
  all.name = "recording";
  never.name = "never";
  judged.steps = {all, never};
  for (profile::Expectation& expectation : judged.expectations) {
    if (!WhatElseItNeeds(expectation).empty()) expectation.during = {never.name};
  }
  return judged;
}

}  // namespace drycrank::record
