// SPDX-License-Identifier: Apache-2.0
#include "run/capture_feed.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <chrono>
#include <filesystem>

#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::run {
namespace {

constexpr std::chrono::milliseconds kLookEvery(2);

}  // namespace

CaptureFeed::CaptureFeed(const profile::Bench& bench, const profile::PlayedCapture& played)
    : bench_(bench), played_(played), plan_(capture::PlanOf(bench, played)) {
  const bool at_pins = played.at == profile::PlayedAt::kController;
  for (const capture::PlayedSignal& signal : plan_.signals) {
    fed_.push_back({signal.trigger, at_pins ? signal.inputs : std::vector<int>{}});
  }
}

CaptureFeed::~CaptureFeed() {
  stop_ = true;
  if (reader_.joinable()) reader_.join();
}

void CaptureFeed::Begin() {
  if (!problems().empty() || is_begun_) return;
  is_begun_ = true;
  ring_.resize(kSlots);
  stream_ = std::make_unique<capture::SignalStream>(plan_, FromSeconds(played_.begin_s));
  reader_ = std::thread([this] { ReadAhead(); });
  std::unique_lock lock(mutex_);
  more_.wait(lock, [this] { return read_all_ || stored_ > kSlots / 2; });
}

void CaptureFeed::ReadAhead() {
  std::vector<capture::SignalPiece> pieces;
  while (!stop_ && stream_->Next(pieces)) {
    if (!Store(pieces)) break;
  }
  const std::lock_guard lock(mutex_);
  read_all_ = true;
  more_.notify_all();
}

bool CaptureFeed::Store(const std::vector<capture::SignalPiece>& pieces) {
  for (const capture::SignalPiece& piece : pieces) {
    const std::uint64_t at = stored_.load(std::memory_order_relaxed);
    if (at - taken_.load(std::memory_order_acquire) >= kSlots && !WaitForRoom()) return false;
    ring_[at % kSlots] = {Nth(plan_.signals, piece.signal).trigger, piece.wave};
    stored_.store(at + 1, std::memory_order_release);
  }
  const std::lock_guard lock(mutex_);
  more_.notify_all();
  return true;
}

// Looks now and then: whoever takes a piece has no time to say so.
bool CaptureFeed::WaitForRoom() {
  { const std::lock_guard lock(mutex_); }
  more_.notify_all();
  while (stored_ - taken_ >= kSlots) {
    if (stop_) return false;
    std::this_thread::sleep_for(kLookEvery);
  }
  return true;
}

void CaptureFeed::WaitForMore() {
  ++waits_;
  std::unique_lock lock(mutex_);
  more_.wait(lock, [this] { return read_all_ || stored_ != taken_; });
}

TimeNs CaptureFeed::NextNs() {
  if (!is_begun_ || ended_) return kNever;
  const std::uint64_t at = taken_.load(std::memory_order_relaxed);
  if (at == stored_.load(std::memory_order_acquire)) {
    if (!read_all_.load(std::memory_order_acquire)) WaitForMore();
    ended_ = at == stored_.load(std::memory_order_acquire);
    if (ended_) return kNever;
  }
  return ring_[at % kSlots].wave.begin_ns;
}

plant::Feed::Piece CaptureFeed::Take() {
  const std::uint64_t at = taken_.load(std::memory_order_relaxed);
  const Piece piece = ring_[at % kSlots];
  taken_.store(at + 1, std::memory_order_release);
  return piece;
}

TimeNs CaptureFeed::end_ns() const {
  return FromSeconds(played_.begin_s) +
         static_cast<TimeNs>(std::max(0.0, plan_.end_ns - plan_.begin_ns));
}

std::string CaptureFeed::Trouble() const {
  if (!ended() || !stream_->problem()) return "";
  return Format(*stream_->problem());
}

const std::string& CaptureFeed::NameOf(int trigger) const {
  return Nth(bench_.triggers, trigger).name;
}

std::vector<std::string> CaptureFeed::InWords() const {
  std::vector<std::string> played, still, deaf;
  for (const capture::PlayedSignal& signal : plan_.signals) {
    const std::string& name = NameOf(signal.trigger);
    played.push_back(fmt::format("{} ({}, {})", name, signal.as_volts ? "in volts" : "levels",
                                 signal.levels.how));
    if (!signal.as_volts || signal.arm_v <= signal.levels.height) continue;
    deaf.push_back(
        fmt::format("{}: its waves are {:.3g} V high, and the input arms at {:.3g} V; most of them "
                    "are not seen. 'scale' in the map says what the file's numbers are in volts",
                    name, signal.levels.height, signal.arm_v));
  }
  for (const profile::Trigger& trigger : bench_.triggers) {
    const auto is_it = [&](const Fed& fed) { return NameOf(fed.trigger) == trigger.name; };
    if (std::ranges::none_of(fed_, is_it)) still.push_back(trigger.name);
  }
  const bool at_pins = played_.at == profile::PlayedAt::kController;
  std::vector<std::string> words = {fmt::format(
      "crank and cams are those of the capture {}, {}: {}; {:.3f} s of it from {:.3f} s on",
      std::filesystem::path(played_.file).filename().string(),
      at_pins ? "at the controller's pins, behind the harness" : "at the sensors",
      fmt::join(played, ", "), (plan_.end_ns - plan_.begin_ns) / 1e9, played_.begin_s)};
  if (!still.empty()) {
    words.push_back(fmt::format("not in the capture, and at rest: {}", fmt::join(still, ", ")));
  }
  words.insert(words.end(), deaf.begin(), deaf.end());
  if (!plan_.left_out.empty()) words.push_back("of the capture, " + plan_.left_out);
  return words;
}

}  // namespace drycrank::run
