// SPDX-License-Identifier: Apache-2.0
//
// What comes in from the interfaces to the outside: frames, and trouble.
#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "run/runner.h"

namespace drycrank::run {
namespace {

constexpr int kMostCameSince = 64;

}  // namespace

// Nothing: none has come, up to t_ns unless that is now.
std::optional<bus::TimedFrame> Runner::TakeFrame(std::size_t b, TimeNs t_ns, bool is_now) {
  std::optional<bus::TimedFrame> frame = std::exchange(kept_[b], std::nullopt);
  if (!frame) frame = options_.interfaces[b]->Receive();
  if (!frame || is_now || frame->t_ns <= t_ns) return frame;
  kept_[b] = std::move(frame);
  return std::nullopt;
}

// What fell due before a frame came goes first, so that everything is in the order of time.
void Runner::Poll(TimeNs t_ns, bool is_now) {
  if (ahead_.due_ns() <= t_ns) HandOverAhead();
  for (std::size_t b = 0; b < options_.interfaces.size(); ++b) {
    if (options_.interfaces[b] == nullptr) continue;
    // In a flood there is always another one, and what falls due here must not wait for its end.
    int came_since = 0;
    while (came_since < kMostCameSince) {
      auto frame = TakeFrame(b, t_ns, is_now);
      if (!frame) break;
      if (frame->t_ns < 0) continue;  // while the run was being set up
      came_since += frame->t_ns > t_ns ? 1 : 0;
      const TimeNs at_ns = std::clamp(frame->t_ns, now_ns_, std::max(now_ns_, t_ns));
      RunTo(at_ns);
      // Frames were lost before this one; but bus-off comes after the report that tells of it.
      if (!frame->frame.error) TakeBusEvents(b);
      frame->bus = static_cast<int>(b);
      frame->t_ns = at_ns;
      frame->sent = false;
      if (!finished_) Deliver(*frame, Origin::kOutside);
      if (const std::string twice = second_sender_.On(*frame); !twice.empty()) Note(twice, at_ns);
    }
    TakeBusEvents(b);
  }
}

void Runner::TakeBusEvents(std::size_t b) {
  bus::CanBus& outside = *options_.interfaces[b];
  while (const auto event = outside.NextEvent()) {
    if (finished_) continue;
    const BusWatch::Change change = watches_[b].On(*event);
    if (const std::uint64_t times = watches_[b].TakeForNote(*event, now_ns_); times > 0) {
      Note(fmt::format("bus {} ({}): {}{}", bench_.buses[b].name, outside.Description(),
                       outside.Describe(*event), times > 1 ? fmt::format(", {} times", times) : ""),
           now_ns_);
    }
    const bool blink = change == BusWatch::Change::kBlink;
    if (blink || change == BusWatch::Change::kLost) LoseBus(b);
    if (blink || change == BusWatch::Change::kRegained) RegainBus(b);
  }
}

void Runner::LoseBus(std::size_t b) {
  const std::string why = watches_[b].why();
  for (RunObserver* observer : observers_) {
    observer->OnUnobservable(static_cast<int>(b), why, now_ns_);
  }
  checker_.OnUnobservable(static_cast<int>(b), now_ns_, why);
}

void Runner::RegainBus(std::size_t b) {
  for (RunObserver* observer : observers_) observer->OnObservable(static_cast<int>(b), now_ns_);
  checker_.OnObservable(static_cast<int>(b), now_ns_);
}

std::span<const int> Runner::Descriptors() {
  for (std::size_t b = 0; b < options_.interfaces.size(); ++b) {
    const bus::CanBus* outside = options_.interfaces[b];
    descriptors_[b] = outside == nullptr ? -1 : outside->FileDescriptor();
  }
  return descriptors_;
}

}  // namespace drycrank::run
