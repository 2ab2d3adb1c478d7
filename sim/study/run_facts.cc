// SPDX-License-Identifier: Apache-2.0
#include "study/run_facts.h"

#include <fmt/format.h>

#include "types/nth.h"

namespace drycrank::study {

void RunFacts::OnStep(std::size_t step, TimeNs t_ns) {
  if (!steps_.empty()) steps_.back().end_ns = t_ns;
  steps_.push_back({scenario_.steps[step].name, t_ns, t_ns, ""});
}

void RunFacts::OnFrame(const bus::TimedFrame& frame) {
  if (AsSize(frame.bus) >= counts_.size()) return;
  Count& count = Nth(counts_, frame.bus);
  ++(frame.sent ? count.sent : count.received);
}

void RunFacts::OnNote(const std::string& note, TimeNs t_ns) {
  notes_.push_back(fmt::format("{:.3f} s: {}", ToSeconds(t_ns), note));
  // A wait in vain belongs to the step that is still on.
  if (!steps_.empty() && note.find("in vain") != std::string::npos) steps_.back().note = note;
}

void RunFacts::OnFinish(TimeNs t_ns) {
  if (!steps_.empty()) steps_.back().end_ns = t_ns;
  duration_ns_ = t_ns;
  stretches_.Finish(t_ns, notes_);
}

bool EndedEarly(const profile::Scenario& scenario, const std::vector<report::StepTime>& steps) {
  if (steps.size() < scenario.steps.size()) return true;
  if (steps.empty() || scenario.steps.back().wait_for) return false;
  const TimeNs lasted_ns = steps.back().end_ns - steps.back().begin_ns;
  return lasted_ns < FromSeconds(scenario.steps.back().for_s) - kNsPerMs;
}

profile::Scenario WithStepTimes(const profile::Scenario& scenario,
                                const std::vector<report::StepTime>& steps) {
  profile::Scenario timed = scenario;
  for (std::size_t i = 0; i < timed.steps.size() && i < steps.size(); ++i) {
    timed.steps[i].wait_for.reset();
    timed.steps[i].for_s = ToSeconds(steps[i].end_ns - steps[i].begin_ns);
  }
  return timed;
}

}  // namespace drycrank::study
