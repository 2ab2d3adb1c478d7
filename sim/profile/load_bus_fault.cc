// SPDX-License-Identifier: Apache-2.0
//
// Faults on a bus, by the table in fault.h: which message, signal, sender or bus, and by how much.
// What nobody could notice is refused: a counter that jumps by its whole length, one byte swapped.
#include <fmt/format.h>

#include <algorithm>

#include "profile/load_scenario.h"

namespace drycrank::profile {
namespace {

const std::vector<std::string> kSenders = {"simulator", "controller", "display"};

void NeedPeriod(Reader& r, const Message& message) {
  if (message.period_ms > 0) return;
  r.Complain("at", fmt::format("message '{}' has no period", message.name), "name another message");
}

void ReadLate(Reader& r, const Message& message, Fault& fault) {
  r.Require("factor", "factor: 2");
  r.Get("factor", &fault.factor, {"", 0.01, 1000});
  NeedPeriod(r, message);
}

void ReadEarly(Reader& r, const Message& message, Fault& fault) {
  r.Require("early_ms", "early_ms: 4 ms");
  r.Get("early_ms", &fault.early_ms, {"ms", 0.001, 3.6e6});
  r.Get("every", &fault.every, 2, 1000000);
  NeedPeriod(r, message);
  if (message.period_ms > 0 && fault.early_ms >= message.period_ms) {
    r.Complain(
        "early_ms",
        fmt::format("{:g} ms early in a period of {:g} ms", fault.early_ms, message.period_ms),
        "write less than the period");
  }
}

void ReadIdentifier(Reader& r, const Message& message, Fault& fault) {
  r.Require("id", "id: 0x121");
  std::int64_t id = 0;
  if (!r.GetInt64("id", &id, 0, message.extended ? 0x1FFFFFFF : 0x7FF)) return;
  fault.id = static_cast<std::uint32_t>(id);
  if (fault.id != message.id) return;
  r.Complain("id", fmt::format("0x{:X} is the identifier of '{}'", id, message.name),
             "write another");
}

// False: left out, or no length that a frame can have.
bool ReadLength(Reader& r, bool fd, Fault& fault) {
  if (!r.Get("length_bytes", &fault.length_bytes, 0, fd ? 64 : 8)) return false;
  if (IsLegalLength(fault.length_bytes, fd)) return true;
  r.Complain("length_bytes", fmt::format("{} bytes", fault.length_bytes),
             "CAN FD has 0 to 8, 12, 16, 20, 24, 32, 48 and 64");
  return false;
}

void ReadWrongLength(Reader& r, const Message& message, Fault& fault) {
  r.Require("length_bytes", "length_bytes: 6");
  if (!ReadLength(r, message.fd, fault) || fault.length_bytes != message.length_bytes) return;
  r.Complain("length_bytes",
             fmt::format("{} bytes are right for '{}'", fault.length_bytes, message.name),
             "write another length");
}

void ReadJump(Reader& r, const Message& message, Fault& fault) {
  r.Get("by", &fault.by, 1, 65535);
  r.Get("every", &fault.every, 1, 1000000);
  if (message.counter_signal < 0) {
    r.Complain("at", fmt::format("message '{}' has no counter", message.name),
               "name another message");
    return;
  }
  const Signal& counter = message.signals[static_cast<std::size_t>(message.counter_signal)];
  const int turn = 1 << counter.length_bits;  // a counter has 16 bits at most
  if (fault.by % turn != 0) return;
  r.Complain(
      "by",
      fmt::format("a counter of {} bits comes round after {} counts", counter.length_bits, turn),
      fmt::format("write 1 to {}", turn - 1));
}

void ReadMessageFault(const Bench& bench, Reader& r, const Ref& at, Fault& fault) {
  const MessageRef ref = ResolveMessage(r.problems(), bench, at);
  if (ref.bus < 0) return r.PassOverOtherKeys();
  const Message& message = MessageAt(bench, ref);
  const auto lacks = [&](bool has, const char* what) {
    if (has) return;
    r.Complain("at", fmt::format("message '{}' has no {}", message.name, what),
               "name another message");
  };
  if (fault.kind == FaultKind::kMessageLate) ReadLate(r, message, fault);
  if (fault.kind == FaultKind::kMessageEarly) ReadEarly(r, message, fault);
  if (fault.kind == FaultKind::kIdentifierWrong) ReadIdentifier(r, message, fault);
  if (fault.kind == FaultKind::kLengthWrong) ReadWrongLength(r, message, fault);
  if (fault.kind == FaultKind::kCounterJumps) ReadJump(r, message, fault);
  if (fault.kind == FaultKind::kCounterStuck) lacks(message.counter_signal >= 0, "counter");
  if (fault.kind == FaultKind::kChecksumWrong) lacks(message.checksum_signal >= 0, "checksum");
}

void ReadSwapped(const Bench& bench, Reader& r, const Ref& at) {
  const SignalRef ref = ResolveSignal(r.problems(), bench, at);
  if (ref.signal < 0) return;
  const Signal& signal = SignalAt(bench, ref);
  const int first_bit = signal.byte_order == ByteOrder::kLittle ? 0 : 7;
  if (signal.length_bits >= 16 && signal.length_bits % 8 == 0 &&
      signal.start_bit % 8 == first_bit) {
    return;
  }
  r.Complain("at", fmt::format("signal '{}' does not fill two or more bytes", at.text),
             "name one that does");
}

void ReadSender(Reader& r, const Ref& at) { Resolve(r.problems(), at, kSenders, "sender"); }

void ReadBabbling(const Bench& bench, Reader& r, const Ref& at, Fault& fault) {
  const int bus = Resolve(r.problems(), at, NamesOf(bench.buses), "bus");
  r.Require("id", "id: 0x001");
  r.Require("period_ms", "period_ms: 1 ms");
  r.Get("extended", &fault.extended);
  std::int64_t id = 0;
  if (r.GetInt64("id", &id, 0, fault.extended ? 0x1FFFFFFF : 0x7FF)) {
    fault.id = static_cast<std::uint32_t>(id);
  }
  ReadLength(r, false, fault);
  r.Get("period_ms", &fault.period_ms, {"ms", 0.05, 60000});
  if (bus < 0) return;
  for (const Message& message : bench.buses[static_cast<std::size_t>(bus)].messages) {
    if (message.id != fault.id || message.extended != fault.extended || !r.Has("id")) continue;
    r.Complain("id", fmt::format("0x{:X} is the identifier of '{}'", fault.id, message.name),
               "a babbling node is a stranger: write an identifier that the bus does not have");
  }
}

void ReadErrors(const Bench& bench, Reader& r, const Ref& at, Fault& fault) {
  Resolve(r.problems(), at, NamesOf(bench.buses), "bus");
  r.Require("period_ms", "period_ms: 50 ms");
  r.Get("period_ms", &fault.period_ms, {"ms", 0.05, 60000});
}

}  // namespace

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, Fault& fault) {
  switch (fault.kind) {
    case FaultKind::kBytesSwapped:
      return ReadSwapped(bench, r, at);
    case FaultKind::kValueFrozen:
      if (at.text.find('.') != std::string::npos) {
        ResolveSignal(r.problems(), bench, at);
      } else {
        ResolveMessage(r.problems(), bench, at);
      }
      return;
    case FaultKind::kNodeGone:
      return ReadSender(r, at);
    case FaultKind::kBusOff: {
      std::vector<std::string> known = kSenders;
      for (const std::string& bus : NamesOf(bench.buses)) known.push_back(bus);
      Resolve(r.problems(), at, known, "sender or bus");
      return;
    }
    case FaultKind::kBabblingNode:
      return ReadBabbling(bench, r, at, fault);
    case FaultKind::kErrorFrames:
      return ReadErrors(bench, r, at, fault);
    default:
      return ReadMessageFault(bench, r, at, fault);
  }
}

}  // namespace drycrank::profile
