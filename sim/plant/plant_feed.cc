// SPDX-License-Identifier: Apache-2.0
//
// Crank and cams that come from elsewhere.
#include "plant/plant.h"
#include "types/nth.h"

namespace drycrank::plant {

void Plant::Follow(Feed& feed) {
  feed_ = &feed;
  for (const Feed::Fed& fed : feed.fed()) {
    Nth(is_fed_, fed.trigger) = true;
    Nth(pins_, fed.trigger) = fed.pins;
    for (const int input : fed.pins) {
      Nth(pin_waves_, input) = Wave{};
      std::erase(heard_, input);
    }
  }
}

void Plant::TakeFed() {
  const Feed::Piece piece = feed_->Take();
  const std::vector<int>& pins = Nth(pins_, piece.trigger);
  if (pins.empty()) return FeedSensor(AsSize(piece.trigger), piece.wave);
  for (const int input : pins) {
    Nth(pin_waves_, input) = piece.wave;
    sink_.OnWave(input, piece.wave);
  }
}

void Plant::FeedSensor(std::size_t trigger, const Wave& wave) {
  const int coil = coil_of_trigger_[trigger];
  if (coil < 0) {
    SetSwitch(static_cast<int>(trigger), wave.begin_v < 0.5);
    return EmitLevels(wave.begin_ns);
  }
  const bool is_rest = wave.end_ns == kNever && wave.begin_v == 0;
  Nth(lobes_, coil) = is_rest ? Wave{wave.begin_ns, wave.begin_ns, 0, 0, 0} : wave;
  EmitCoil(coil, wave.begin_ns, Nth(lobes_, coil));
}

}  // namespace drycrank::plant
