// SPDX-License-Identifier: Apache-2.0
//
// A sound card in the place of pickups: each channel is one of the card's outputs, and plays a coil's EMF
// or an output transistor that switches.
//
//   coil        as it is at the sensor, V. A lobe higher than most_v keeps its form and its zeros and is that
//               high: what a coil gives at high speed is beyond a card, and inputs limit it as well.
//   transistor  + most_v while it conducts, - most_v while it does not, at the instant of each edge
//
// The card's outputs that no channel has are silent. Silence is 0 V; a process that is killed or stands
// still leaves the card to run dry, which then is silent by itself: no guard is needed.
#ifndef DRYCRANK_OUTPUT_SOUND_OUTPUT_H_
#define DRYCRANK_OUTPUT_SOUND_OUTPUT_H_

#include <memory>
#include <string>

#include "output/ability.h"
#include "output/output.h"
#include "output/pcm_port.h"
#include "output/sound_feed.h"
#include "profile/output_device.h"

namespace drycrank::output {

inline constexpr Traits kSoundTraits = {
    Trait::kRamp,   Trait::kSine,     Trait::kRipple,   Trait::kSwingBack,  Trait::kAdvance,
    Trait::kSilent, Trait::kHeld,     Trait::kTeethGone, Trait::kTeethAdded, Trait::kLate,
    Trait::kRunout, Trait::kInverted, Trait::kStrength, Trait::kNoise};
inline constexpr Ability kSoundAbilities[] = {
    {.form = Form::kEmf, .least = -1000, .most = 1000, .traits = kSoundTraits},
    {.form = Form::kSwitch, .least = 0, .most = 1, .traits = kSoundTraits},
};

// The wave that is no higher than most_v anywhere, with the same form.
Wave Limited(const Wave& wave, double most_v);

class SoundOutput : public Output {
 public:
  SoundOutput(const profile::out::Sound& sound, std::unique_ptr<PcmPort> port);

  std::string Description() const override;
  std::span<const Ability> abilities() const override { return kSoundAbilities; }
  std::string Open() override { return feed_.Open(); }
  std::string Arm() override { return feed_.Start(); }
  void Give(const Given& given) override;
  bool NeedsEach() const override { return true; }
  void Beat(TimeNs now_ns) override { feed_.Beat(now_ns); }
  void Disarm() override { feed_.Stop(); }
  std::string failure() const override { return feed_.failure(); }
  std::string Report() const override { return feed_.Report(); }

 private:
  profile::out::Sound sound_;
  std::unique_ptr<PcmPort> port_;
  SoundFeed feed_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SOUND_OUTPUT_H_
