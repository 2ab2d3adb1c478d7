// SPDX-License-Identifier: Apache-2.0
//
// Buses and their messages.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "profile/keys_bus.h"
#include "profile/load_bench.h"
#include "profile/spread_phases.h"
#include "profile/table_reader.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

// Lengths of a CAN FD data field, ISO 11898-1: up to 8 each, then these.
constexpr int kFdLengths[] = {12, 16, 20, 24, 32, 48, 64};

void ReadId(Reader& r, Message& m) {
  std::int64_t id = 0;
  const Node* node = r.Find("id");
  if (node == nullptr) return;
  const std::int64_t max = m.extended ? kMaxId29 : kMaxId11;
  const auto read = ReadInt(r.problems(), *node, "'id'", 0, 0xFFFFFFFF);
  if (read && *read > max) {
    r.problems().Add(node->Where(),
                     fmt::format("id 0x{:X} has more than {} bits", *read, m.extended ? 29 : 11),
                     m.extended ? "0 to 0x1FFFFFFF is possible"
                                : "0 to 0x7FF is possible; for 29 bits add 'extended: true'");
    return;
  }
  id = read.value_or(0);
  m.id = static_cast<std::uint32_t>(id);
}

void CheckLength(Reader& r, const Message& m) {
  if (m.bit_rate_switch && !m.fd) {
    r.Complain("bit_rate_switch", "only CAN FD frames switch the bit rate", "add 'fd: true'");
  }
  if (m.length_bytes <= 8) return;
  if (!m.fd) {
    r.Complain("length_bytes", fmt::format("{} bytes", m.length_bytes),
               "0 to 8 is possible; for more add 'fd: true'");
  } else if (!IsLegalLength(m.length_bytes, true)) {
    r.Complain("length_bytes", fmt::format("{} bytes", m.length_bytes),
               "CAN FD has 0 to 8, 12, 16, 20, 24, 32, 48 and 64");
  }
}

void ReadCounter(Reader& r, Message& m) {
  const auto ref = r.GetRef("counter");
  if (!ref) return;
  m.counter_signal = Resolve(r.problems(), *ref, NamesOf(m.signals), "signal");
  if (m.counter_signal < 0) return;
  const Signal& signal = Nth(m.signals, m.counter_signal);
  if (signal.is_float || signal.is_signed || signal.length_bits > 16 || !signal.carries.empty()) {
    r.Complain("counter", fmt::format("signal '{}' cannot be a counter", signal.name),
               "a counter is unsigned, of 1 to 16 bits, and carries nothing else");
  }
}

void ReadChecksum(Reader& outer, Message& m) {
  const Node* node = outer.Find("checksum");
  if (node == nullptr) return;
  Reader r(outer.problems(), *node, "checksum of " + outer.title());
  TakeAll(r, kChecksumKeys, m);
  const auto ref = r.GetRef("signal");
  if (!ref) return;
  m.checksum_signal = Resolve(r.problems(), *ref, NamesOf(m.signals), "signal");
  if (m.checksum_signal < 0) return;
  const Signal& signal = Nth(m.signals, m.checksum_signal);
  const int first_bit = signal.byte_order == ByteOrder::kLittle ? 0 : 7;
  if (signal.length_bits != 8 || signal.start_bit % 8 != first_bit || signal.is_signed ||
      !signal.carries.empty()) {
    r.Complain("signal", fmt::format("signal '{}' cannot be a checksum", signal.name),
               "a checksum fills one byte, is unsigned and carries nothing else");
  }
  if (m.checksum_signal == m.counter_signal) {
    r.Complain("signal", fmt::format("signal '{}' is the counter too", signal.name),
               "name another");
  }
}

void CheckIds(BenchContext& c, const Bus& bus) {
  std::map<std::pair<std::uint32_t, bool>, const Message*> ids;
  for (const Message& message : bus.messages) {
    const auto [first, is_new] = ids.emplace(std::pair(message.id, message.extended), &message);
    if (is_new) continue;
    c.problems.Add(message.place,
                   fmt::format("messages '{}' and '{}' have the same id 0x{:X}",
                               first->second->name, message.name, message.id),
                   "give each message of a bus its own");
  }
}

BusNode LoadBusNode(BenchContext& c, const std::string& name, const Place& place,
                    const Node& node) {
  BusNode bus_node;
  bus_node.name = name;
  bus_node.place = place;
  Reader r(c.problems, node, fmt::format("bus node '{}'", name), place);
  TakeAll(r, kBusNodeKeys, bus_node, &c);
  return bus_node;
}

void LoadBus(BenchContext& c, const std::string& name, const Place& place, const Node& node) {
  Bus bus;
  bus.name = name;
  bus.place = place;
  Reader r(c.problems, node, fmt::format("bus '{}'", name), place);
  TakeAll(r, kBusKeys, bus);
  EachNamed(c.problems, r.Find("messages"), "'messages'",
            [&](const std::string& message, const Place& at, const Node& data) {
              const MessageRef other = FindMessage(c.bench, message);
              if (other.bus >= 0) {
                c.problems.Add(at,
                               fmt::format("bus '{}' has a message '{}' too",
                                           Nth(c.bench.buses, other.bus).name, message),
                               "message names are unique over all buses");
              }
              bus.messages.push_back(LoadMessage(c.problems, message, at, data));
              if (data.Find("phase_ms") == nullptr) bus.messages.back().phase_ms = kPhaseNotGiven;
            });
  SpreadPhases(bus.messages);
  CheckIds(c, bus);
  EachNamed(c.problems, r.Find("nodes"), "'nodes'",
            [&](const std::string& node_name, const Place& at, const Node& data) {
              bus.nodes.push_back(LoadBusNode(c, node_name, at, data));
            });
  c.bench.buses.push_back(std::move(bus));
}

}  // namespace

bool IsLegalLength(int length_bytes, bool fd) {
  if (length_bytes >= 0 && length_bytes <= 8) return true;
  return fd && std::find(std::begin(kFdLengths), std::end(kFdLengths), length_bytes) !=
                   std::end(kFdLengths);
}

Message LoadMessage(Problems& problems, const std::string& name, const Place& place,
                    const Node& node) {
  Message m;
  m.name = name;
  m.place = place;
  Reader r(problems, node, fmt::format("message '{}'", name), place);
  TakeAll(r, kMessageKeys, m);
  ReadId(r, m);
  CheckLength(r, m);
  const int sender = r.WordIndex("sender", SenderNames());
  if (sender >= 0) m.sender = static_cast<Sender>(sender);
  if (m.period_ms > 0 && m.period_ms < 1) {
    r.Complain("period_ms", fmt::format("a period of {:g} ms", m.period_ms),
               "1 ms or longer, or 0: sent when a value changes");
  }
  if (m.phase_ms > 0 && m.phase_ms >= m.period_ms) {
    r.Complain("phase_ms",
               fmt::format("a phase of {:g} ms in a period of {:g} ms", m.phase_ms, m.period_ms),
               "write less than the period");
  }
  LoadSignals(problems, r.Find("signals"), m);
  ReadCounter(r, m);
  ReadChecksum(r, m);
  return m;
}

void LoadBuses(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'buses'",
            [&](const std::string& name, const Place& place, const Node& data) {
              LoadBus(c, name, place, data);
            });
  std::size_t messages = 0;
  for (const Bus& bus : c.bench.buses) messages += bus.messages.size();
  if (c.bench.buses.size() > kMaxBuses || messages > kMaxMessages) {
    c.problems.Add(node->Where(),
                   fmt::format("{} buses with {} messages", c.bench.buses.size(), messages),
                   fmt::format("at most {} buses and {} messages", kMaxBuses, kMaxMessages));
  }
}

}  // namespace drycrank::profile
