// SPDX-License-Identifier: Apache-2.0
#include "bus/recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "bus/candump_log.h"
#include "bus/pcap.h"
#include "bus/pcapng.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::bus {

const char* Name(RecordingFormat format) {
  switch (format) {
    case RecordingFormat::kCandumpLog:
      return "candump log";
    case RecordingFormat::kPcapng:
      return "pcapng";
    case RecordingFormat::kPcap:
      return "pcap";
  }
  return "?";
}

std::optional<RecordingFormat> FormatForFile(std::string_view path) {
  if (path.ends_with(".log")) return RecordingFormat::kCandumpLog;
  if (path.ends_with(".pcapng")) return RecordingFormat::kPcapng;
  return std::nullopt;
}

int InterfaceNames::IndexOf(std::string_view name) {
  // As it stands, nearly always.
  const auto known = std::find(list_.begin(), list_.end(), name);
  if (known != list_.end()) return static_cast<int>(known - list_.begin());
  const std::string text = OneLine(name.substr(0, kMaxLength));
  const auto at = std::find(list_.begin(), list_.end(), text);
  if (at != list_.end()) return static_cast<int>(at - list_.begin());
  if (list_.size() == kMax) return -1;
  list_.push_back(text);
  return static_cast<int>(list_.size() - 1);
}

namespace {

constexpr std::size_t kHead = 4096;

// A log whose first lines are cut, damaged or a remark is known by those behind them.
bool HoldsCandumpLine(std::span<const std::uint8_t> head) {
  for (std::size_t at = 0; at < head.size();) {
    if (LooksLikeCandumpLog(head.subspan(at))) return true;
    const auto end = std::find(head.begin() + static_cast<std::ptrdiff_t>(at), head.end(), '\n');
    at = AsSize(end - head.begin()) + 1;
  }
  return false;
}

}  // namespace

RecordingReader::RecordingReader(std::istream& stream) : window_(stream) {
  const auto head = window_.Peek(kHead);
  if (LooksLikePcapng(head)) {
    format_ = RecordingFormat::kPcapng;
    decoder_ = std::make_unique<PcapngDecoder>();
  } else if (LooksLikePcap(head)) {
    format_ = RecordingFormat::kPcap;
    decoder_ = std::make_unique<PcapDecoder>();
  } else if (HoldsCandumpLine(head)) {
    format_ = RecordingFormat::kCandumpLog;
    decoder_ = std::make_unique<CandumpLogDecoder>();
  } else {
    Note({0, head.empty() ? "it is empty" : "it is not a candump log, pcapng or pcap file"});
  }
}

void RecordingReader::Note(Damage damage) {
  if (damage.offset < known_to_) return;
  ++damaged_;
  if (damage_.size() < kMaxDamageKept) damage_.push_back(std::move(damage));
}

// One frame ahead of what is given: whether a time is astray shows only behind it.
bool RecordingReader::Next(RecordedFrame& out) {
  if (!is_ahead_) is_ahead_ = Decode(ahead_[turn_]);
  while (is_ahead_) {
    const Read& now = ahead_[turn_];
    const Read& later = ahead_[turn_ ^= 1];
    is_ahead_ = Decode(ahead_[turn_]);
    const bool is_trusted = std::exchange(is_trusted_, false);
    if (is_trusted || !is_ahead_ || !IsAstray(now.frame.t_ns, later.frame.t_ns)) {
      out = now.frame;
      last_ns_ = out.t_ns;
      frame_place_ = {now.place.offset, now.place.section, true};
      return true;
    }
    const double off_s = ToSeconds(now.frame.t_ns - last_ns_.value_or(later.frame.t_ns));
    Note({now.place.offset, fmt::format("a time that is {:.6g} s off those around it", off_s)});
  }
  return false;
}

bool RecordingReader::IsAstray(TimeNs t_ns, TimeNs after_ns) const {
  if (!last_ns_) return t_ns > after_ns && t_ns - after_ns > kAstrayNs;
  const auto is_near = [](TimeNs one_ns, TimeNs other_ns) {
    return one_ns - other_ns <= kAstrayNs && other_ns - one_ns <= kAstrayNs;
  };
  // A pause, or a clock that was set: nothing tells which of the three is wrong.
  if (!is_near(after_ns, *last_ns_)) return false;
  return !is_near(t_ns, after_ns) && !is_near(t_ns, *last_ns_);
}

bool RecordingReader::Decode(Read& out) {
  while (decoder_ != nullptr) {
    Damage damage;
    out.place = {window_.offset(), decoder_->section(), false};
    switch (decoder_->Next(window_, out.frame, damage)) {
      case RecordingDecoder::Step::kFrame:
        return true;
      case RecordingDecoder::Step::kPassedOver:
        ++passed_over_;
        break;
      case RecordingDecoder::Step::kDamage:
        Note(std::move(damage));
        break;
      case RecordingDecoder::Step::kEnd:
        return false;
    }
  }
  return false;
}

const std::vector<std::string>& RecordingReader::interfaces() const {
  static const std::vector<std::string> none;
  return decoder_ ? decoder_->interfaces().list() : none;
}

RecordingReader::Place RecordingReader::place() const {
  if (is_ahead_) return ahead_[turn_].place;
  return {window_.offset(), decoder_ ? decoder_->section() : 0, false};
}

bool RecordingReader::JumpTo(const Place& place) {
  known_to_ = std::max(known_to_, window_.offset());
  is_ahead_ = false;
  is_trusted_ = place.was_given;
  last_ns_.reset();
  if (decoder_) decoder_->SetSection(place.section, place.was_given);
  return window_.JumpTo(place.offset);
}

}  // namespace drycrank::bus
