// SPDX-License-Identifier: Apache-2.0
//
// The trigger core as an output: wheels of the bench as its teeth, the crank's motion as speed and climb,
// a cam's phaser as its advance, and what may be wrong with a wheel or pickup as its faults.
//
//   given                        entry of its dictionary (hw-notes/trigger-core.md)
//   wheel                        2010 + pin: 1, 3, 4; 2100, 2200 + pin: teeth, one by one
//   offset_deg - start_deg       2010 + pin: 5    crank zero is where it was armed
//   hold, even cranking          2001: 2 = 0, 1 = speed
//   ramp                         2001: 2 = climb, 1 = its target
//   advance, late, inverted      2010 + pin: 6, 5, 7
//   silent, output off, on       2010 + pin: 8 = 1, 2, 3
//   teeth broken off             2010 + pin: 9 to 12
//
// What comes and goes is written as it comes and goes. A Hall sensor whose output conducts is level 1:
// at a tooth, where it is low there. A coil's signal is high where its voltage is positive, and falls at
// a tooth's centre, where that crosses zero. What is given is in force one or two answers of the line later: less than 10 ms
// at 115200 baud, by the count of bytes.
#ifndef DRYCRANK_OUTPUT_CORE_LINK_H_
#define DRYCRANK_OUTPUT_CORE_LINK_H_

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "output/core_line.h"
#include "output/output.h"
#include "profile/bench.h"
#include "profile/output_device.h"
#include "types/wheel.h"

namespace drycrank::output {

inline constexpr double kMostClimbRpmPerS = 200'000;
inline constexpr Ability kCoreAbilities[] = {
    {.form = Form::kWheel,
     .most = 20'000,
     .step = 0.001,
     .most_slope = kMostClimbRpmPerS,
     .traits = {Trait::kRamp, Trait::kAdvance, Trait::kSilent, Trait::kHeld, Trait::kTeethGone,
                Trait::kLate, Trait::kInverted},
     .most_teeth = 128}};

class CoreLink : public Output {
 public:
  // `start_deg`: where the crank stands at the begin; `person`: who waits for Open. REQUIRES: its
  // channels are triggers.
  CoreLink(std::unique_ptr<BytePort> port, const profile::Bench& bench,
           const profile::out::Core& core, double start_deg, WhoWaits person = {});

  std::string Description() const override;
  std::span<const Ability> abilities() const override { return kCoreAbilities; }
  std::string Open() override;
  std::string Arm() override;
  void Give(const Given& given) override;
  TimeNs RequestNs() const override { return line_.AnswerNs(); }
  void Beat(TimeNs now_ns) override;
  void Disarm() override;
  std::string failure() const override { return failure_; }

 private:
  struct Channel {
    profile::out::Core::Channel at;
    std::vector<Tooth> high;  // the pin is high, own shaft
    std::int32_t turns = 1;
    double offset_deg = 0;    // of the crank where it was armed
    bool inverted = false;
    WheelState state = {};
  };

  std::string Prepare(const Channel& channel, int& left);
  void Put(int index, int sub, std::int32_t value);
  void Take(const CrankMotion& motion);
  void Take(Channel& channel, const WheelState& state);
  void Turn(double rpm, double climb_rpm_per_s);
  std::string WhyNotArmed() const;
  void Fail(std::string why);

  CoreLine line_;
  std::vector<Channel> channels_;
  bool armed_ = false;
  CrankMotion motion_;
  std::int32_t climb_ = 0;
  std::string failure_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_CORE_LINK_H_
