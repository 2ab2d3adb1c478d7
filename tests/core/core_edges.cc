// SPDX-License-Identifier: Apache-2.0
//
//   core_edges SEED EDGES           hashes, as the microcontroller prints them
//   core_edges SEED EDGES --each    each set-point and each edge
#include <cinttypes>
#include <cstdio>
#include <cstdlib>

#include "tests/core/edge_hash.h"

namespace drycrank::core {
namespace {

class Each final : public ScriptSink {
 public:
  void OnPulse(const Pulse& p) override {
    std::printf("edge %" PRId64 " %d %d\n", p.t, p.channel, p.level);
  }
  void OnSet(int64_t now, int32_t c, const ChannelSetting& s, int32_t speed,
             int32_t climb) override {
    if (c < 0) {
      std::printf("turn %" PRId64 " %d %d\n", now, speed, climb);
      return;
    }
    std::printf("wheel %" PRId64 " %d %d %d %d %d %d %d %d %d %d %d\n", now, c, s.teeth, s.missing,
                s.duty, s.turns, s.offset, s.advance, s.inverted, s.gone[0], s.period_ms,
                s.absent_ms);
  }
};

}  // namespace
}  // namespace drycrank::core

int main(int argc, char** argv) {
  if (argc < 3) return 2;
  const auto seed = static_cast<uint32_t>(std::strtoul(argv[1], nullptr, 10));
  const int edges = std::atoi(argv[2]);
  if (argc > 3) {
    drycrank::core::Each each;
    drycrank::core::RunScript(seed, edges, each);
  } else {
    drycrank::core::PrintHashes(seed, edges, [](char c) { std::putchar(c); });
  }
  return 0;
}
