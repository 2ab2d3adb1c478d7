// SPDX-License-Identifier: Apache-2.0
//
// A bench drawn by a seed, as the text of its file: 3 to 8 sensors (thermistors, platinum, pressure
// sensors on the controller's 5 V, switches) on a controller with two or three plugs, one or two
// supply pins, one to three grounds and up to two sensor grounds. Each net is a tree of wires through
// splices, some with a second way (parallel wires, rings), spurs that nothing uses and wires that are
// on paper only. All quantities lie between round numbers. The same seed gives the same text.
//
//   BAT --- [splices] --- supply pins        sensor --- controller input
//   BAT --- [splices] --- grounds            5 V --- [splices] --- pressure sensors
//              loads between the two         sensor grounds --- [splices] --- sensors
//
// Every value of the controller is carried by one of its messages. The tables that the controller is
// told are reckoned here from the sensors' laws.
#ifndef DRYCRANK_TESTS_SUPPORT_RANDOM_BENCH_H_
#define DRYCRANK_TESTS_SUPPORT_RANDOM_BENCH_H_

#include <cstdint>
#include <string>

namespace drycrank::support {

struct RandomBench {
  std::string yaml;
  // A contact may have several wires crimped in. A file that is run may not have that, so its wires
  // are to be read as drawn.
  bool crimped_together = false;
};

RandomBench DrawBench(std::uint64_t seed);

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_RANDOM_BENCH_H_
