// SPDX-License-Identifier: Apache-2.0
//
// What an output can give, what a channel of it is asked for, and why that does not fit. Asked before
// anything moves, from bench and scenario: what is not in the ability is an error with its place.
//
//   form         what leaves                                      range in   as output/output.h gives it
//   wheel        edges of a trigger wheel, made by the output     rpm        CrankMotion, WheelState
//   emf          a coil's voltage, plus against minus             V          Wave
//   switch       an output transistor that conducts or not        0 and 1    Source
//   fraction     a share of a supply, between its two leads       0 to 1     Source
//   voltage      V against ground                                 V          Source
//   resistance   ohm between two leads; a switch is one           ohm        Source
//   pulses       a transistor that conducts so often              Hz         Source
//   supply       what a supply gives                              V          SupplyVolts
#ifndef DRYCRANK_OUTPUT_ABILITY_H_
#define DRYCRANK_OUTPUT_ABILITY_H_

#include <cstdint>
#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::output {

enum class Form {
  kWheel,
  kEmf,
  kSwitch,
  kFraction,
  kVoltage,
  kResistance,
  kPulses,
  kSupply,
};

// What is asked for beside values; of a wheel beside its teeth and speeds that are held.
enum class Trait {
  kRamp,        // a speed that grows or falls evenly
  kSine,        // a speed that goes up and down as a sine
  kRipple,      // cranking that is slowest at each compression
  kSwingBack,   // a crank that turns back at a stop
  kAdvance,     // a cam that is turned while it runs
  kSilent,      // no edges
  kHeld,        // the sensor's output stays on, or off
  kTeethGone,   // teeth broken off
  kTeethAdded,  // swarf that sticks between them
  kLate,        // the wheel sits elsewhere
  kRunout,      // the wheel is off its centre
  kInverted,    // each level is the other one
  kStrength,    // another voltage at the same speed
  kNoise,       // disturbances
  kUnplugged,   // a sensor that is not there
};
const char* InWords(Form form);    // "edges of a wheel"
const char* InWords(Trait trait);  // "compression ripple"

class Traits {
 public:
  constexpr Traits() = default;
  constexpr Traits(std::initializer_list<Trait> traits) {
    for (const Trait trait : traits) bits_ |= Bit(trait);
  }
  constexpr bool Has(Trait trait) const { return (bits_ & Bit(trait)) != 0; }

 private:
  static constexpr std::uint32_t Bit(Trait trait) {
    return std::uint32_t{1} << static_cast<int>(trait);
  }
  std::uint32_t bits_ = 0;
};

struct Ability {
  Form form = Form::kVoltage;
  double least = 0, most = 0;  // in the form's unit
  double step = 0;             // what lies closer together than this is the same; 0: not known
  double rate_hz = 0;          // so often a second it takes another value; 0: at any time
  double most_slope = 0;       // a value that grows or falls, so much a second; 0: at any rate
  Traits traits = {};          // wheels and coils
  int most_teeth = 0;          // wheels
};

// All that a kind of output can give, under its word in the bench file.
struct KindAbility {
  std::string_view kind;
  std::span<const Ability> abilities;
};

// What one channel is asked for. `forms`: any one of them will do, the first that the output has.
struct Wish {
  struct Span {
    Form form = Form::kVoltage;
    double least = 0, most = 0;
    double rate_hz = 0;  // how often it must be able to change; 0: it does not matter
    double slope = 0;    // the steepest that it grows or falls, and by how much it does so there
    double climb = 0;
    Place slope_at = {};  // of the drive
  };
  struct Need {
    Trait trait = Trait::kRamp;
    Place place;  // of the drive or fault that needs it
  };
  std::string of;  // "trigger 'crank'"
  Place place;     // of the channel
  std::vector<Span> forms;
  std::vector<Need> needs = {};
  int teeth = 0;
};

// By which ability it is met; nullptr: the output has none of its forms.
const Ability* Meets(std::span<const Ability> abilities, const Wish& wish);

// Those of `all` that could give it.
std::vector<std::string_view> KindsThatCould(const Wish& wish, std::span<const KindAbility> all);

// What of it this kind does not give; `all` are looked through for one that could. Empty: it does.
Diagnostics WhyNot(const KindAbility& kind, const Wish& wish, std::span<const KindAbility> all);

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_ABILITY_H_
