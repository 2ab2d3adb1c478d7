// SPDX-License-Identifier: Apache-2.0
#include "run/bus_fault.h"

#include <algorithm>

namespace drycrank::run {
namespace {

namespace fault = profile::fault;
using profile::Fault;

constexpr int kErrorsToBusOff = 32;  // 32 * 8 > 255

// An error report as SocketCAN has it (linux/can/error.h): class protocol violation and bus error,
// 8 bytes, byte 2 the kind of violation: bit stuffing.
bus::Frame ErrorReport() {
  bus::Frame frame;
  frame.error = true;
  frame.id = 0x088;
  frame.length = 8;
  frame.data[2] = 0x04;
  return frame;
}

bus::Frame Strange(const fault::BabblingNode& node) {
  bus::Frame frame;
  frame.id = node.id;
  frame.extended = node.extended;
  frame.length = static_cast<std::uint8_t>(node.length_bytes);
  return frame;
}

// Same bytes, other order: a signal of whole bytes begins at bit 0 of its first byte when little,
// at bit 7 when big.
void SwapBytes(profile::Signal& signal) {
  const bool little = signal.byte_order == profile::ByteOrder::kLittle;
  signal.byte_order = little ? profile::ByteOrder::kBig : profile::ByteOrder::kLittle;
  signal.start_bit += little ? 7 : -7;
}

bool Contains(std::span<const Fault* const> faults, const Fault* fault) {
  return std::find(faults.begin(), faults.end(), fault) != faults.end();
}

bool SendsOn(const profile::Bus& bus, std::string_view sender) {
  return std::any_of(bus.messages.begin(), bus.messages.end(),
                     [&](const profile::Message& m) { return Name(m.sender) == sender; });
}

}  // namespace

std::optional<profile::Message> AsSent(const profile::Message& message,
                                       std::span<const Fault* const> faults) {
  std::optional<profile::Message> sent;
  const auto edited = [&]() -> profile::Message& { return sent ? *sent : sent.emplace(message); };
  for (const Fault* fault : faults) {
    const bool whole = fault->at == message.name;
    if (const auto* wrong = fault->As<fault::IdentifierWrong>(); wrong && whole) {
      edited().id = wrong->id;
    } else if (const auto* cut = fault->As<fault::LengthWrong>(); cut && whole) {
      edited().length_bytes = cut->length_bytes;
    } else if (fault->Is<fault::BytesSwapped>()) {
      for (std::size_t i = 0; i < message.signals.size(); ++i) {
        if (fault->at == message.name + "." + message.signals[i].name) {
          SwapBytes(edited().signals[i]);
        }
      }
    }
  }
  return sent;
}

double BitsPerSecond(const Fault& fault, const profile::Bus& bus) {
  if (fault.at != bus.name) return 0;
  if (const auto* errors = fault.As<fault::ErrorFrames>()) return 17 * 1000 / errors->period_ms;
  const auto* node = fault.As<fault::BabblingNode>();
  if (node == nullptr) return 0;
  const double bits = (node->extended ? 67 : 47) + 8.0 * node->length_bytes;
  return bits * 1000 / node->period_ms;
}

bool IsAbsent(const Fault& fault, profile::Sender sender) {
  return (fault.Is<fault::NodeGone>() || fault.Is<fault::BusOff>()) && fault.at == Name(sender);
}

bool BusFaults::IsAbsent(profile::Sender sender) const {
  return std::any_of(in_force_.begin(), in_force_.end(),
                     [&](const Fault* fault) { return run::IsAbsent(*fault, sender); });
}

void BusFaults::AddErrors(const Fault& fault, int bus, TimeNs t_ns, TimeNs period_ns, int count) {
  sources_.push_back({&fault, bus, ErrorReport(), t_ns, period_ns, count});
}

void BusFaults::Begin(const Fault& fault, TimeNs t_ns) {
  const int bus = profile::IndexOf(bench_.buses, fault.at);
  if (const auto* node = fault.As<fault::BabblingNode>(); node && bus >= 0) {
    sources_.push_back({&fault, bus, Strange(*node), t_ns, FromMs(node->period_ms), -1});
  } else if (const auto* errors = fault.As<fault::ErrorFrames>(); errors && bus >= 0) {
    AddErrors(fault, bus, t_ns, FromMs(errors->period_ms), -1);
  } else if (fault.Is<fault::BusOff>()) {
    for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
      if (!SendsOn(bench_.buses[b], fault.at)) continue;
      // A failed attempt and its error frame take about a hundred bit times.
      const TimeNs attempt_ns = FromSeconds(100 / bench_.buses[b].bitrate_bps);
      AddErrors(fault, static_cast<int>(b), t_ns, attempt_ns, kErrorsToBusOff);
    }
  }
}

void BusFaults::SetFaults(std::span<const Fault* const> faults, TimeNs t_ns) {
  std::erase_if(sources_, [&](const Source& s) { return !Contains(faults, s.fault); });
  for (const Fault* fault : faults) {
    if (!Contains(in_force_, fault)) Begin(*fault, t_ns);
  }
  in_force_.assign(faults.begin(), faults.end());
  for (std::size_t b = 0; b < off_.size(); ++b) {
    off_[b] = std::any_of(faults.begin(), faults.end(), [&](const Fault* fault) {
      return fault->Is<fault::BusOff>() && fault->at == bench_.buses[b].name;
    });
  }
}

TimeNs BusFaults::NextDue() const {
  TimeNs due_ns = kNever;
  for (const Source& source : sources_) {
    if (source.left != 0) due_ns = std::min(due_ns, source.next_ns);
  }
  return due_ns;
}

bool BusFaults::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  for (Source& source : sources_) {
    if (source.left == 0 || source.next_ns > t_ns) continue;
    source.next_ns += ((t_ns - source.next_ns) / source.period_ns + 1) * source.period_ns;
    if (source.left > 0) --source.left;
    out = {t_ns, source.bus, !source.frame.error, source.frame};
    return true;
  }
  return false;
}

}  // namespace drycrank::run
