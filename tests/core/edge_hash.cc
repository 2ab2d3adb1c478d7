// SPDX-License-Identifier: Apache-2.0
#include "tests/core/edge_hash.h"

namespace drycrank::core {
namespace {

class Hashes final : public ScriptSink {
 public:
  explicit Hashes(PutByte put) : put_(put) {}

  void OnPulse(const Pulse& pulse) override {
    Add(static_cast<uint64_t>(pulse.t));
    Add(static_cast<uint64_t>(pulse.channel * 2 + pulse.level));
    if (++count_ % 50'000 != 0) return;
    Print(static_cast<uint64_t>(count_));
    Print(static_cast<uint64_t>(pulse.t));
    Print(hash_);
    put_('\n');
  }
  void OnSet(int64_t, int32_t, const ChannelSetting&, int32_t, int32_t) override {}

 private:
  void Add(uint64_t value) {
    for (int i = 0; i < 8; ++i) hash_ = (hash_ ^ (value >> 8 * i & 0xFF)) * 0x100000001b3u;
  }
  void Print(uint64_t value) {
    for (int i = 60; i >= 0; i -= 4) put_("0123456789abcdef"[value >> i & 0xF]);
    put_(' ');
  }

  PutByte put_;
  uint64_t hash_ = 0xcbf29ce484222325u;
  int32_t count_ = 0;
};

}  // namespace

void PrintHashes(uint32_t seed, int32_t edges, PutByte put) {
  Hashes hashes(put);
  RunScript(seed, edges, hashes);
}

}  // namespace drycrank::core
