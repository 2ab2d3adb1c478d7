// SPDX-License-Identifier: Apache-2.0
#include "profile/fault_relay.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <variant>

#include "profile/output_device.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

// What a relay can do to a wire, and what it needs beside its place.
struct Kind {
  std::string_view word;
  bool has_with, needs_ohm, meets_a_rail;
};
constexpr Kind kKinds[] = {{fault::Open::kWord, false, false, false},
                           {fault::SeriesResistance::kWord, false, true, false},
                           {fault::ShortTogether::kWord, true, false, false},
                           {fault::ShortToGround::kWord, false, false, true},
                           {fault::ShortToSupply::kWord, false, false, true}};
constexpr double kMostFuseA = 3;  // of a wire of 0.35 mm2; common practice, no source
constexpr double kLeastOhm = 1;  // that takes the place of a fuse

const Kind* KindOf(std::string_view word) {
  const auto* const at = std::ranges::find(kKinds, word, &Kind::word);
  return at == std::end(kKinds) ? nullptr : at;
}

std::string TakeWord(std::string_view& text) {
  const auto begin = std::min(text.find_first_not_of(' '), text.size());
  const auto end = std::min(text.find(' ', begin), text.size());
  const std::string word(text.substr(begin, end - begin));
  text = text.substr(end);
  return word;
}

// "1 kohm", "fuse 1 A", both, or nothing. False: something else.
bool TakeSize(std::string_view text, RelayFault& fault) {
  if (const auto fuse = text.find("fuse "); fuse != std::string_view::npos) {
    const auto amperes = ParseNumberWithUnit(text.substr(fuse + 5));
    if (!amperes || amperes->value <= 0 || !Convert(amperes->value, amperes->unit, "A")) return false;
    fault.has_fuse = true;
    fault.fuse_a = *Convert(amperes->value, amperes->unit, "A");
    text = text.substr(0, fuse);
  }
  const auto begin = text.find_first_not_of(' ');
  if (begin == std::string_view::npos) return true;
  const auto number = ParseNumberWithUnit(text.substr(begin));
  const auto ohm = number && !number->unit.empty() ? Convert(number->value, number->unit, "ohm") : std::nullopt;
  if (!ohm || *ohm < 0) return false;
  fault.ohm = *ohm;
  return true;
}

double OhmOf(const Fault& fault) {
  return std::visit(
      [](const auto& kind) {
        if constexpr (requires { kind.ohm; })
          return static_cast<double>(kind.ohm);
        else
          return 0.0;
      },
      fault.kind);
}

const char* WordOf(const Fault& fault) {
  return std::visit([](const auto& kind) { return std::decay_t<decltype(kind)>::kWord; }, fault.kind);
}

bool IsSameSize(double a, double b) { return std::abs(a - b) <= kRelayOhm * std::max(a, b); }

}  // namespace

std::optional<RelayFault> ParseRelayFault(std::string_view name, std::string& why) {
  RelayFault fault;
  std::string_view rest = name;
  fault.kind = TakeWord(rest);
  const Kind* kind = KindOf(fault.kind);
  if (kind == nullptr) {
    why = fmt::format("'{}' is no fault that a relay puts in", fault.kind);
    return std::nullopt;
  }
  fault.at = TakeWord(rest);
  if (kind->has_with) fault.with = TakeWord(rest);
  if (fault.at.empty() || (kind->has_with && fault.with.empty())) {
    why = fmt::format("'{}' lacks a terminal", name);
    return std::nullopt;
  }
  if (fault.at == fault.with) {
    why = fmt::format("'{}' names the same terminal twice", name);
    return std::nullopt;
  }
  if (!TakeSize(rest, fault)) {
    why = fmt::format("'{}' has no resistance or fuse that can be read", name);
    return std::nullopt;
  }
  if (kind->needs_ohm && fault.ohm <= 0) {
    why = fmt::format("'{}' has no resistance", name);
    return std::nullopt;
  }
  if (kind->meets_a_rail && fault.ohm < kLeastOhm && !fault.has_fuse) {
    why = fmt::format("'{}' has neither fuse nor resistor", name);
    return std::nullopt;
  }
  if (fault.fuse_a > kMostFuseA) {
    why = fmt::format("'{}' has a fuse of more than {:g} A, and the wire burns", name, kMostFuseA);
    return std::nullopt;
  }
  return fault;
}

bool PutsInTheSame(const OutputChannel& relay, const OutputChannel& other) {
  if (!IsFaultRelay(relay) || !IsFaultRelay(other)) return false;
  std::string why;
  const std::optional<RelayFault> a = ParseRelayFault(relay.name, why), b = ParseRelayFault(other.name, why);
  if (!a || !b || a->kind != b->kind || !IsSameSize(a->ohm, b->ohm)) return false;
  return (a->at == b->at && a->with == b->with) || (a->at == b->with && a->with == b->at);
}

bool PutsIn(const OutputChannel& relay, const Fault& fault) {
  std::string why;
  const std::optional<RelayFault> put = IsFaultRelay(relay) ? ParseRelayFault(relay.name, why) : std::nullopt;
  if (!put || put->kind != WordOf(fault) || !IsSameSize(put->ohm, OhmOf(fault))) return false;
  if (put->with.empty()) return put->at == fault.at;
  return (put->at == fault.at && put->with == fault.with) || (put->at == fault.with && put->with == fault.at);
}

std::vector<const OutputChannel*> FaultRelays(const Bench& bench) {
  std::vector<const OutputChannel*> relays;
  for (const OutputDevice& device : bench.drives) {
    std::ranges::copy_if(ChannelsOf(device), std::back_inserter(relays),
                         [](const OutputChannel* channel) { return IsFaultRelay(*channel); });
  }
  return relays;
}

std::string RelayNameOf(const Fault& fault) {
  std::string name = fmt::format("{} {}", WordOf(fault), fault.at);
  if (!fault.with.empty()) name += " " + fault.with;
  if (OhmOf(fault) > 0) name += fmt::format(" {:g} ohm", OhmOf(fault));
  return name;
}

}  // namespace drycrank::profile
