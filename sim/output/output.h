// SPDX-License-Identifier: Apache-2.0
//
// Where signals leave the computer: one device with its channels, each in the place of a trigger's
// pickup, a sensor or a supply, at its terminals and before the harness ("at the sensor").
//
//   made      nothing is reached yet
//   Open      reached, looked at, given what may be written while nothing moves; all is safe
//   Arm       from here on it drives                    Give, Beat
//   Disarm    the safe state: at the end, at a stop, at an error, twice too
//
// All calls but the first two come from one thread, which is not that of the run and may wait for a
// line or a driver (io/output_thread.h; tests call themselves). After Arm nothing is allocated.
//
// What is given is a new state of one channel from t_ns on, until the next; in the order of time.
// The other end must come to its safe state by itself when it hears nothing more: a process that is
// killed calls nothing. A device that cannot do so is not an output, but one behind a guard.
#ifndef DRYCRANK_OUTPUT_OUTPUT_H_
#define DRYCRANK_OUTPUT_OUTPUT_H_

#include <bitset>
#include <optional>
#include <span>
#include <string>
#include <variant>

#include "output/ability.h"
#include "output/steps.h"
#include "types/crank_motion.h"
#include "types/limits.h"
#include "types/source.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::output {

// What is not in the motion of a wheel's edges: its cam's phaser, and faults.
struct WheelState {
  enum class Pickup { kWorks, kSilent, kOff, kOn };  // off, on: its output transistor
  Pickup pickup = Pickup::kWorks;
  double advance_deg = 0;  // crank degrees by which edges come earlier
  double late_deg = 0;     // crank degrees by which the wheel was mounted late
  bool inverted = false;
  std::bitset<kMaxTeeth> gone = {};  // [0] is tooth 1

  friend bool operator==(const WheelState&, const WheelState&) = default;
};

struct SupplyVolts {
  double volts = 0;

  friend bool operator==(const SupplyVolts&, const SupplyVolts&) = default;
};

// A wave is a coil's EMF, V.
using State = std::variant<CrankMotion, WheelState, Wave, Source, SupplyVolts>;

inline constexpr int kAllChannels = -1;  // of the crank's motion
struct Given {
  TimeNs t_ns = 0;
  int channel = 0;  // as in the bench's list of this output
  State state;
};

class Output {
 public:
  virtual ~Output() = default;
  // "trigger core at /dev/ttyACM0, node 5"
  virtual std::string Description() const = 0;
  virtual std::span<const Ability> abilities() const = 0;

  // Both: empty, or the step that failed and what helps. It is in its safe state then.
  virtual std::string Open() = 0;
  virtual std::string Arm() = 0;
  // So long before its time it wants to be given what comes; 0: at its time.
  virtual TimeNs WantsAheadNs() const { return 0; }
  virtual void Give(const Given& given) = 0;
  // A state is of use though the next of its channel is due as well: a wave is, a level is not.
  virtual bool NeedsEach() const { return false; }
  // So long one entry takes to be written, as found by Open; 0: no time that counts.
  virtual TimeNs RequestNs() const { return 0; }
  // Of a channel whose values go by steps, V or ohm at its terminals. Nothing: it has none, or only what is
  // open knows them.
  virtual std::optional<Steps> StepsOf(int /*channel*/) const { return std::nullopt; }
  // About each millisecond: what else there is to do, as a sign of life to the other end.
  virtual void Beat(TimeNs now_ns) = 0;
  virtual void Disarm() = 0;
  // A line for the end of the run: "card 12.4 ppm fast; 0 underruns, ..."; empty: there is nothing to say.
  // From its thread, or when that has ended.
  virtual std::string Report() const { return ""; }
  // Why it drives no longer; empty: it does. Asked after each Give and Beat.
  virtual std::string failure() const = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_OUTPUT_H_
