// SPDX-License-Identifier: Apache-2.0
#include "tools/drycrankd_outputs.h"

#include <fmt/format.h>

#include "report/report.h"
#include "run/output_wishes.h"
#include "tools/commands.h"

namespace drycrank::tools {

std::string DaemonOutputs::Open(bool& bad_input) {
  bad_input = true;
  if (bench_.drives.empty()) return bench_.file + " has no 'drives': there is nothing to drive";
  if (PrintProblems(run::OutputProblems(bench_, scenario_))) return "nothing was driven";
  bad_input = false;
  if (std::string problem = devices_.Open(); !problem.empty()) return problem;
  bad_input = true;
  return PrintProblems(devices_.Unreached()) ? "nothing was driven" : "";
}

std::string DaemonOutputs::Begin(bool armed) {
  std::string problem = devices_.Begin(armed);
  armed_ = armed && problem.empty();
  return problem;
}

std::vector<std::string> DaemonOutputs::Cautions() const { return report::Cautions(); }

std::string DaemonOutputs::WhyNot(const profile::Scenario& scenario) const {
  const Diagnostics problems = devices_.WhyNot(scenario);
  if (problems.empty()) return "";
  return problems[0].what + (problems[0].remedy.empty() ? "" : "; " + problems[0].remedy);
}

std::string DaemonOutputs::WhyNot(const profile::Drive& drive) const {
  profile::Scenario asked = scenario_;
  asked.steps[0].drives = {drive};
  return WhyNot(asked);
}

// Outputs are given what their device gives; faults of it belong into a scenario, where they are looked
// at before anything moves.
std::string DaemonOutputs::WhyNot(const profile::Fault& fault) const {
  bool is_ours = false;
  profile::VisitInto<profile::Into::kHarness>(fault, [&](const auto&) { is_ours = true; });
  profile::VisitInto<profile::Into::kDevice>(fault, [&](const auto&) { is_ours = true; });
  if (!is_ours) return "";
  return fmt::format(
      "a fault at {} does not reach the outputs of a live bench; make it by hand in the harness, or put "
      "it into a scenario: drycrank run --outputs",
      fault.at);
}

std::string DaemonOutputs::Arm(TimeNs now_ns) {
  std::string problem = devices_.ArmNow(now_ns);
  armed_ = problem.empty();
  return problem;
}

std::string DaemonOutputs::Disarm(TimeNs now_ns) {
  armed_ = false;
  return failure_ = devices_.DisarmNow(now_ns);
}

std::string DaemonOutputs::failure() const {
  return failure_.empty() ? devices_.failure() : failure_;
}

}  // namespace drycrank::tools
