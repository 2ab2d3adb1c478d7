// SPDX-License-Identifier: Apache-2.0
//
// What the display must show against what has been set in it, and both against what the messages
// can say. Where no readouts are written, what was set is looked at by itself.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bus/layout.h"
#include "proofread/settings_display.h"
#include "proofread/signal_span.h"
#include "proofread/told.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::Bench;
using profile::Gauge;
using profile::Readout;
using profile::Signal;

std::string Value(const std::optional<double>& value, const std::string& unit) {
  return value ? WithUnit(fmt::format("{:.6g}", *value), unit) : "none";
}
std::string Quoted(const std::string& text) { return text.empty() ? "none" : "'" + text + "'"; }

std::string KeepsWord(profile::Keeps keeps) {
  return keeps == profile::Keeps::kNothing   ? "nothing"
         : keeps == profile::Keeps::kHighest ? "the highest"
                                             : "the lowest";
}

bool Differ(const std::optional<double>& a, const std::optional<double>& b) {
  if (a.has_value() != b.has_value()) return true;
  return a && std::abs(*a - *b) > 1e-9 * std::max(1.0, std::abs(*a));
}

// ---- what was set against what must be shown --------------------------------------------------

class AgainstSet {
 public:
  AgainstSet(const Readout& readout, const Gauge& gauge, Compared& out)
      : r_(readout), g_(gauge), out_(out) {}

  void Say() {
    if (g_.label != g_.name && r_.label != r_.name) {
      Text("label", Quoted(g_.label), Quoted(r_.label));
    }
    Text("signal", g_.message + "." + g_.signal, r_.message + "." + r_.signal);
    Text("unit", DisplayUnit(g_.unit), DisplayUnit(r_.unit));
    Text("decimals", fmt::format("{}", g_.decimals), fmt::format("{}", r_.decimals));
    Text("page", fmt::format("{}", g_.page), fmt::format("{}", r_.page));
    Text("lamp", Quoted(g_.lamp), Quoted(r_.lamp));
    Text("dashes", Quoted(g_.dashes), Quoted(r_.dashes));
    Text("not_available", Quoted(g_.not_available), Quoted(r_.not_available));
    Text("lamp_blinks_hz", Value(g_.lamp_blinks_hz, "Hz"), Value(r_.lamp_blinks_hz, "Hz"));
    Text("lamp_latches", g_.lamp_latches ? "true" : "false", r_.lamp_latches ? "true" : "false");
    Text("acknowledged_by", Quoted(g_.acknowledged_by), Quoted(r_.acknowledged_by));
    Text("keeps", KeepsWord(g_.keeps), KeepsWord(r_.keeps));
    Text("stale_ms", Value(g_.stale_ms, "ms"), Value(r_.dashes_after_ms, "ms"));
    Names();
    Text("bar", g_.bar ? "there" : "none", r_.bar ? "there" : "none");
    if (g_.bar && r_.bar) Bars(*g_.bar, *r_.bar);
    if (g_.unit != r_.unit) return;  // numbers in another unit say nothing more
    Number("min", g_.min, r_.min);
    Number("max", g_.max, r_.max);
    Number("warn_above", g_.warn_above, r_.warn_above);
    Number("warn_below", g_.warn_below, r_.warn_below);
    const double below = g_.hysteresis_below.value_or(g_.hysteresis);
    End("warn_above", g_.warn_above, r_.warn_above, r_.warn_above_ends, -g_.hysteresis);
    End("warn_below", g_.warn_below, r_.warn_below, r_.warn_below_ends, below);
  }

 private:
  void Add(const std::string& what, const std::string& set, const std::string& required) {
    out_.disagreements.push_back(
        {g_.place,
         fmt::format("gauge '{}': {} is {}; it must be {} ({})", g_.name, what, set, required,
                     At(r_.place)),
         fmt::format("set {} in the display, or correct the readout", required)});
  }
  void Text(const char* what, const std::string& set, const std::string& required) {
    if (set != required)
      Add(what, set.empty() ? "none" : set, required.empty() ? "none" : required);
  }
  void Number(const char* what, const std::optional<double>& set,
              const std::optional<double>& required) {
    if (Differ(set, required)) Add(what, Value(set, g_.unit), Value(required, r_.unit));
  }
  // Where the warning ends: once the limit itself is right.
  void End(const char* limit, const std::optional<double>& set,
           const std::optional<double>& required, const std::optional<double>& ends, double back) {
    if (!set || Differ(set, required)) return;
    const std::optional<double> is = *set + back, must = ends.value_or(*required);
    if (Differ(is, must)) {
      Add(fmt::format("the end of its {}", limit), Value(is, g_.unit), Value(must, r_.unit));
    }
  }
  void Bars(const profile::Bar& set, const profile::Bar& required) {
    Text("bar.segments", fmt::format("{}", set.segments), fmt::format("{}", required.segments));
    Text("bar.lights", Word(set.lights), Word(required.lights));
    if (g_.unit != r_.unit) return;
    Number("bar.low", set.low, required.low);
    Number("bar.high", set.high, required.high);
  }
  void Names() {
    for (const auto& [value, name] : r_.values) {
      const auto set = g_.values.find(value);
      const std::string is = set == g_.values.end() ? "none" : Quoted(set->second);
      if (is != Quoted(name)) Add(fmt::format("the name of {}", value), is, Quoted(name));
    }
    for (const auto& [value, name] : g_.values) {
      if (!r_.values.contains(value))
        Add(fmt::format("the name of {}", value), Quoted(name), "none");
    }
  }

  const Readout& r_;
  const Gauge& g_;
  Compared& out_;
};

void SayTakenStale(const Gauge& gauge, Compared& out) {
  if (!gauge.stale_is_taken) return;
  out.not_compared.push_back(
      {gauge.place,
       fmt::format("gauge '{}': after how long it shows that its value is gone is not written, so "
                   "{:g} ms is taken, as its readout must have",
                   gauge.name, gauge.stale_ms),
       "write what has been set as 'stale_ms'"});
}

void CompareWithSet(const Bench& bench, Compared& out) {
  if (bench.readouts.empty() || !bench.display) return;
  const auto& gauges = bench.display->gauges;
  for (const Readout& readout : bench.readouts) {
    const int g = profile::IndexOf(gauges, readout.name);
    if (g >= 0) {
      AgainstSet(readout, Nth(gauges, g), out).Say();
      SayTakenStale(Nth(gauges, g), out);
    } else {
      out.disagreements.push_back(
          {bench.display->place,
           fmt::format("the display has no gauge '{}', which must be shown ({})", readout.name,
                       At(readout.place)),
           "set it up in the display, or take the readout out"});
    }
  }
  for (const Gauge& gauge : gauges) {
    if (profile::IndexOf(bench.readouts, gauge.name) >= 0) continue;
    out.not_compared.push_back({gauge.place,
                                fmt::format("gauge '{}' is not among the readouts", gauge.name),
                                "write under readouts what it must show"});
  }
}

// How it goes on and off.
void CompareSwitching(const Bench& bench, Compared& out) {
  if (!bench.display || (!bench.switching && bench.readouts.empty())) return;
  const profile::Switching &set = bench.display->switching,
                           must = bench.switching.value_or(profile::Switching());
  const auto say = [&](const char* what, const std::string& is, const std::string& required) {
    if (is == required) return;
    out.disagreements.push_back(
        {bench.display->place,
         fmt::format("switching of the display: {} is {}; it must be {}", what, is, required),
         fmt::format("set {} in the display, or correct switching of the bench", required)});
  };
  say("dark_ms", Value(set.dark_ms, "ms"), Value(must.dark_ms, "ms"));
  say("lamp_test_ms", Value(set.lamp_test_ms, "ms"), Value(must.lamp_test_ms, "ms"));
  say("key", Quoted(set.key), Quoted(must.key));
  say("off_after_ms", Value(set.off_after_ms, "ms"), Value(must.off_after_ms, "ms"));
}

// ---- one by itself ----------------------------------------------------------------------------

constexpr double kLeastShare = 0.05;  // of all values, that a bar tells apart: ours, no source

class ByItself {
 public:
  ByItself(const Bench& bench, const Readout& readout, Compared& out) : r_(readout), out_(out) {
    const auto at = profile::FindSignal(bench, readout.message + "." + readout.signal);
    if (at.signal < 0) return;
    message_ = &MessageAt(bench, {at.bus, at.message});
    signal_ = &SignalAt(bench, at);
    span_ = SpanOf(*signal_, readout.unit);
  }

  void Say() {
    if (message_ == nullptr) return;
    Limit("warn_above", r_.warn_above, true);
    Limit("warn_below", r_.warn_below, false);
    End("warn_above", r_.warn_above_ends, false);
    End("warn_below", r_.warn_below_ends, true);
    if (r_.warn_above && r_.warn_below && r_.warn_below_ends &&
        *r_.warn_below_ends > *r_.warn_above) {
      Add(fmt::format(
              "its low warning ends at {}, above warn_above {}: one warning masks the other",
              Value(r_.warn_below_ends, r_.unit), Value(r_.warn_above, r_.unit)),
          "let the low warning end below the high one's limit");
    }
    if (r_.warn_above && r_.warn_below && r_.warn_above_ends &&
        *r_.warn_above_ends < *r_.warn_below) {
      Add(fmt::format(
              "its high warning ends at {}, below warn_below {}: one warning masks the other",
              Value(r_.warn_above_ends, r_.unit), Value(r_.warn_below, r_.unit)),
          "let the high warning end above the low one's limit");
    }
    Kept();
    NeverShown();
    if (r_.bar) Bar(*r_.bar);
    if (r_.lamp.empty() && (r_.lamp_blinks_hz > 0 || r_.lamp_latches)) {
      Add("it has no lamp that could blink or stay lit", "name its lamp");
    }
    if (message_->period_ms > 0 && message_->period_ms >= r_.dashes_after_ms) {
      Add(fmt::format("it is gone after {:g} ms, and message '{}' comes every {:g} ms only ({})",
                      r_.dashes_after_ms, message_->name, message_->period_ms, At(message_->place)),
          "let the value stand for several periods of its message");
    }
  }

 private:
  void Add(const std::string& what, const std::string& remedy) {
    out_.disagreements.push_back({r_.place, fmt::format("'{}': {}", r_.name, what), remedy});
  }
  // A warning that no value of the message, or none that is shown, can reach.
  void Limit(const char* key, const std::optional<double>& limit, bool above) {
    if (!limit) return;
    if (above ? *limit >= span_.high : *limit <= span_.low) {
      return Add(fmt::format("{} {} can never be passed: '{}.{}' says {} to {}", key,
                             Value(limit, r_.unit), r_.message, r_.signal,
                             Value(span_.low, r_.unit), Value(span_.high, r_.unit)),
                 "a limit within what the message can say");
    }
    const bool outside = above ? r_.max && *limit >= *r_.max : r_.min && *limit <= *r_.min;
    if (outside) {
      Add(fmt::format("{} {} lies outside of what is shown, {} to {}", key, Value(limit, r_.unit),
                      Value(r_.min, r_.unit), Value(r_.max, r_.unit)),
          "a limit within min and max");
    }
  }
  // A warning that has begun and never ends.
  void End(const char* key, const std::optional<double>& ends, bool above) {
    if (!ends) return;
    const double low = std::max(span_.low, r_.min.value_or(span_.low)),
                 high = std::min(span_.high, r_.max.value_or(span_.high));
    if (above ? *ends <= high : *ends >= low) return;
    Add(fmt::format("its {} warning never ends: it would have to come back to {}, and {} to {} is "
                    "possible",
                    key, Value(ends, r_.unit), Value(low, r_.unit), Value(high, r_.unit)),
        "a smaller hysteresis");
  }

  // What its segments cannot tell.
  void Bar(const profile::Bar& bar) {
    const std::string ends =
        fmt::format("{} to {}", Value(bar.low, r_.unit), Value(bar.high, r_.unit));
    for (const auto& [key, limit] :
         {std::pair("warn_above", r_.warn_above), std::pair("warn_below", r_.warn_below)}) {
      if (!limit || (*limit > bar.low && *limit < bar.high)) continue;
      Add(fmt::format("{} {} lies outside of its bar, {}", key, Value(limit, r_.unit), ends),
          "a limit between the ends of the bar, or other ends");
    }
    const double low = std::max(span_.low, r_.min.value_or(span_.low)),
                 high = std::min(span_.high, r_.max.value_or(span_.high));
    const int dark = LitSegments(bar, low), lit = LitSegments(bar, high);
    if (dark > 0 || lit < bar.segments) {
      Add(fmt::format("its bar from {} never has fewer than {} or more than {} of {} segments lit: "
                      "{} to {} is possible",
                      ends, dark, lit, bar.segments, Value(low, r_.unit), Value(high, r_.unit)),
          "ends of the bar that its value can reach");
    }
    if (std::isfinite(high - low) && bar.high - bar.low < kLeastShare * (high - low)) {
      Add(fmt::format("its bar from {} is less than a twentieth of what is possible, {} to {}", ends,
                      Value(low, r_.unit), Value(high, r_.unit)),
          "look at its ends, its unit, and the scale of the signal; or write min and max");
    }
  }

  // What is kept does not come back by itself.
  void Kept() {
    const bool highest = r_.keeps == profile::Keeps::kHighest && r_.warn_above,
               lowest = r_.keeps == profile::Keeps::kLowest && r_.warn_below;
    if ((!highest && !lowest) || !r_.acknowledged_by.empty()) return;
    Add(fmt::format("its {} warning never ends: the {} is kept, and no key lets go of it",
                    highest ? "warn_above" : "warn_below", highest ? "highest" : "lowest"),
        "write acknowledged_by, or leave out the limit");
  }
  // A word, a text, a lamp that nothing brings.
  void NeverShown() {
    for (const auto& [value, word] : r_.values) {
      const auto number = static_cast<double>(value);
      if (number >= span_.low && number <= span_.high) continue;
      Add(fmt::format("its word '{}' for {} is never shown: '{}.{}' says {} to {}", word, value,
                      r_.message, r_.signal, Value(span_.low, r_.unit),
                      Value(span_.high, r_.unit)),
          "a value that the message can say");
    }
    if (!r_.not_available.empty() && !bus::CanSayNotAvailable(*signal_)) {
      Add(fmt::format("its not_available '{}' is never shown: '{}.{}' has no code for it",
                      r_.not_available, r_.message, r_.signal),
          "write not_available at the signal, or leave it out here");
    }
    if (!r_.lamp.empty() && !r_.warn_above && !r_.warn_below) {
      Add(fmt::format("its lamp '{}' is never lit: it has no limit", r_.lamp),
          "write warn_above or warn_below, or leave out the lamp");
    }
  }

  const Readout& r_;
  Compared& out_;
  const profile::Message* message_ = nullptr;
  const Signal* signal_ = nullptr;
  SignalSpan span_;
};

// Two that warn by one lamp: the one of lower priority is not seen; of two alike, neither is known.
void CompareLamps(const std::vector<Readout>& readouts, Compared& out) {
  for (std::size_t i = 0; i < readouts.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const Readout &a = readouts[j], &b = readouts[i];
      if (a.lamp.empty() || a.lamp != b.lamp || a.page != b.page || a.priority != b.priority)
        continue;
      out.disagreements.push_back(
          {b.place,
           fmt::format("'{}' and '{}' warn by one lamp '{}' on page {} with the same priority {}: "
                       "one masks the other",
                       a.name, b.name, b.lamp, b.page, b.priority),
           "a lamp of its own, or priorities that differ"});
    }
  }
}

}  // namespace

void CompareReadouts(const Bench& bench, Compared& out) {
  CompareWithSet(bench, out);
  CompareSwitching(bench, out);
  for (const Readout& readout : RequiredReadouts(bench)) ByItself(bench, readout, out).Say();
  CompareLamps(bench.readouts, out);
}

}  // namespace drycrank::proofread
