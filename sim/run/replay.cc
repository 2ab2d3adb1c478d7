// SPDX-License-Identifier: Apache-2.0
#include "run/replay.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "bus/layout.h"
#include "bus/steady_time.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::run {
namespace {

// How far a recording is looked into for the names of its interfaces.
constexpr int kLookAheadFrames = 10'000;
// A recording that begins earlier than this after 1970 has the times of a run in virtual time.
constexpr TimeNs kShortestRoundNs = kNsPerMs;
constexpr TimeNs kDayNs = 86'400 * kNsPerS;
constexpr TimeNs kSilenceNs = 60 * kNsPerS;  // worth a word
constexpr double kLongestNs = 4e18;          // of an int64

}  // namespace

Replay::Replay(const profile::Bench& bench, const profile::Replay& profile, StimulusAt stimulus_at)
    : bench_(bench),
      profile_(profile),
      stimulus_at_(std::move(stimulus_at)),
      file_(profile.file, std::ios::binary),
      counts_(profile.overrides.size(), 0) {
  if (!file_) {
    Complain("cannot be read", "give a file that may be read");
    return;
  }
  if (!Begin()) return;
  round_begin_ns_ = FromSeconds(profile_.begin_s);
  round_from_ns_ = FromSeconds(profile_.from_s);
  ReadAhead();
  if (due_ns_ == kNever) {
    Complain(fmt::format("has no frame to be played from interface '{}'", interface_),
             "see 'from_s', 'to_s', 'instead_of', 'only' and 'without'");
  }
}

void Replay::Complain(std::string what, std::string remedy) {
  problems_.push_back({profile_.place,
                       fmt::format("the recording '{}' {}", profile_.file, std::move(what)),
                       std::move(remedy)});
}

// Looks at the recording's begin, and goes back to it.
bool Replay::Begin() {
  reader_.emplace(file_);
  if (!reader_->format()) {
    Complain(fmt::format("cannot be read: {}", reader_->damage().front().what),
             "give a candump log or a pcapng file");
    return false;
  }
  begin_ = reader_->place();
  bus::RecordedFrame frame;
  int frames = 0;
  while (frames < kLookAheadFrames && reader_->Next(frame)) {
    if (frames++ == 0) origin_ns_ = frame.t_ns < kDayNs ? 0 : frame.t_ns;
  }
  if (frames == 0) {
    Complain("has no frame that can be read", "give another");
    return false;
  }
  const std::vector<std::string>& names = reader_->interfaces();
  const auto has = [&](const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
  };
  const std::string& bus = Nth(bench_.buses, profile_.bus).name;
  interface_ = !profile_.interface.empty() ? profile_.interface : has(bus) ? bus : names.front();
  const bool is_clear = !profile_.interface.empty() || has(bus) || names.size() == 1;
  if (!is_clear || (!has(interface_) && frames < kLookAheadFrames)) {
    Complain(fmt::format("has the interfaces {}", fmt::join(names, ", ")),
             fmt::format("write 'interface' with the one to play on bus '{}'", bus));
    return false;
  }
  // A fresh reader: damage is reported when playing reaches it.
  file_.clear();
  file_.seekg(0);
  reader_.emplace(file_);
  return true;
}

const profile::Message* Replay::MessageOf(profile::FrameId id) const {
  for (const auto& message : Nth(bench_.buses, profile_.bus).messages) {
    if (message.id == id.id && message.extended == id.extended) return &message;
  }
  return nullptr;
}

bool Replay::IsPlayed() const {
  const auto& names = reader_->interfaces();
  if (Nth(names, next_.interface) != interface_) return false;
  if (InRecording() < FromSeconds(profile_.from_s) || !bus::IsValid(next_.frame)) return false;
  const profile::FrameId id{next_.frame.id, next_.frame.extended};
  const profile::Message* message = MessageOf(id);
  return profile::Plays(profile_, id,
                        message == nullptr ? std::nullopt : std::optional(message->sender));
}

// By the rule of bus/steady_time.h.
void Replay::FollowTime(std::uint64_t at) {
  const TimeNs step_ns = last_ns_ ? next_.t_ns - *last_ns_ : 0;
  last_ns_ = next_.t_ns;
  const bool set_back = bus::SetBackNs(0, step_ns) > 0;
  if (set_back) origin_ns_ += step_ns;
  if (round_ > 0) return;  // said once
  if (set_back) {
    notes_.push_back(
        fmt::format("at byte {} its clock was set back by {:.6g} s; it goes on from there", at,
                    -ToSeconds(step_ns)));
  } else if (step_ns >= kSilenceNs) {
    notes_.push_back(
        fmt::format("up to byte {} it is silent for {:.6g} s", at, ToSeconds(step_ns)));
  }
}

Replay::Found Replay::FindFrame() {
  while (reader_->Next(next_)) {
    FollowTime(reader_->frame_place().offset);
    if (profile_.to_s && InRecording() >= FromSeconds(*profile_.to_s)) return Found::kEnd;
    if (!IsPlayed()) continue;
    // The next round begins here: reading up to from_s anew would take the time of the run.
    if (round_frames_ == 0) {
      begin_ = reader_->frame_place();
      begin_origin_ns_ = origin_ns_;
    }
    return Found::kFrame;
  }
  return Found::kEnd;
}

bool Replay::Rewind() {
  last_ns_.reset();
  origin_ns_ = begin_origin_ns_;
  return reader_->JumpTo(begin_);
}

// Rounds that take no time would be played without an end before the clock goes on.
bool Replay::IsLongEnough() {
  if (due_ns_ - round_begin_ns_ + FromSeconds(profile_.pause_s) >= kShortestRoundNs) return true;
  notes_.push_back(
      "all that is played of it takes less than 1 ms, so it is not repeated; write 'pause_s'");
  return false;
}

// Finds the next frame to be played and when.
void Replay::ReadAhead() {
  if (FindFrame() == Found::kEnd) {
    if (round_ == 0 && reader_->damaged() > reader_->damage().size()) {
      notes_.push_back(fmt::format("{} damaged places in all", reader_->damaged()));
    }
    const bool again = profile_.loop && round_frames_ > 0 && IsLongEnough() && Rewind();
    if (!again || FindFrame() == Found::kEnd) {
      due_ns_ = kNever;
      return;
    }
    round_begin_ns_ = due_ns_ + FromSeconds(profile_.pause_s);
    round_from_ns_ = InRecording();
    round_frames_ = 0;
    ++round_;
  }
  ++round_frames_;
  const double since_ns = static_cast<double>(InRecording() - round_from_ns_);
  const TimeNs due_ns =
      round_begin_ns_ + std::llround(std::min(since_ns / profile_.speed, kLongestNs));
  due_ns_ = due_ns_ == kNever ? due_ns : std::max(due_ns_, due_ns);
}

void Replay::ApplyOverrides(bus::Frame& frame, TimeNs t_ns) {
  const auto& messages = Nth(bench_.buses, profile_.bus).messages;
  for (std::size_t i = 0; i < profile_.overrides.size(); ++i) {
    const profile::Override& live = profile_.overrides[i];
    const profile::Message& message = Nth(messages, live.message);
    if (!bus::Matches(message, frame)) continue;
    for (const profile::Override::Value& value : live.values) {
      // Nothing to replace where the frame has no such signal: too short, or another multiplex.
      if (!bus::Decode(message, value.signal, frame)) continue;
      const auto& signal = Nth(message.signals, value.signal);
      const auto& stimulus = Nth(bench_.stimuli, value.stimulus);
      const double given = stimulus_at_(value.stimulus, t_ns);
      const double physical = Convert(given, stimulus.unit, signal.unit).value_or(given);
      bus::InsertBits(signal, bus::BitsFor(signal, physical),
                      std::span(frame.data.data(), frame.length));
    }
    bus::Seal(message, counts_[i]++, frame);
  }
}

int Replay::NextMessage() const {
  const profile::Message* message = MessageOf({next_.frame.id, next_.frame.extended});
  if (message == nullptr) return -1;
  return static_cast<int>(message - Nth(bench_.buses, profile_.bus).messages.data());
}

bus::TimedFrame Replay::Take(TimeNs t_ns) {
  bus::TimedFrame out{t_ns, profile_.bus, true, next_.frame};
  ApplyOverrides(out.frame, t_ns);
  ReadAhead();
  return out;
}

std::string Replay::TakeNote() {
  const std::string file = std::filesystem::path(profile_.file).filename().string();
  if (!notes_.empty()) {
    std::string note = fmt::format("the recording {}: {}", file, notes_.front());
    notes_.erase(notes_.begin());
    return note;
  }
  if (!reader_ || damage_told_ >= reader_->damage().size()) return "";
  const bus::Damage& damage = reader_->damage()[damage_told_++];
  return fmt::format("the recording {} is damaged at byte {}: {}; the undamaged part is played",
                     file, damage.offset, damage.what);
}

Replays::Replays(const profile::Bench& bench, const profile::Scenario& scenario,
                 const Replay::StimulusAt& stimulus_at)
    : scenario_(scenario) {
  for (const profile::Replay& replay : scenario.replays) {
    list_.push_back(std::make_unique<Replay>(bench, replay, stimulus_at));
  }
}

TimeNs Replays::NextDue() const {
  TimeNs due_ns = kNever;
  for (const auto& replay : list_) due_ns = std::min(due_ns, replay->NextDue());
  return due_ns;
}

bool Replays::TakeDue(TimeNs t_ns, bus::TimedFrame& out, int& message) {
  const TimeNs due_ns = NextDue();
  if (due_ns > t_ns || due_ns == kNever) return false;
  for (const auto& replay : list_) {
    if (replay->NextDue() != due_ns) continue;
    message = replay->NextMessage();
    out = replay->Take(t_ns);
    return true;
  }
  return false;
}

std::string Replays::TakeNote() {
  for (const auto& replay : list_) {
    if (std::string note = replay->TakeNote(); !note.empty()) return note;
  }
  return "";
}

bool Replays::Covers(int bus, const profile::Message& message) const {
  return std::any_of(scenario_.replays.begin(), scenario_.replays.end(), [&](const auto& replay) {
    return replay.bus == bus &&
           profile::Plays(replay, {message.id, message.extended}, message.sender);
  });
}

}  // namespace drycrank::run
