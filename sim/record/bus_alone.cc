// SPDX-License-Identifier: Apache-2.0
#include "record/bus_alone.h"

#include <variant>

namespace drycrank::record {
namespace {

constexpr const char* kDriven = "needs to know what was driven";
constexpr const char* kBegin = "counts from the begin of a step or the first turn";
constexpr const char* kCrank = "needs the edges of the crank, or what the outputs do";
constexpr const char* kAsked = "needs answers of a tester or a person";

// With every value of Needs: a new one has to be thought of here.
std::string Lacking(profile::Needs needs) {
  switch (needs) {
    case profile::Needs::kFrames:
    case profile::Needs::kStretch:
      return "";
    case profile::Needs::kBegin:
    case profile::Needs::kTurns:
      return kBegin;
    case profile::Needs::kOutputs:
    case profile::Needs::kAngles:
      return kCrank;
    case profile::Needs::kAnswers:
      return kAsked;
  }
  return "";
}

bool IsOfWhatWasDriven(const profile::ExpectationKind& kind) {
  return std::visit(
      [](const auto& k) {
        if constexpr (requires { k.target; }) return k.target.stimulus >= 0 || k.target.absolute;
        return false;
      },
      kind);
}

}  // namespace

std::string WhatElseItNeeds(const profile::Expectation& expectation) {
  std::string needs = Lacking(profile::NeedsOf(expectation.kind));
  if (needs.empty() && IsOfWhatWasDriven(expectation.kind)) needs = kDriven;
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
