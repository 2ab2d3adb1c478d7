// SPDX-License-Identifier: Apache-2.0
#include "tests/core/edge_script.h"

namespace drycrank::core {
namespace {

// Numerical Recipes' quick generator, which is good enough here: the high bits are used.
class Draw {
 public:
  explicit Draw(uint32_t seed) : state_(seed) {}
  int32_t Below(int32_t count) {
    state_ = state_ * 1664525u + 1013904223u;
    return static_cast<int32_t>((static_cast<uint64_t>(state_) * static_cast<uint32_t>(count)) >>
                                32);
  }

 private:
  uint32_t state_;
};

void SetWheel(Draw& draw, int32_t c, ChannelSetting& s) {
  constexpr int32_t kTeeth[] = {60, 36, 24, 12, 4, 1, 44, 100};
  s = {};
  s.teeth = kTeeth[draw.Below(8)];
  s.missing = s.teeth > 4 ? draw.Below(3) : 0;
  s.duty = 10000 + draw.Below(40000);
  s.turns = c == 0 ? 1 : 1 + draw.Below(3);
  s.offset = draw.Below(720'000'000);
  s.inverted = draw.Below(2);
  if (draw.Below(4) == 0) s.gone[0] = 1 << draw.Below(16);
  if (draw.Below(8) == 0) {
    s.period_ms = 50 + draw.Below(500);
    s.absent_ms = draw.Below(s.period_ms);
  }
}

}  // namespace

void RunScript(uint32_t seed, int32_t edges, ScriptSink& sink) {
  static PulseSource source;  // too large for a small stack
  source = {};
  Draw draw(seed);
  int64_t now = 0;
  for (int32_t done = 0; done < edges;) {
    const int32_t c = draw.Below(kChannels);
    ChannelSetting& setting = source.channel(c).setting;
    const int32_t what = now == 0 ? 0 : draw.Below(6);
    if (what == 0) {
      SetWheel(draw, c, setting);
      source.channel(c).SetEven();
      source.PlaceAgain(now, c);
      sink.OnSet(now, c, setting, 0, 0);
    } else if (what == 1) {
      setting.advance = draw.Below(60'000'000);
      source.TimeAgain(now);
      sink.OnSet(now, c, setting, 0, 0);
    }
    if (what != 1) {
      const int32_t speed = draw.Below(10) == 0 ? 0 : 20'000 + draw.Below(8'500'000);
      const int32_t climb = draw.Below(3) == 0 ? 0 : 1'000 + draw.Below(20'000'000);
      source.Turn(now, speed, climb);
      sink.OnSet(now, -1, setting, speed, climb);
    }
    now += 200'000'000 + 1'000 * static_cast<int64_t>(draw.Below(1'000'000));
    Pulse pulse;
    while (done < edges && source.Next(now, pulse)) {
      sink.OnPulse(pulse);
      ++done;
    }
  }
}

}  // namespace drycrank::core
