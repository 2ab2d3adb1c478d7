// SPDX-License-Identifier: Apache-2.0
//
// Faults on a bus, by the table in fault.h: which message, signal, sender or bus, and by how much.
// What nobody could notice is refused: a counter that jumps by its whole length, one byte swapped.
#include <fmt/format.h>

#include <algorithm>

#include "profile/load_scenario.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void NeedPeriod(Reader& r, const Message& message) {
  if (message.period_ms > 0) return;
  r.Complain("at", fmt::format("message '{}' has no period", message.name), "name another message");
}

// The message that a fault names; null: there is none, and what else it says is passed over.
const Message* FindMessage(const Bench& bench, Reader& r, const Ref& at) {
  const MessageRef ref = ResolveMessage(r.problems(), bench, at);
  if (ref.bus >= 0) return &MessageAt(bench, ref);
  r.PassOverOtherKeys();
  return nullptr;
}

void NeedSignal(Reader& r, const Message& message, int signal, const char* what) {
  if (signal >= 0) return;
  r.Complain("at", fmt::format("message '{}' has no {}", message.name, what),
             "name another message");
}

// False: left out, or no length that a frame can have.
bool ReadLength(Reader& r, bool fd, int& length_bytes) {
  if (!r.Get("length_bytes", &length_bytes, 0, fd ? 64 : 8)) return false;
  if (IsLegalLength(length_bytes, fd)) return true;
  r.Complain("length_bytes", fmt::format("{} bytes", length_bytes),
             "CAN FD has 0 to 8, 12, 16, 20, 24, 32, 48 and 64");
  return false;
}

}  // namespace

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::MessageMissing& /*kind*/) {
  FindMessage(bench, r, at);
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::MessageLate& kind) {
  const Message* message = FindMessage(bench, r, at);
  if (message == nullptr) return;
  r.Require("factor", "factor: 2");
  r.Get("factor", &kind.factor, {"", 0.01, 1000});
  NeedPeriod(r, *message);
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::MessageEarly& kind) {
  const Message* message = FindMessage(bench, r, at);
  if (message == nullptr) return;
  r.Require("early_ms", "early_ms: 4 ms");
  r.Get("early_ms", &kind.early_ms, {"ms", 0.001, 3.6e6});
  r.Get("every", &kind.every, 2, 1000000);
  NeedPeriod(r, *message);
  if (message->period_ms > 0 && kind.early_ms >= message->period_ms) {
    r.Complain(
        "early_ms",
        fmt::format("{:g} ms early in a period of {:g} ms", kind.early_ms, message->period_ms),
        "write less than the period");
  }
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::MessageDoubled& /*kind*/) {
  FindMessage(bench, r, at);
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::IdentifierWrong& kind) {
  const Message* message = FindMessage(bench, r, at);
  if (message == nullptr) return;
  r.Require("id", "id: 0x121");
  std::int64_t id = 0;
  if (!r.GetInt64("id", &id, 0, message->extended ? 0x1FFFFFFF : 0x7FF)) return;
  kind.id = static_cast<std::uint32_t>(id);
  if (kind.id != message->id) return;
  r.Complain("id", fmt::format("0x{:X} is the identifier of '{}'", id, message->name),
             "write another");
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::LengthWrong& kind) {
  const Message* message = FindMessage(bench, r, at);
  if (message == nullptr) return;
  r.Require("length_bytes", "length_bytes: 6");
  const bool is_legal = ReadLength(r, message->fd, kind.length_bytes);
  if (!is_legal || kind.length_bytes != message->length_bytes) return;
  r.Complain("length_bytes",
             fmt::format("{} bytes are right for '{}'", kind.length_bytes, message->name),
             "write another length");
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::BytesSwapped& /*kind*/) {
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

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::ValueFrozen& /*kind*/) {
  if (at.text.find('.') != std::string::npos) {
    ResolveSignal(r.problems(), bench, at);
  } else {
    ResolveMessage(r.problems(), bench, at);
  }
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::CounterStuck& /*kind*/) {
  const Message* message = FindMessage(bench, r, at);
  if (message != nullptr) NeedSignal(r, *message, message->counter_signal, "counter");
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::CounterJumps& kind) {
  const Message* message = FindMessage(bench, r, at);
  if (message == nullptr) return;
  r.Get("by", &kind.by, 1, 65535);
  r.Get("every", &kind.every, 1, 1000000);
  NeedSignal(r, *message, message->counter_signal, "counter");
  if (message->counter_signal < 0) return;
  const Signal& counter = Nth(message->signals, message->counter_signal);
  const int turn = 1 << counter.length_bits;  // a counter has 16 bits at most
  if (kind.by % turn != 0) return;
  r.Complain(
      "by",
      fmt::format("a counter of {} bits comes round after {} counts", counter.length_bits, turn),
      fmt::format("write 1 to {}", turn - 1));
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::ChecksumWrong& /*kind*/) {
  const Message* message = FindMessage(bench, r, at);
  if (message != nullptr) NeedSignal(r, *message, message->checksum_signal, "checksum");
}

void ReadBusFault(const Bench& /*bench*/, Reader& r, const Ref& at, fault::NodeGone& /*kind*/) {
  Resolve(r.problems(), at, SenderNames(), "sender");
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::BabblingNode& kind) {
  const int bus = Resolve(r.problems(), at, NamesOf(bench.buses), "bus");
  r.Require("id", "id: 0x001");
  r.Require("period_ms", "period_ms: 1 ms");
  r.Get("extended", &kind.extended);
  std::int64_t id = 0;
  if (r.GetInt64("id", &id, 0, kind.extended ? 0x1FFFFFFF : 0x7FF)) {
    kind.id = static_cast<std::uint32_t>(id);
  }
  ReadLength(r, false, kind.length_bytes);
  r.Get("period_ms", &kind.period_ms, {"ms", 0.05, 60000});
  if (bus < 0) return;
  for (const Message& message : Nth(bench.buses, bus).messages) {
    if (message.id != kind.id || message.extended != kind.extended || !r.Has("id")) continue;
    r.Complain("id", fmt::format("0x{:X} is the identifier of '{}'", kind.id, message.name),
               "a babbling node is a stranger: write an identifier that the bus does not have");
  }
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::ErrorFrames& kind) {
  Resolve(r.problems(), at, NamesOf(bench.buses), "bus");
  r.Require("period_ms", "period_ms: 50 ms");
  r.Get("period_ms", &kind.period_ms, {"ms", 0.05, 60000});
}

void ReadBusFault(const Bench& bench, Reader& r, const Ref& at, fault::BusOff& /*kind*/) {
  std::vector<std::string> known = SenderNames();
  for (const std::string& bus : NamesOf(bench.buses)) known.push_back(bus);
  Resolve(r.problems(), at, known, "sender or bus");
}

}  // namespace drycrank::profile
