// SPDX-License-Identifier: Apache-2.0
//
// One wheel and its place in time, in whole numbers: which edge comes next, and when.
//
//   edge k of the wheel's turn m is met at   (m turn + at[k]) + offset - advance     crank units
//   turn = 1, 2 or 3 turns of the crank      at[2 i] = begin of tooth i, at[2 i + 1] = its end
//
// The place is a count of edges. A step of the advance neither loses nor repeats one: those that it
// overtakes come at once, one after the other; those that it puts off do not come again.
#ifndef DRYCRANK_CORE_TOOTH_CHANNEL_H_
#define DRYCRANK_CORE_TOOTH_CHANNEL_H_

#include <stdint.h>

#include "core/fixed_motion.h"

namespace drycrank::core {

inline constexpr int32_t kMostTeeth = 128;
// Crank units of so many millionths of a degree of the crank.
inline constexpr int64_t UnitsOf(int64_t microdegrees) {
  return microdegrees * (kUnitsPerTurn / 120'000'000) / 3;
}

// What was set; plain numbers, as they come over the link (core/core_node.h; their ranges: core_node.cc).
struct ChannelSetting {
  int32_t teeth = 0;     // places of an even wheel; 0: there is no wheel
  int32_t missing = 0;   // of them, the last ones
  int32_t duty = 32768;  // of an even wheel's pitch, 1/65536
  int32_t turns = 1;     // of the crank, for one of the wheel
  int32_t offset = 0;    // where the wheel's own 0 passes, millionths of a degree of the crank
  int32_t advance = 0;   // millionths of a degree of the crank
  int32_t inverted = 0;
  int32_t safe_level = 0;
  int32_t fault = 0;                     // Fault
  int32_t gone[kMostTeeth / 32] = {};    // a bit for each tooth that is broken off
  int32_t period_ms = 0, absent_ms = 0;  // comes and goes: in each period absent at its end
};
enum class Fault { kNone, kSilent, kLow, kHigh };  // silent: stays as it is

struct Pulse {
  int64_t t = 0;  // ns
  int32_t channel = 0;
  bool level = false;
};

class ToothChannel {
 public:
  ChannelSetting setting;

  // The even wheel of the setting. REQUIRES: teeth > missing, or no teeth.
  void SetEven();
  // One after the other, of its own shaft, millionths of a degree; ascending, with air between.
  void SetTooth(int32_t tooth, int32_t begin, int32_t end);

  bool has_wheel() const { return fitted_ > 0; }

  // The first edge that is met from this angle on. Also after a change of the wheel or the offset.
  void FindPlace(int64_t angle);
  // Angle of the next edge. REQUIRES: has_wheel().
  int64_t Next() const;
  // Is it let through at t? By what is broken off and by the fault.
  bool Shows(int64_t t) const;
  // Metal from there on, as the pin shows it.
  bool Level() const { return (edge_ % 2 == 0) != (setting.inverted != 0); }
  void Pass();
  // The level of the pin before the next edge, were nothing at fault.
  bool Before() const { return !Level(); }
  void Lessen(int64_t units) { turn_begin_ -= units; }

 private:
  int64_t turn() const { return setting.turns * kUnitsPerTurn; }

  int32_t fitted_ = 0;  // teeth
  int64_t at_[2 * kMostTeeth] = {};
  int64_t turn_begin_ = 0;
  int32_t edge_ = 0;
};

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_TOOTH_CHANNEL_H_
