// SPDX-License-Identifier: Apache-2.0
#include "bus/recording.h"

#include <algorithm>

#include "bus/candump_log.h"
#include "bus/pcap.h"
#include "bus/pcapng.h"
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
  const std::string text = OneLine(name.substr(0, kMaxLength));
  const auto at = std::find(list_.begin(), list_.end(), text);
  if (at != list_.end()) return static_cast<int>(at - list_.begin());
  if (list_.size() == kMax) return -1;
  list_.push_back(text);
  return static_cast<int>(list_.size() - 1);
}

RecordingReader::RecordingReader(std::istream& stream) : window_(stream) {
  const auto head = window_.Peek(64);
  if (LooksLikePcapng(head)) {
    format_ = RecordingFormat::kPcapng;
    decoder_ = std::make_unique<PcapngDecoder>();
  } else if (LooksLikePcap(head)) {
    format_ = RecordingFormat::kPcap;
    decoder_ = std::make_unique<PcapDecoder>();
  } else if (LooksLikeCandumpLog(head)) {
    format_ = RecordingFormat::kCandumpLog;
    decoder_ = std::make_unique<CandumpLogDecoder>();
  } else {
    Note({0, head.empty() ? "it is empty" : "it is not a candump log, pcapng or pcap file"});
  }
}

void RecordingReader::Note(Damage damage) {
  ++damaged_;
  if (damage_.size() < kMaxDamageKept) damage_.push_back(std::move(damage));
}

bool RecordingReader::Next(RecordedFrame& out) {
  while (decoder_ != nullptr) {
    Damage damage;
    switch (decoder_->Next(window_, out, damage)) {
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
  return {window_.offset(), decoder_ ? decoder_->section() : 0};
}

bool RecordingReader::JumpTo(const Place& place) {
  if (decoder_) decoder_->SetSection(place.section);
  return window_.JumpTo(place.offset);
}

}  // namespace drycrank::bus
