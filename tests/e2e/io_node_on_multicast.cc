// SPDX-License-Identifier: Apache-2.0
//
// The twin of an I/O node by CiA 401 (protocol/io_node.h) as a process of its own, on a bus by multicast:
//
//   io_node_on_multicast BUS        node 5, eight switches, two voltages; "output N 0|1", "analogue N COUNT",
//                                   as they change
#include <cstdio>
#include <memory>

#include "io/interface.h"
#include "io/real_clock.h"
#include "protocol/io_node.h"

namespace {

constexpr int kSwitches = 8, kVoltages = 2;

class Shown {
 public:
  explicit Shown(const drycrank::protocol::IoNode& node) : node_(node) {}
  void Look() {
    for (int i = 0; i < kSwitches; ++i) Tell("output", i, node_.Output(i) ? 1 : 0, switches_[i]);
    for (int i = 0; i < kVoltages; ++i) Tell("analogue", i, node_.Analogue(i), voltages_[i]);
  }

 private:
  static void Tell(const char* what, int number, int value, int& last) {
    if (value == last) return;
    std::printf("%s %d %d\n", what, number, last = value);
    std::fflush(stdout);
  }
  const drycrank::protocol::IoNode& node_;
  int switches_[kSwitches] = {}, voltages_[kVoltages] = {};
};

}  // namespace

int main(int count, char** words) {
  if (count != 2) return 2;
  drycrank::io::RealClock clock;
  const drycrank::io::OpenedBus opened = drycrank::io::OpenBus(words[1], clock, 0);
  if (!opened.error.empty()) {
    std::fprintf(stderr, "%s\n", opened.error.c_str());
    return 3;
  }
  drycrank::protocol::IoNode node(5, kSwitches / 8, kVoltages);
  node.PowerOn(clock.Now());
  Shown shown(node);
  std::printf("ready\n");
  std::fflush(stdout);
  for (;;) {
    while (const auto frame = opened.bus->Receive()) node.OnFrame(*frame);
    drycrank::bus::TimedFrame out;
    while (node.NextDue() <= clock.Now() && node.TakeDue(clock.Now(), out)) {
      opened.bus->Send(out.frame);
    }
    shown.Look();
    clock.WaitUntil(clock.Now() + drycrank::kNsPerMs, {});
  }
}
