// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TESTS_SWEEP_SMALL_BENCH_H_
#define DRYCRANK_TESTS_SWEEP_SMALL_BENCH_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::sweep {

inline profile::Signal SmallSignal(const char* name, int start_bit, int length_bits, double scale,
                                   double offset, const char* unit) {
  profile::Signal signal;
  signal.name = name;
  signal.start_bit = start_bit;
  signal.length_bits = length_bits;
  signal.scale = scale;
  signal.offset = offset;
  signal.unit = unit;
  return signal;
}

inline profile::Gauge SmallGauge(const char* name, const char* signal, const char* unit,
                                 double stale_ms) {
  profile::Gauge gauge;
  gauge.name = gauge.label = name;
  gauge.message = "engine";
  gauge.signal = signal;
  gauge.unit = unit;
  gauge.stale_ms = stale_ms;
  return gauge;
}

// One message, three gauges, as set; what must be shown is not written.
inline profile::Bench SmallBench() {
  profile::Message message;
  message.name = "engine";
  message.id = 0x140;
  message.period_ms = 100;
  message.signals = {SmallSignal("coolant", 0, 8, 1, -40, "degC"),
                     SmallSignal("gear", 8, 8, 1, -1, ""),
                     SmallSignal("oil", 16, 16, 0.1, 0, "kPa")};
  profile::Bench bench;
  bench.name = "small";
  bench.buses.push_back({"vehicle", 500000, 2000000, {message}, {}, {}});
  profile::Gauge coolant = SmallGauge("coolant", "coolant", "degC", 1500);
  coolant.warn_above = 112;
  coolant.hysteresis = 4;
  coolant.lamp = "red";
  profile::Gauge gear = SmallGauge("gear", "gear", "", 600);
  gear.min = -1;
  gear.max = 6;
  gear.values = {{-1, "R"}, {0, "N"}};
  profile::Gauge oil = SmallGauge("oil", "oil", "psi", 600);
  oil.warn_below = 15;
  oil.hysteresis = 3;
  bench.display.emplace();
  bench.display->layouts = {message};
  bench.display->gauges = {coolant, gear, oil};
  return bench;
}

}  // namespace drycrank::sweep

#endif  // DRYCRANK_TESTS_SWEEP_SMALL_BENCH_H_
