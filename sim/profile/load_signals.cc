// SPDX-License-Identifier: Apache-2.0
//
// The signals of one message: their place in the frame, and that no two share a bit.
#include <fmt/format.h>

#include <algorithm>
#include <bitset>
#include <set>

#include "profile/keys_bus.h"
#include "profile/load_bench.h"
#include "profile/state_names.h"
#include "profile/table_reader.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

using Bits = std::bitset<512>;  // of the longest frame, byte * 8 + bit

// The bits a signal covers; nothing when it leaves the frame. Big-endian layouts go down within a
// byte and on to the next byte's bit 7.
std::optional<Bits> BitsOf(const Signal& signal, int length_bytes) {
  Bits bits;
  int at = signal.start_bit;
  for (int i = 0; i < signal.length_bits; ++i) {
    if (at >= length_bytes * 8) return std::nullopt;
    bits.set(AsSize(at));
    at = signal.byte_order == ByteOrder::kLittle ? at + 1 : at % 8 == 0 ? at + 15 : at - 1;
  }
  return bits;
}

std::pair<std::int64_t, std::int64_t> RawRange(const Signal& s) {
  if (s.length_bits >= 63) return {s.is_signed ? INT64_MIN : 0, INT64_MAX};
  const std::int64_t count = std::int64_t{1} << s.length_bits;
  if (s.is_signed) return {-count / 2, count / 2 - 1};
  return {0, count - 1};
}

void ReadValues(Reader& outer, Signal& s) {
  const auto [min, max] = RawRange(s);
  ReadValueNames(outer, min, max, &s.values);
}

void ReadMultiplex(Reader& r, TableReader<Signal>& t, Signal& s) {
  const bool said = t.Take("multiplex");
  const bool has_value = t.Take("multiplex_value");
  if (has_value && said && s.multiplex != Multiplex::kSelected) {
    r.Complain("multiplex_value", "only a selected signal has a 'multiplex_value'",
               "write multiplex: selected");
  }
  if (has_value) s.multiplex = Multiplex::kSelected;
  if (s.multiplex == Multiplex::kSelected && !r.Has("multiplex_value")) {
    r.Require("multiplex_value", "multiplex_value: 0");
  }
}

void ReadNotAvailable(Reader& r, Signal& s) {
  const Node* node = r.Find("not_available");
  if (node == nullptr) return;
  const auto [min, max] = RawRange(s);
  if (s.is_float) {
    return r.Complain("not_available", "a float has no raw code", "use valid_when for it");
  }
  s.not_available = ReadInt(r.problems(), *node, "'not_available' of " + r.title(), min, max);
}

// Which signal says that this one was measured: resolved when all of the message are known.
struct Validity {
  std::size_t signal = 0;
  const Node* node = nullptr;
};

// The same of a signal that may be there instead of others.
struct Alternative {
  std::size_t signal = 0;
  std::vector<Ref> others;
};
struct Later {
  std::vector<Validity> validities;
  std::vector<Alternative> alternatives;
};

void ReadAlternative(Problems& problems, const Alternative& alternative, Message& m) {
  Signal& s = m.signals[alternative.signal];
  for (const Ref& ref : alternative.others) {
    const int at = Resolve(problems, ref, NamesOf(m.signals), "signal");
    if (at < 0) continue;
    if (AsSize(at) == alternative.signal) {
      problems.Add(ref.place, fmt::format("signal '{}' instead of itself", s.name), "name another");
    } else {
      s.instead_of.push_back(at);
    }
  }
  if (s.instead_of.empty()) return;
  if (!s.carries.empty()) {
    problems.Add(s.place,
                 fmt::format("signal '{}' carries something and is instead of another", s.name),
                 "a run sends the first of them alone: let that one carry it");
  }
  if (s.multiplex == Multiplex::kSelector) {
    problems.Add(s.place, fmt::format("selector '{}' is instead of another signal", s.name),
                 "a selector's bits are its own");
  }
}

void ReadValidity(Problems& problems, const Validity& validity, Message& m) {
  Signal& s = m.signals[validity.signal];
  Reader r(problems, *validity.node, fmt::format("valid_when of signal '{}.{}'", m.name, s.name));
  KnowKeys(r, kValidWhenKeys);
  const auto ref = r.GetRef("signal");
  const Node* equals = r.Find("equals");
  if (!r.Require("signal", "signal: sync") || !ref) return;
  if (!r.Require("equals", "equals: synchronised") || equals == nullptr) return;
  const int at = Resolve(problems, *ref, NamesOf(m.signals), "signal");
  if (at < 0) return;
  if (AsSize(at) == validity.signal) {
    return r.Complain("signal", "a signal cannot say of itself that it is valid", "name another");
  }
  const auto value = ReadSignalValue(problems, *equals, "'equals'", Nth(m.signals, at));
  if (!value) return;
  s.valid_signal = at;
  s.valid_equals = *value;
}

void CheckNumbers(Reader& r, Signal& s) {
  if (s.is_float && s.length_bits != 32 && s.length_bits != 64) {
    r.Complain("length_bits", fmt::format("a float of {} bits", s.length_bits), "write 32 or 64");
  }
  if (s.scale == 0) {
    r.Complain("scale", "a scale of 0", "write what one raw step is worth");
    s.scale = 1;
  }
  if (s.min > s.max) {
    r.Complain("min", fmt::format("min {:g} is above max {:g}", s.min, s.max), "swap them");
  }
}

Signal ReadSignal(Problems& problems, const std::string& name, const Place& place, const Node& node,
                  const Message& m, Later& later) {
  Signal s;
  s.name = name;
  s.place = place;
  Reader r(problems, node, fmt::format("signal '{}.{}'", m.name, name), place);
  TableReader t(r, kSignalKeys, s);
  t.Take("unit");
  ReadMultiplex(r, t, s);
  t.TakeRest(s.unit);
  CheckNumbers(r, s);
  ReadValues(r, s);
  ReadNotAvailable(r, s);
  if (const Node* node_of = r.Find("valid_when")) {
    later.validities.push_back({m.signals.size(), node_of});
  }
  if (auto others = r.GetRefs("instead_of"); !others.empty()) {
    later.alternatives.push_back({m.signals.size(), std::move(others)});
  }
  if (!BitsOf(s, m.length_bytes)) {
    r.Complain("start_bit",
               fmt::format("{} bits from bit {} on leave the message of {} bytes", s.length_bits,
                           s.start_bit, m.length_bytes),
               s.byte_order == ByteOrder::kBig
                   ? "start_bit is the most significant bit here, byte * 8 + bit"
                   : "start_bit is the least significant bit here, byte * 8 + bit");
  }
  return s;
}

// Two signals may share bits only where never both are there.
bool NeverTogether(const Signal& a, const Signal& b) {
  return a.multiplex == Multiplex::kSelected && b.multiplex == Multiplex::kSelected &&
         a.multiplex_value != b.multiplex_value;
}

// That one is instead of the other, or both are instead of others.
bool AreAlternatives(const Message& m, std::size_t a, std::size_t b) {
  const auto& of_a = m.signals[a].instead_of;
  const auto& of_b = m.signals[b].instead_of;
  const auto has = [](const std::vector<int>& list, std::size_t at) {
    return std::ranges::find(list, static_cast<int>(at)) != list.end();
  };
  return has(of_a, b) || has(of_b, a) || (!of_a.empty() && !of_b.empty());
}

void CheckOverlaps(Problems& problems, const Message& m) {
  for (std::size_t i = 0; i < m.signals.size(); ++i) {
    const auto bits = BitsOf(m.signals[i], m.length_bytes);
    for (std::size_t j = 0; bits && j < i; ++j) {
      const auto other = BitsOf(m.signals[j], m.length_bytes);
      if (!other || NeverTogether(m.signals[i], m.signals[j]) || AreAlternatives(m, i, j)) continue;
      const Bits both = *bits & *other;
      if (both.none()) continue;
      problems.Add(
          m.signals[i].place,
          fmt::format("signals '{}' and '{}' of message '{}' share bit {}", m.signals[j].name,
                      m.signals[i].name, m.name, both._Find_first()),
          fmt::format("move one of them, or write instead_of: [{}] at {} when either may be "
                      "meant",
                      m.signals[j].name, m.signals[i].name));
      break;
    }
  }
}

void CheckMultiplex(Problems& problems, const Message& m) {
  const Signal* selector = nullptr;
  for (const Signal& s : m.signals) {
    if (s.multiplex != Multiplex::kSelector) continue;
    if (selector != nullptr) {
      problems.Add(s.place, fmt::format("message '{}' has a second selector", m.name), "keep one");
    }
    selector = &s;
  }
  for (const Signal& s : m.signals) {
    if (s.multiplex != Multiplex::kSelected) continue;
    if (selector == nullptr) {
      problems.Add(s.place, fmt::format("signal '{}' is selected, but nothing selects it", s.name),
                   "write multiplex: selector at one signal of the message");
    } else if (s.multiplex_value > RawRange(*selector).second) {
      problems.Add(
          s.place,
          fmt::format("selector '{}' never has the value {}", selector->name, s.multiplex_value),
          fmt::format("0 to {} is possible", RawRange(*selector).second));
    }
  }
}

}  // namespace

void ReadValueNames(Reader& outer, std::int64_t min, std::int64_t max,
                    std::map<std::int64_t, std::string>* into) {
  const Node* node = outer.Find("values");
  if (node == nullptr || node->kind == NodeKind::kNull) return;
  if (node->kind != NodeKind::kMap) {
    outer.problems().Add(node->Where(), std::string("'values' is ") + KindName(*node),
                         "write raw values with their names, as {0: off, 1: on}");
    return;
  }
  std::set<std::string> names;
  for (const Entry& entry : node->entries) {
    Node key;
    key.kind = NodeKind::kScalar;
    key.text = entry.key;
    key.spot = entry.key_spot;
    const auto raw = ReadInt(outer.problems(), key, "a raw value of " + outer.title(), min, max);
    const auto name = ReadRef(outer.problems(), entry.value, "the name of value " + entry.key);
    if (!raw || !name) continue;
    const bool same_raw = !into->emplace(*raw, name->text).second;
    const bool same_name = !names.insert(name->text).second;
    if (same_raw || same_name) {
      outer.problems().Add(name->place,
                           same_raw ? fmt::format("raw value {} has two names", *raw)
                                    : fmt::format("two values are named '{}'", name->text),
                           "keep one");
    }
  }
}

// A number in the signal's unit, or the name of one of its values.
std::optional<double> ReadSignalValue(Problems& problems, const Node& node, const std::string& what,
                                      const Signal& signal) {
  const StateNames& words = NamesOfValues(signal);
  if (node.kind == NodeKind::kScalar && !words.empty()) {
    std::vector<std::string> names;
    for (const auto& [raw, name] : words) {
      if (name == node.text) return static_cast<double>(raw) * signal.scale + signal.offset;
      names.push_back(name);
    }
    if (!ParseNumberWithUnit(node.text)) {
      Resolve(problems, {node.text, node.Where()}, names,
              fmt::format("value of signal '{}' named", signal.name));
      return std::nullopt;
    }
  }
  return ReadNumber(problems, node, what, {signal.unit});
}

void LoadSignals(Problems& problems, const Node* node, Message& message) {
  Later later;
  EachNamed(problems, node, "'signals'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Signal signal = ReadSignal(problems, name, place, data, message, later);
              message.signals.push_back(std::move(signal));
            });
  for (const Validity& validity : later.validities) ReadValidity(problems, validity, message);
  for (const Alternative& a : later.alternatives) ReadAlternative(problems, a, message);
  CheckOverlaps(problems, message);
  CheckMultiplex(problems, message);
}

}  // namespace drycrank::profile
