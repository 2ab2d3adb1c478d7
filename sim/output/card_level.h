// SPDX-License-Identifier: Apache-2.0
//
// Volts at a channel of a sound card as the number that makes it give them.
//
//   level = ± (v - zero_v) / full_scale_v        -1 .. 1; louder is clipped and counted
//
// full_scale_v is measured: what the channel (or the front end behind it) gives for 1.0. zero_v is what
// the wave has where the card gives 0 V: a comparator behind the card turns round there.
//
// A card coupled by a capacitor is a high-pass of first order with the corner w = 2 pi f, also measured.
// What it takes is put in before, down to a corner of a hundredth of it:
//
//   compensation (s + w) / (s + w/100)  x  card s / (s + w)  =  s / (s + w/100)
//   u(n) = u(n-1) e^(-w/100 T) + integral;  out = v + (w - w/100) u      trapezoid rule, T a sample
//
// The waves of a coil have no mean (each lobe up is followed by one down, of the same area), so u stays
// small. A square wave has one: it is refused where the bench is read (profile/load_sound.cc).
#ifndef DRYCRANK_OUTPUT_CARD_LEVEL_H_
#define DRYCRANK_OUTPUT_CARD_LEVEL_H_

#include <cstdint>

namespace drycrank::output {

struct CardChannel {
  double full_scale_v = 1;
  double zero_v = 0;
  bool inverted = false;
  double corner_hz = 0;  // of its capacitor; 0: it has none
};

class CardLevel {
 public:
  CardLevel(const CardChannel& channel, double rate_hz);

  // The next sample.
  double Next(double volts);
  // As after a long time of zero_v.
  void Rest();
  std::uint64_t clipped() const { return clipped_; }

 private:
  CardChannel channel_;
  double per_volt_;
  double keep_ = 0, half_sample_ = 0;  // of the compensation; 0: none
  double before_v_ = 0, area_ = 0;
  std::uint64_t clipped_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_CARD_LEVEL_H_
