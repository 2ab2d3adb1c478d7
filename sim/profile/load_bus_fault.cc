// SPDX-License-Identifier: Apache-2.0
//
// Faults on a bus, by the table in fault.h: which message, signal, sender or bus, and by how much.
// What nobody could notice is refused: a counter that jumps by its whole length, one byte swapped.
#include <fmt/format.h>

#include <algorithm>

#include "profile/key.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void NeedPeriod(Rows& rows, const Message& message) {
  if (message.period_ms > 0) return;
  rows->Complain("at", fmt::format("message '{}' has no period", message.name),
                 "name another message");
}

// The message that a fault names; null: there is none, and what else it says is passed over.
const Message* FindMessage(const Bench& bench, Rows& rows, const Ref& at) {
  const MessageRef ref = ResolveMessage(rows->problems(), bench, at);
  if (ref.bus >= 0) return &MessageAt(bench, ref);
  rows->PassOverOtherKeys();
  return nullptr;
}

void NeedSignal(Rows& rows, const Message& message, int signal, const char* what) {
  if (signal >= 0) return;
  rows->Complain("at", fmt::format("message '{}' has no {}", message.name, what),
                 "name another message");
}

// False: left out, or no length that a frame can have.
bool ReadLength(Rows& rows, bool fd, int& length_bytes) {
  if (!rows.TakeWhole("length_bytes", &length_bytes, fd ? 64 : 8)) return false;
  if (IsLegalLength(length_bytes, fd)) return true;
  rows->Complain("length_bytes", fmt::format("{} bytes", length_bytes),
                 "CAN FD has 0 to 8, 12, 16, 20, 24, 32, 48 and 64");
  return false;
}

}  // namespace

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageMissing& /*kind*/) {
  FindMessage(bench, rows, at);
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageLate& kind) {
  const Message* message = FindMessage(bench, rows, at);
  if (message == nullptr) return;
  if (rows.Take("factor", &kind.factor) && kind.factor == 1) {
    rows->Complain("factor", "a size that changes nothing",
                   "write another, or leave the fault out");
  }
  NeedPeriod(rows, *message);
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageEarly& kind) {
  const Message* message = FindMessage(bench, rows, at);
  if (message == nullptr) return;
  rows.Take("early_ms", &kind.early_ms);
  rows.Take("every", &kind.every);
  NeedPeriod(rows, *message);
  if (message->period_ms > 0 && kind.early_ms >= message->period_ms) {
    rows->Complain(
        "early_ms",
        fmt::format("{:g} ms early in a period of {:g} ms", kind.early_ms, message->period_ms),
        "write less than the period");
  }
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageDoubled& /*kind*/) {
  FindMessage(bench, rows, at);
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::IdentifierWrong& kind) {
  const Message* message = FindMessage(bench, rows, at);
  if (message == nullptr) return;
  if (!rows.TakeWhole("id", &kind.id, message->extended ? kMaxId29 : kMaxId11)) return;
  if (kind.id != message->id) return;
  rows->Complain("id", fmt::format("0x{:X} is the identifier of '{}'", kind.id, message->name),
                 "write another");
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::LengthWrong& kind) {
  const Message* message = FindMessage(bench, rows, at);
  if (message == nullptr) return;
  rows.Need("length_bytes");
  const bool is_legal = ReadLength(rows, message->fd, kind.length_bytes);
  if (!is_legal || kind.length_bytes != message->length_bytes) return;
  rows->Complain("length_bytes",
                 fmt::format("{} bytes are right for '{}'", kind.length_bytes, message->name),
                 "write another length");
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BytesSwapped& /*kind*/) {
  const SignalRef ref = ResolveSignal(rows->problems(), bench, at);
  if (ref.signal < 0) return;
  const Signal& signal = SignalAt(bench, ref);
  const int first_bit = signal.byte_order == ByteOrder::kLittle ? 0 : 7;
  if (signal.length_bits >= 16 && signal.length_bits % 8 == 0 &&
      signal.start_bit % 8 == first_bit) {
    return;
  }
  rows->Complain("at", fmt::format("signal '{}' does not fill two or more bytes", at.text),
                 "name one that does");
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ValueFrozen& /*kind*/) {
  if (at.text.find('.') != std::string::npos) {
    ResolveSignal(rows->problems(), bench, at);
  } else {
    ResolveMessage(rows->problems(), bench, at);
  }
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::CounterStuck& /*kind*/) {
  const Message* message = FindMessage(bench, rows, at);
  if (message != nullptr) NeedSignal(rows, *message, message->counter_signal, "counter");
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::CounterJumps& kind) {
  const Message* message = FindMessage(bench, rows, at);
  if (message == nullptr) return;
  rows.Take("by", &kind.by);
  rows.Take("every", &kind.every);
  NeedSignal(rows, *message, message->counter_signal, "counter");
  if (message->counter_signal < 0) return;
  const Signal& counter = Nth(message->signals, message->counter_signal);
  const int turn = 1 << counter.length_bits;  // a counter has 16 bits at most
  if (kind.by % turn != 0) return;
  rows->Complain(
      "by",
      fmt::format("a counter of {} bits comes round after {} counts", counter.length_bits, turn),
      fmt::format("write 1 to {}", turn - 1));
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ChecksumWrong& /*kind*/) {
  const Message* message = FindMessage(bench, rows, at);
  if (message != nullptr) NeedSignal(rows, *message, message->checksum_signal, "checksum");
}

void ReadBusFault(const Bench& /*bench*/, Rows& rows, const Ref& at, fault::NodeGone& /*kind*/) {
  Resolve(rows->problems(), at, SenderNames(), "sender");
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BabblingNode& kind) {
  const int bus = Resolve(rows->problems(), at, NamesOf(bench.buses), "bus");
  rows.Need("id");
  rows.Need("period_ms");
  rows.Take("extended", &kind.extended);
  rows.TakeWhole("id", &kind.id, kind.extended ? kMaxId29 : kMaxId11);
  ReadLength(rows, false, kind.length_bytes);
  rows.Take("period_ms", &kind.period_ms);
  if (bus < 0) return;
  for (const Message& message : Nth(bench.buses, bus).messages) {
    if (message.id != kind.id || message.extended != kind.extended || !rows->Has("id")) continue;
    rows->Complain("id", fmt::format("0x{:X} is the identifier of '{}'", kind.id, message.name),
                   "a babbling node is a stranger: write an identifier that the bus does not have");
  }
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ErrorFrames& kind) {
  Resolve(rows->problems(), at, NamesOf(bench.buses), "bus");
  rows.Take("period_ms", &kind.period_ms);
}

void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BusOff& /*kind*/) {
  std::vector<std::string> known = SenderNames();
  for (const std::string& bus : NamesOf(bench.buses)) known.push_back(bus);
  Resolve(rows->problems(), at, known, "sender or bus");
}

}  // namespace drycrank::profile
