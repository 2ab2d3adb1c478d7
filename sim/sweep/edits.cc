// SPDX-License-Identifier: Apache-2.0
#include "sweep/edits.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <iterator>
#include <utility>

#include "sweep/manner_edits.h"
#include "sweep/sent_range.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Display;
using profile::Gauge;
using profile::Message;
using profile::Signal;

constexpr double kUsualFactors[] = {10, 0.1, 100, 0.01, 2, 0.5, 1000, 0.001};
constexpr double kUsualOffsets[] = {0, -40, 40, -273.15, 273.15};
constexpr int kUsualShifts[] = {8, -8, 16, -16, 1, -1};
constexpr std::uint32_t kNoIdentifier = 0x7FF;  // of no message, when none has it

const char* Word(profile::ByteOrder order) {
  return order == profile::ByteOrder::kBig ? "big" : "little";
}
const char* Word(bool yes) { return yes ? "true" : "false"; }
std::string Word(const std::optional<double>& value) { return value ? Plain(*value) : "none"; }

std::optional<double> NumberOf(const std::string& text) {
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

// The interval of a limit or end: "quiet at 112; warns at 113".
struct Between {
  double quiet = 0, warns = 0;
};
std::optional<Between> BetweenOf(const std::string& text) {
  constexpr std::string_view kQuiet = "quiet at ", kWarns = "; warns at ";
  const auto second = text.find(kWarns);
  if (!text.starts_with(kQuiet) || second == std::string::npos) return std::nullopt;
  const auto quiet = NumberOf(text.substr(kQuiet.size(), second - kQuiet.size()));
  const auto warns = NumberOf(text.substr(second + kWarns.size()));
  if (!quiet || !warns) return std::nullopt;
  return Between{*quiet, *warns};
}

class Edits {
 public:
  Edits(const Bench& bench, const profile::Readout& readout, const std::vector<ShownFact>& facts)
      : bench_(bench),
        set_(*bench.display),
        readout_(readout),
        facts_(facts),
        g_(profile::IndexOf(set_.gauges, readout.name)) {}

  std::vector<Edit> All() {
    if (g_ < 0) return {};
    m_ = profile::IndexOf(set_.layouts, gauge().message);
    if (m_ >= 0) s_ = profile::IndexOf(message().signals, gauge().signal);
    Absent();
    OnScreen();
    Warnings();
    std::ranges::move(MannerEdits(bench_, readout_, facts_), std::back_inserter(edits_));
    if (s_ >= 0) {
      OtherSignals();
      UsualLayout();
      FittedLayout();
      Identifiers();
    }
    return std::move(edits_);
  }

 private:
  const Gauge& gauge() const { return Nth(set_.gauges, g_); }
  const Message& message() const { return Nth(set_.layouts, m_); }
  const Signal& signal() const { return Nth(message().signals, s_); }
  const ShownFact* At(Step step) const {
    const auto found = std::ranges::find(facts_, step, &ShownFact::step);
    return found == facts_.end() ? nullptr : &*found;
  }
  // The first fact of a value that stood there.
  const ShownFact* Standing() const {
    const auto found = std::ranges::find_if(facts_, [](const ShownFact& f) {
      return f.step == Step::kUp && (f.shown.state == "ok" || f.shown.state == "warning");
    });
    return found == facts_.end() ? nullptr : &*found;
  }

  template <class Change>
  void OfGauge(const char* key, std::string is, std::string becomes, Change change) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of gauge {}", key, readout_.name),
              std::move(is),
              std::move(becomes),
              {readout_.name},
              set_};
    change(Nth(edit.display.gauges, g_));
    edits_.push_back(std::move(edit));
  }
  template <class Change>
  void OfSignal(const char* key, std::string is, std::string becomes, Change change) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of {}.{}", key, message().name, signal().name),
              std::move(is),
              std::move(becomes),
              {},
              set_};
    for (const Gauge& g : set_.gauges) {
      if (g.message == message().name && g.signal == signal().name) edit.readouts.push_back(g.name);
    }
    Signal& changed = Nth(Nth(edit.display.layouts, m_).signals, s_);
    change(changed);
    if (changed.start_bit < 0 || changed.start_bit >= message().length_bytes * 8) return;
    edits_.push_back(std::move(edit));
  }

  // ---- what stands on the screen ----

  void Absent() {
    if (facts_.empty() || facts_.front().shown.state != "absent") return;
    Edit edit{"gauge " + readout_.name, "there", "left out", {readout_.name}, set_};
    edit.display.gauges.erase(edit.display.gauges.begin() + g_);
    edits_.push_back(std::move(edit));
  }
  void OnScreen() {
    if (const ShownFact* f = Standing()) {
      if (f->shown.page > 0) {
        OfGauge("page", fmt::format("{}", gauge().page), fmt::format("{}", f->shown.page),
                [&](Gauge& g) { g.page = f->shown.page; });
      }
    }
    for (const std::string& unit : UnitsLike(gauge().unit)) {
      OfGauge("unit", gauge().unit, unit, [&](Gauge& g) { g.unit = unit; });
    }
    for (int decimals = 0; decimals <= 6; ++decimals) {
      OfGauge("decimals", fmt::format("{}", gauge().decimals), fmt::format("{}", decimals),
              [&](Gauge& g) { g.decimals = decimals; });
    }
    Names();
    Gone();
    Ends();
  }
  // One name otherwise, one missing, one too many.
  void Names() {
    for (const auto& [value, name] : NamesSeen()) {
      const auto was = gauge().values.find(value);
      const std::string is = was == gauge().values.end() ? "none" : was->second;
      const std::string becomes = NumberOf(name) ? "none" : name;
      OfGauge(fmt::format("name of {}", value).c_str(), is, becomes, [&, v = value](Gauge& g) {
        if (becomes == "none") {
          g.values.erase(v);
        } else {
          g.values[v] = becomes;
        }
      });
    }
  }
  profile::ValueNames NamesSeen() const {
    profile::ValueNames seen;
    for (const ShownFact& f : facts_) {
      if (f.step != Step::kUp || !f.input || *f.input != std::round(*f.input)) continue;
      if (!HasValue(f.shown)) continue;
      const auto value = std::llround(*f.input);
      if (gauge().values.contains(value) || !NumberOf(f.shown.text)) seen[value] = f.shown.text;
    }
    return seen;
  }
  void Gone() {
    const ShownFact* f = At(Step::kGoneAfter);
    if (f == nullptr || Standing() == nullptr) return;
    if (f->input) {
      const double ms = std::round(*f->input * 1e6) / 1e3;
      OfGauge("stale_ms", Plain(gauge().stale_ms), Plain(ms), [&](Gauge& g) { g.stale_ms = ms; });
    }
    OfGauge("dashes", gauge().dashes, f->shown.text, [&](Gauge& g) { g.dashes = f->shown.text; });
  }
  // Where it is held: what stands there at the lowest and the highest that was sent.
  void Ends() {
    std::optional<double> low, high;
    for (const ShownFact& f : facts_) {
      const auto number = f.step == Step::kUp ? NumberOf(f.shown.text) : std::nullopt;
      if (!number) continue;
      low = std::min(low.value_or(*number), *number);
      high = std::max(high.value_or(*number), *number);
    }
    if (low == high) return;  // it stands still
    for (const auto& [key, member, seen] :
         {std::tuple{"min", &Gauge::min, low}, std::tuple{"max", &Gauge::max, high}}) {
      for (const auto& end : {seen, std::optional<double>()}) {
        OfGauge(key, Word(gauge().*member), Word(end),
                [end = end, member = member](Gauge& g) { g.*member = end; });
      }
    }
  }

  // ---- warnings ----

  void Warnings() {
    for (const ShownFact& f : facts_) {
      const bool warned = f.shown.state == "warning" ||
                          (f.input && f.step >= Step::kWarnsAbove && f.step <= Step::kEndsAbove);
      if (!warned) continue;
      const std::string lamp = LampName(f.shown.lamp);
      OfGauge("lamp", gauge().lamp, lamp, [&](Gauge& g) { g.lamp = lamp; });
      break;
    }
    Limit("warn_above", &Gauge::warn_above, Step::kWarnsAbove);
    Limit("warn_below", &Gauge::warn_below, Step::kWarnsBelow);
    Hysteresis("hysteresis", gauge().warn_above, Step::kEndsBelow, false);
    Hysteresis("hysteresis", gauge().warn_below, Step::kEndsAbove,
               gauge().hysteresis_below.has_value());
  }
  void Limit(const char* key, std::optional<double> Gauge::*limit, Step step) {
    const ShownFact* f = At(step);
    if (f == nullptr) return;
    OfGauge(key, Word(gauge().*limit), Word(f->input), [&](Gauge& g) { g.*limit = f->input; });
  }
  void Hysteresis(const char* key, const std::optional<double>& limit, Step step, bool apart) {
    const ShownFact* f = At(step);
    const auto between = f == nullptr ? std::nullopt : BetweenOf(f->shown.text);
    if (!limit || !between) return;
    const double is = apart ? *gauge().hysteresis_below : gauge().hysteresis;
    const double back = step == Step::kEndsBelow ? -1 : 1;
    const double to_warns = back * (between->warns - *limit),
                 to_quiet = back * (between->quiet - *limit);
    if (to_warns >= to_quiet || to_quiet < 0) return;
    const double fits = std::max(0.0, NicestIn(to_warns, to_quiet, /*above_low=*/true));
    OfGauge(apart ? "hysteresis_below" : key, Plain(is), Plain(fits), [&](Gauge& g) {
      if (apart) {
        g.hysteresis_below = fits;
      } else {
        g.hysteresis = fits;
      }
    });
  }

  // ---- how it decodes ----

  void UsualLayout() {
    for (const double factor : kUsualFactors) {
      OfSignal("scale", Plain(signal().scale), Plain(signal().scale * factor),
               [&](Signal& s) { s.scale *= factor; });
    }
    OtherByteOrder();
    OfSignal("is_signed", Word(signal().is_signed), Word(!signal().is_signed),
             [](Signal& s) { s.is_signed = !s.is_signed; });
    for (const int shift : kUsualShifts) {
      const int start_bit = signal().start_bit + shift;
      OfSignal("start_bit", fmt::format("{}", signal().start_bit), fmt::format("{}", start_bit),
               [&](Signal& s) { s.start_bit = start_bit; });
    }
    for (const double offset : kUsualOffsets) {
      OfSignal("offset", Plain(signal().offset), Plain(offset),
               [&](Signal& s) { s.offset = offset; });
    }
    for (const int length : {4, 8, 12, 16, 24, 32}) {
      OfSignal("length_bits", fmt::format("{}", signal().length_bits), fmt::format("{}", length),
               [&](Signal& s) { s.length_bits = length; });
    }
  }
  void OtherByteOrder() {
    const bool big = signal().byte_order == profile::ByteOrder::kBig;
    const auto other = big ? profile::ByteOrder::kLittle : profile::ByteOrder::kBig;
    OfSignal("byte_order", Word(signal().byte_order), Word(other),
             [&](Signal& s) { s.byte_order = other; });
    // With the start bit that a person would enter for the same bytes.
    OfSignal("byte_order", Word(signal().byte_order), Word(other), [&](Signal& s) {
      s.byte_order = other;
      s.start_bit = s.start_bit / 8 * 8 + (big ? 0 : std::min(7, s.length_bits - 1));
    });
  }
  void OtherSignals() {
    for (const Message& m : set_.layouts) {
      if (m.sender == profile::Sender::kDisplay) continue;
      for (const Signal& s : m.signals) {
        const bool fits =
            s.unit.empty() || gauge().unit.empty() || Convert(0, s.unit, gauge().unit);
        if (!fits) continue;
        OfGauge("signal", gauge().message + "." + gauge().signal, m.name + "." + s.name,
                [&](Gauge& g) {
                  g.message = m.name;
                  g.signal = s.name;
                });
      }
    }
  }
  void Identifiers() {
    const auto id = [](std::uint32_t number) { return fmt::format("0x{:X}", number); };
    std::vector<std::uint32_t> others;
    for (const Message& m : set_.layouts) {
      if (m.sender != profile::Sender::kDisplay) others.push_back(m.id);
    }
    others.push_back(kNoIdentifier);
    for (const std::uint32_t other : others) {
      if (other == message().id) continue;
      Edit edit{"identifier of message " + message().name,
                id(message().id),
                other == kNoIdentifier ? "one that never comes" : id(other),
                {},
                set_};
      for (const Gauge& g : set_.gauges) {
        if (g.message == message().name) edit.readouts.push_back(g.name);
      }
      Nth(edit.display.layouts, m_).id = other;
      edits_.push_back(std::move(edit));
    }
  }

  // ---- numbers from what was shown ----

  // What scale, or what offset, each number shown allows; the nicest that all allow.
  void FittedLayout() {
    const SentRange range = SentRangeOf(SignalSent(), readout_);
    double scale_low = -1e300, scale_high = 1e300, offset_low = -1e300, offset_high = 1e300;
    for (const ShownFact& f : facts_) {
      const auto shown = NumberOf(f.shown.text);
      if (f.step != Step::kUp || !f.input || !shown || IsAtEnd(*shown)) continue;
      const double half = 0.5 * std::pow(10.0, -gauge().decimals);
      const double low = InSignal(*shown - half), high = InSignal(*shown + half);
      const double raw = std::round((SentOf(*f.input) - range.base) / range.step);
      offset_low = std::max(offset_low, low - raw * signal().scale);
      offset_high = std::min(offset_high, high - raw * signal().scale);
      if (raw == 0) continue;
      const double a = (low - signal().offset) / raw, b = (high - signal().offset) / raw;
      scale_low = std::max(scale_low, std::min(a, b));
      scale_high = std::min(scale_high, std::max(a, b));
    }
    if (scale_low < scale_high && scale_high < 1e300) {
      const double scale = NicestIn(scale_low, scale_high);
      OfSignal("scale", Plain(signal().scale), Plain(scale), [&](Signal& s) { s.scale = scale; });
    }
    if (offset_low < offset_high && offset_high < 1e300) {
      const double offset = NicestIn(offset_low, offset_high);
      OfSignal("offset", Plain(signal().offset), Plain(offset),
               [&](Signal& s) { s.offset = offset; });
    }
  }
  const Signal& SignalSent() const {
    const auto at = profile::FindSignal(bench_, readout_.message + "." + readout_.signal);
    return SignalAt(bench_, at);
  }
  bool IsAtEnd(double shown) const {
    return (gauge().min && shown <= *gauge().min) || (gauge().max && shown >= *gauge().max);
  }
  double InSignal(double shown) const {
    return Convert(shown, gauge().unit, signal().unit).value_or(shown);
  }
  double SentOf(double input) const {
    return Convert(input, readout_.unit, SignalSent().unit).value_or(input);
  }

  const Bench& bench_;
  const Display& set_;
  const profile::Readout& readout_;
  const std::vector<ShownFact>& facts_;
  int g_, m_ = -1, s_ = -1;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> EditsFor(const Bench& bench, const profile::Readout& readout,
                           const std::vector<ShownFact>& facts) {
  return Edits(bench, readout, facts).All();
}

}  // namespace drycrank::sweep
