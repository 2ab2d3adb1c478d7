// SPDX-License-Identifier: Apache-2.0
//
// A bench in code with nothing but pulse sensors: `count` of them on one supply and one ground,
// each with a stimulus and an input of its own. All names and data invented.
#ifndef DRYCRANK_TESTS_SUPPORT_PULSE_BENCH_H_
#define DRYCRANK_TESTS_SUPPORT_PULSE_BENCH_H_

#include <string>

#include "tests/support/bench_builder.h"

namespace drycrank::support {

inline profile::Bench PulseBench(int count) {
  BenchBuilder builder;
  builder.Connector("BAT", 2).Connector("ECU", count + 2).Splice("P").Splice("G");
  builder.Supply("BAT.1", "BAT.2", 13.8).Controller("ECU.1", "ECU.2");
  builder.Wire("plus", "BAT.1", "P").Wire("plus", "P", "ECU.1");
  builder.Wire("minus", "BAT.2", "G").Wire("minus", "G", "ECU.2");
  for (int i = 0; i < count; ++i) {
    const std::string plug = "S" + std::to_string(i);
    const std::string input = "ECU." + std::to_string(i + 3);
    profile::FrequencySensor pulses;
    pulses.output = Hall(plug);
    builder.Connector(plug, 3).Sensor(plug, pulses).Input(input, 2200);
    builder.Wire(plug, plug + ".1", "P")
        .Wire(plug, plug + ".2", "G")
        .Wire(plug, plug + ".3", input);
  }
  profile::Bench bench = builder.Build();
  bench.stimuli.emplace_back().name = "engine_speed";
  for (int i = 0; i < count; ++i) {
    bench.stimuli.emplace_back().name = "rate" + std::to_string(i);
    bench.sensors[static_cast<std::size_t>(i)].stimulus = 1 + i;
  }
  return bench;
}

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_PULSE_BENCH_H_
