// SPDX-License-Identifier: Apache-2.0
#include "proofread/power_problems.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "profile/power_node.h"
#include "proofread/signal_span.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::Bench;
using profile::ChannelState;
using profile::PowerChannel;
using profile::Signal;

struct Carrier {
  const profile::Message* message;
  const Signal* signal;
};

// Those that drycrank sends with it.
std::vector<Carrier> CarriersOf(const Bench& bench, const std::string& carried) {
  std::vector<Carrier> carriers;
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      if (message.sender != profile::Sender::kSimulator) continue;
      for (const Signal& signal : message.signals) {
        if (signal.carries == carried) carriers.push_back({&message, &signal});
      }
    }
  }
  return carriers;
}

class OfChannel {
 public:
  OfChannel(const Bench& bench, const profile::PowerNode& node, const PowerChannel& channel,
            Diagnostics& out)
      : bench_(bench),
        channel_(channel),
        name_(fmt::format("{}.{}", node.name, channel.name)),
        load_(Nth(bench.stimuli, channel.load)),
        out_(out) {}

  void Say() {
    Load();
    State();
    for (const auto& [message, signal] : CarriersOf(bench_, name_ + ".trips")) Trips(*signal);
    for (const auto& [message, signal] : CarriersOf(bench_, name_ + ".current")) Current(*signal);
  }

 private:
  void Add(const Place& place, std::string what, std::string remedy) {
    out_.push_back({place, std::move(what), std::move(remedy)});
  }
  std::optional<double> InA(double drawn) const {
    return load_.max > load_.min ? Convert(drawn, load_.unit, "A") : std::nullopt;
  }

  void Load() {
    const auto most_a = InA(load_.max), least_a = InA(load_.min);
    if (most_a && *most_a <= channel_.rated_a) {
      Add(channel_.place,
          fmt::format("'{}' can never trip: it is rated {:g} A, and its load draws {:g} A at most",
                      name_, channel_.rated_a, *most_a),
          "a rated current that its load can pass, or a load with a higher max");
    }
    if (least_a && channel_.open_below_a > 0 && *least_a >= channel_.open_below_a) {
      Add(channel_.place,
          fmt::format("'{}' can never be open: its load draws {:g} A at least", name_, *least_a),
          "a load with a lower min, or leave out open_below_a");
    }
  }

  // ---- what its messages say ----

  std::vector<std::pair<ChannelState, const char*>> Told() const {
    std::vector<std::pair<ChannelState, const char*>> told{{ChannelState::kTripped, "has tripped"}};
    if (channel_.open_below_a > 0) told.emplace_back(ChannelState::kOpen, "is open");
    return told;
  }
  void State() {
    const auto carriers = CarriersOf(bench_, name_ + ".channel_state");
    if (carriers.empty()) {
      return Add(channel_.place, fmt::format("no message says that '{}' has tripped", name_),
                 fmt::format("a signal with 'carries: {}.channel_state'", name_));
    }
    const profile::Message& message = *carriers.front().message;
    if (channel_.retries > 0 && channel_.retry_after_ms < message.period_ms) {
      Add(channel_.place,
          fmt::format("'{}' is tripped for {:g} ms, and message '{}' comes every {:g} ms: a trip "
                      "may not be seen",
                      name_, channel_.retry_after_ms, message.name, message.period_ms),
          "a longer retry_after_ms, or a faster message");
    }
    for (const Carrier& carrier : carriers) {
      for (const auto& [state, word] : Told()) Code(*carrier.signal, static_cast<int>(state), word);
      Words(carrier);
    }
  }
  void Code(const Signal& signal, int code, const char* word) {
    const SignalSpan span = SpanOf(signal, signal.unit);
    const std::string when = fmt::format("'{}' is {} when it {}", name_, code, word);
    if (code < span.low || code > span.high) {
      Add(signal.place, fmt::format("signal '{}' says {:g} to {:g}, and {}", signal.name, span.low,
                                    span.high, when),
          "more bits, scale 1, and offset 0");
    } else if (signal.not_available && !signal.is_float &&
               std::llround((code - signal.offset) / signal.scale) == *signal.not_available) {
      Add(signal.place, fmt::format("signal '{}' says \"not available\" with {}, and {}",
                                    signal.name, code, when),
          "another code for not_available");
    }
  }
  // What shows it by words has one for each.
  void Words(const Carrier& carrier) {
    for (const profile::Readout& r : RequiredReadouts(bench_)) {
      if (r.message != carrier.message->name || r.signal != carrier.signal->name) continue;
      for (const auto& [state, word] : Told()) {
        const int code = static_cast<int>(state);
        const bool is_there = std::ranges::any_of(
            r.values, [code](const auto& named) { return named.first == code; });
        if (r.values.empty() || is_there) continue;
        Add(r.place, fmt::format("'{}' has no word for {}, and '{}' is {} when it {}", r.name, code,
                                 name_, code, word),
            fmt::format("{}: and its word, under values", code));
      }
    }
  }
  void Trips(const Signal& signal) {
    const SignalSpan span = SpanOf(signal, signal.unit);
    const int most = channel_.retries + 1;  // then it stays tripped
    if (most <= span.high) return;
    Add(signal.place, fmt::format("signal '{}' says {:g} to {:g}, and '{}' trips up to {} times",
                                  signal.name, span.low, span.high, name_, most),
        "more bits, or fewer retries");
  }
  void Current(const Signal& signal) {
    const SignalSpan span = SpanOf(signal, "A");
    const auto most_a = InA(load_.max);
    const double half_a =
        ConvertDifference(0.5 * std::abs(signal.scale), signal.unit, "A").value_or(0);
    if (!most_a || *most_a <= span.high + half_a) return;
    Add(signal.place,
        fmt::format("signal '{}' says {:g} to {:g} A, and the load of '{}' draws up to {:g} A",
                    signal.name, span.low, span.high, name_, *most_a),
        "more bits, or a larger scale");
  }

  const Bench& bench_;
  const PowerChannel& channel_;
  std::string name_;
  const profile::Stimulus& load_;
  Diagnostics& out_;
};

// What stands at two places that need one each.
void LoadsOf(const Bench& bench, Diagnostics& out) {
  std::vector<std::pair<std::string, const PowerChannel*>> before;
  for (const profile::PowerNode& node : bench.power_nodes) {
    for (const PowerChannel& channel : node.channels) {
      const std::string name = fmt::format("{}.{}", node.name, channel.name);
      const std::string& load = Nth(bench.stimuli, channel.load).name;
      for (const auto& [other, its] : before) {
        if (its->load != channel.load) continue;
        out.push_back({channel.place,
                       fmt::format("'{}' and '{}' have one load: '{}'", other, name, load),
                       "a load for each of them"});
      }
      if (node.reset_by == channel.load) {
        out.push_back({node.place,
                       fmt::format("'{}' resets '{}' and is the load of '{}'", load, node.name,
                                   name),
                       "a key that is no load"});
      }
      before.emplace_back(name, &channel);
    }
  }
}

}  // namespace

Diagnostics PowerProblems(const Bench& bench) {
  Diagnostics out;
  for (const profile::PowerNode& node : bench.power_nodes) {
    for (const PowerChannel& channel : node.channels) OfChannel(bench, node, channel, out).Say();
  }
  LoadsOf(bench, out);
  return out;
}

}  // namespace drycrank::proofread
