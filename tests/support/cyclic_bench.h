// SPDX-License-Identifier: Apache-2.0
//
// A bench in code that does nothing but send: `count` messages of eight bytes with a rolling
// counter, all of one period, spread over it; and the scenario that plays it for a while.
#ifndef DRYCRANK_TESTS_SUPPORT_CYCLIC_BENCH_H_
#define DRYCRANK_TESTS_SUPPORT_CYCLIC_BENCH_H_

#include <cstdint>
#include <string>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::support {

inline profile::Message CyclicMessage(std::uint32_t id, double period_ms, double phase_ms) {
  profile::Message message;
  message.name = "message_" + std::to_string(id);
  message.id = id;
  message.period_ms = period_ms;
  message.phase_ms = phase_ms;
  profile::Signal count;
  count.name = "count";
  count.length_bits = 16;
  message.signals = {count};
  message.counter_signal = 0;
  return message;
}

inline profile::Bench CyclicBench(int count, double period_ms) {
  profile::Bench bench;
  bench.name = "cyclic";
  profile::Stimulus speed;
  speed.name = "engine_speed";
  speed.unit = "rpm";
  bench.stimuli = {speed};
  profile::Bus& bus = bench.buses.emplace_back();
  bus.name = "vehicle";
  for (int i = 0; i < count; ++i) {
    bus.messages.push_back(
        CyclicMessage(static_cast<std::uint32_t>(0x100 + i), period_ms, period_ms * i / count));
  }
  return bench;
}

inline profile::Scenario ForSeconds(double seconds) {
  profile::Scenario scenario;
  scenario.name = "cyclic";
  scenario.steps.resize(1);
  scenario.steps[0].name = "send";
  scenario.steps[0].for_s = seconds;
  return scenario;
}

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_CYCLIC_BENCH_H_
