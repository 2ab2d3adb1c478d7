// SPDX-License-Identifier: Apache-2.0
#include "sweep/layout_edits.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "sweep/fit_of_layout.h"
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
constexpr int kSelectorShifts[] = {8, -8, 4, -4, 16, -16, 1, -1, 2, -2, 3, -3};
constexpr double kAny = FitOfLayout::kAny;
constexpr int kNearLengths = 8;                 // bits more or fewer
constexpr std::uint32_t kNoIdentifier = 0x7FF;  // of no message, when none has it

const char* Word(profile::ByteOrder order) {
  return order == profile::ByteOrder::kBig ? "big" : "little";
}
const char* Word(bool yes) { return yes ? "true" : "false"; }

std::optional<double> NumberOf(const std::string& text) {
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
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
    m_ = profile::IndexOf(set_.layouts, gauge().message);
    if (m_ >= 0) s_ = profile::IndexOf(message().signals, gauge().signal);
    if (s_ < 0) return {};
    OtherSignals();
    UsualLayout();
    FittedLayout();
    NoValueCodes();
    Layouts();
    Identifiers();
    OtherStarts();
    return std::move(edits_);
  }

 private:
  const Gauge& gauge() const { return Nth(set_.gauges, g_); }
  const Message& message() const { return Nth(set_.layouts, m_); }
  const Signal& signal() const { return Nth(message().signals, s_); }

  template <class Change>
  void OfGauge(const char* key, std::string is, std::string becomes, Change change,
               bool is_unlikely) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of gauge {}", key, readout_.name),
              std::move(is),
              std::move(becomes),
              {readout_.name},
              set_,
              is_unlikely};
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

  // ---- how it decodes ----

  void UsualLayout() {
    for (const double factor : kUsualFactors) {
      OfSignal("scale", Plain(signal().scale), Plain(signal().scale * factor),
               [&](Signal& s) { s.scale *= factor; });
    }
    OtherByteOrder();
    OfSignal("is_signed", Word(signal().is_signed), Word(!signal().is_signed),
             [](Signal& s) { s.is_signed = !s.is_signed; });
    for (const int shift : kUsualShifts) Start(signal().start_bit + shift);
    for (const double offset : kUsualOffsets) {
      OfSignal("offset", Plain(signal().offset), Plain(offset),
               [&](Signal& s) { s.offset = offset; });
    }
    OfSignal("is_float", Word(signal().is_float), Word(!signal().is_float),
             [](Signal& s) { s.is_float = !s.is_float && s.length_bits >= 32; });
    Lengths();
  }
  void Start(int start_bit) {
    OfSignal("start_bit", fmt::format("{}", signal().start_bit), fmt::format("{}", start_bit),
             [&](Signal& s) { s.start_bit = start_bit; });
  }
  void OtherStarts() {
    for (int shift = 2; shift < message().length_bytes * 8; ++shift) {
      for (const int start_bit : {signal().start_bit + shift, signal().start_bit - shift}) {
        const std::size_t before = edits_.size();
        Start(start_bit);
        if (edits_.size() > before) edits_.back().is_one_of_many = true;
      }
    }
  }
  void Lengths() {
    std::vector<int> lengths{4, 8, 12, 16, 24, 32};
    for (int more = 1; more <= kNearLengths; ++more) {
      lengths.push_back(signal().length_bits - more);
      lengths.push_back(signal().length_bits + more);
    }
    for (const int length : lengths) {
      if (length < 1 || length > 64) continue;
      OfSignal("length_bits", fmt::format("{}", signal().length_bits), fmt::format("{}", length),
               [&](Signal& s) { s.length_bits = length; });
    }
  }
  // Which code says that there is no value.
  void NoValueCodes() {
    const std::string is = Code(signal().not_available);
    std::vector<std::optional<std::int64_t>> codes{SignalSent().not_available, std::nullopt};
    if (signal().length_bits < 63) codes.push_back((std::int64_t{1} << signal().length_bits) - 1);
    const SentRange range = SentRangeOf(SignalSent(), readout_);
    for (const ShownFact& f : facts_) {
      if (f.step != Step::kUp || f.shown.state != "not available" || !f.input) continue;
      codes.push_back(std::llround((SentOf(*f.input) - SignalSent().offset) / SignalSent().scale));
    }
    codes.push_back(range.high + 1);
    if (signal().not_available) codes.push_back(*signal().not_available - 1);
    for (const auto& code : codes) {
      OfSignal("not_available", is, Code(code), [&](Signal& s) { s.not_available = code; });
    }
  }
  static std::string Code(const std::optional<std::int64_t>& code) {
    return code ? fmt::format("{}", *code) : "none";
  }
  // Under which value of the selector it comes, and where the selector stands.
  void Layouts() {
    std::vector<std::int64_t> banks{SignalSent().multiplex_value};
    for (const Signal& s : message().signals) banks.push_back(s.multiplex_value);
    std::int64_t unused = 0;
    while (std::ranges::find(banks, unused) != banks.end()) ++unused;
    banks.push_back(unused);
    for (const bool selected : {true, false}) {
      const auto kind = selected ? profile::Multiplex::kSelected : profile::Multiplex::kNone;
      for (const std::int64_t bank : banks) {
        if (signal().multiplex == profile::Multiplex::kSelector) return;
        if (selected && !HasSelector()) continue;
        const char* otherwise = selected ? "one that never comes" : "none";
        OfSignal("multiplex", BankWord(signal()),
                 selected && bank != unused ? fmt::format("{}", bank) : otherwise, [&](Signal& s) {
                   s.multiplex = kind;
                   s.multiplex_value = selected ? bank : 0;
                 });
        if (!selected) break;
      }
    }
    Selector();
  }
  static std::string BankWord(const Signal& s) {
    return s.multiplex == profile::Multiplex::kSelected ? fmt::format("{}", s.multiplex_value)
                                                        : "none";
  }
  bool HasSelector() const {
    return std::ranges::find(message().signals, profile::Multiplex::kSelector,
                             &Signal::multiplex) != message().signals.end();
  }
  void Selector() {
    for (std::size_t i = 0; i < message().signals.size(); ++i) {
      const Signal& selector = message().signals[i];
      if (selector.multiplex != profile::Multiplex::kSelector) continue;
      for (const int shift : kSelectorShifts) {
        const int start = selector.start_bit + shift;
        if (start < 0 || start >= message().length_bytes * 8) continue;
        Edit edit = OfMessage("start_bit of " + message().name + "." + selector.name,
                              fmt::format("{}", selector.start_bit), fmt::format("{}", start));
        Nth(edit.display.layouts, m_).signals[i].start_bit = start;
        edits_.push_back(std::move(edit));
      }
    }
  }
  void OtherByteOrder() {
    const bool big = signal().byte_order == profile::ByteOrder::kBig;
    const auto other = big ? profile::ByteOrder::kLittle : profile::ByteOrder::kBig;
    OfSignal("byte_order", Word(signal().byte_order), Word(other),
             [&](Signal& s) { s.byte_order = other; });
    // With the start bit that a person would enter for the same bytes: both are to be typed.
    const int first = big ? 0 : std::min(7, signal().length_bits - 1);
    const int start = signal().start_bit / 8 * 8 + first;
    if (start == signal().start_bit) return;
    const auto both = [](profile::ByteOrder order, int bit) {
      return fmt::format("{}, start_bit {}", Word(order), bit);
    };
    const std::size_t before = edits_.size();
    OfSignal("byte_order", both(signal().byte_order, signal().start_bit), both(other, start),
             [&](Signal& s) {
               s.byte_order = other;
               s.start_bit = start;
             });
    if (edits_.size() > before) edits_.back().is_unlikely = true;
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
                },
                IsInstead(m, s));
      }
    }
  }
  // Another way to read the same bits.
  bool IsInstead(const Message& m, const Signal& s) const {
    return m.name == message().name && std::ranges::find(s.instead_of, s_) != s.instead_of.end();
  }
  // Of its own message, and of those whose keys it listens to.
  void Identifiers() {
    IdentifiersOf(m_);
    for (const std::string& key : {gauge().acknowledged_by, set_.switching.key}) {
      const int m = profile::IndexOf(set_.layouts, key.substr(0, key.find('.')));
      if (m >= 0 && m != m_) IdentifiersOf(m);
    }
  }
  static std::string IdWord(std::uint32_t id, bool extended) {
    return fmt::format("0x{:X}{}", id, extended ? " (29 bits)" : "");
  }
  void IdentifiersOf(int m) {
    const Message& of = Nth(set_.layouts, m);
    std::vector<std::pair<std::uint32_t, bool>> others;
    if (const auto sent = profile::FindMessage(bench_, of.name); sent.message >= 0) {
      others.push_back({MessageAt(bench_, sent).id, MessageAt(bench_, sent).extended});
    }
    for (const Message& other : set_.layouts) {
      if (other.sender != profile::Sender::kDisplay) others.push_back({other.id, other.extended});
    }
    if (of.extended) others.push_back({of.id & kNoIdentifier, false});
    others.push_back({kNoIdentifier, false});
    if (!of.extended) others.push_back({of.id, true});
    for (const auto& [id, extended] : others) {
      if (id == of.id && extended == of.extended) continue;
      const bool is_none = id == kNoIdentifier && !extended;
      const char* bits = is_none && !of.extended ? " (11 bits)" : "";
      Edit edit = OfMessage("identifier of message " + of.name, IdWord(of.id, of.extended) + bits,
                            is_none ? "one that never comes" : IdWord(id, extended), m);
      Nth(edit.display.layouts, m).id = id;
      Nth(edit.display.layouts, m).extended = extended;
      edits_.push_back(std::move(edit));
    }
  }
  // Of all gauges that listen to the message: to a value of it, or to a key.
  Edit OfMessage(std::string setting, std::string is, std::string becomes, int m = -1) const {
    const Message& of = Nth(set_.layouts, m < 0 ? m_ : m);
    Edit edit{std::move(setting), std::move(is), std::move(becomes), {}, set_};
    const auto in_it = [&](const std::string& key) { return key.starts_with(of.name + "."); };
    for (const Gauge& g : set_.gauges) {
      if (g.message == of.name || in_it(g.acknowledged_by) || in_it(set_.switching.key)) {
        edit.readouts.push_back(g.name);
      }
    }
    return edit;
  }

  // ---- numbers from what was shown ----

  // What scale, or what offset, each number shown and each limit allows; the nicest that all allow.
  void FittedLayout() {
    fit_ = FitOfLayout(signal().scale, signal().offset);
    for (const ShownFact& f : facts_) {
      const auto shown = NumberOf(f.shown.text);
      if (f.step != Step::kUp || !f.input || !shown) continue;
      const double half = 0.5 * std::pow(10.0, -gauge().decimals);
      const bool is_low = gauge().min && *shown <= *gauge().min,
                 is_high = gauge().max && *shown >= *gauge().max;
      fit_.Between(RawOf(*f.input), is_low ? -kAny : InSignal(*shown - half),
                   is_high ? kAny : InSignal(*shown + half));
      if (gauge().keeps == profile::Keeps::kLowest) break;  // upwards the first one stays
    }
    if (!fit_.IsKnown()) return;
    Fitted(fit_);
    const FitOfLayout by_numbers = fit_;
    OfLimits();
    if (fit_ != by_numbers) Fitted(fit_);
  }
  // The one with fewer digits first: nobody types 0.009999.
  void Fitted(const FitOfLayout& fit) {
    const auto scales = [&] {
      Numbers("scale", signal().scale, fit.Scales(), [](Signal& s, double x) { s.scale = x; });
    };
    const auto offsets = [&] {
      Numbers("offset", signal().offset, fit.Offsets(), [](Signal& s, double x) { s.offset = x; });
    };
    const bool is_offset = DigitsOf(fit.Offsets()) < DigitsOf(fit.Scales());
    if (is_offset) offsets();
    scales();
    if (!is_offset) offsets();
  }
  static std::size_t DigitsOf(const std::vector<double>& numbers) {
    return numbers.empty() ? 99 : Plain(std::abs(numbers.front())).find_last_not_of("0.") + 1;
  }
  void Numbers(const char* key, double is, const std::vector<double>& numbers,
               void (*set)(Signal&, double)) {
    for (const double number : numbers) {
      const std::size_t before = edits_.size();
      OfSignal(key, Plain(is), Plain(number), [&](Signal& s) { set(s, number); });
      if (edits_.size() > before) edits_.back().is_one_of_many = true;
    }
  }
  // Where it warns tells more of the value than its digits do.
  void OfLimits() {
    const double below = gauge().hysteresis_below.value_or(gauge().hysteresis);
    OfLimit(Step::kWarnsAbove, gauge().warn_above, 0, true);
    OfLimit(Step::kEndsBelow, gauge().warn_above, -gauge().hysteresis, true);
    OfLimit(Step::kWarnsBelow, gauge().warn_below, 0, false);
    OfLimit(Step::kEndsAbove, gauge().warn_below, below, false);
  }
  void OfLimit(Step step, const std::optional<double>& limit, double back, bool is_above) {
    const auto f = std::ranges::find(facts_, step, &ShownFact::step);
    const auto between = f == facts_.end() ? std::nullopt : BetweenOf(f->shown.text);
    if (!limit || !between) return;
    const double at = InSignal(*limit + back);
    fit_.Between(RawOf(between->quiet), is_above ? -kAny : at, is_above ? at : kAny);
    fit_.Between(RawOf(between->warns), is_above ? at : -kAny, is_above ? kAny : at);
  }
  double RawOf(double input) const {
    const Signal& sent = SignalSent();
    if (sent.is_float) return (SentOf(input) - sent.offset) / sent.scale;
    const SentRange range = SentRangeOf(sent, readout_);
    return std::round((SentOf(input) - range.base) / range.step);
  }
  const Signal& SignalSent() const {
    const auto at = profile::FindSignal(bench_, readout_.message + "." + readout_.signal);
    return SignalAt(bench_, at);
  }
  double InSignal(double shown) const {
    return Convert(shown, gauge().unit, signal().unit).value_or(shown);
  }
  double SentOf(double input) const {
    const Signal& sent = SignalSent();
    const double physical = Convert(input, readout_.unit, sent.unit).value_or(input);
    return sent.min < sent.max ? std::clamp(physical, sent.min, sent.max) : physical;
  }

  const Bench& bench_;
  const Display& set_;
  const profile::Readout& readout_;
  const std::vector<ShownFact>& facts_;
  int g_, m_ = -1, s_ = -1;
  FitOfLayout fit_{1, 0};
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> LayoutEdits(const Bench& bench, const profile::Readout& readout,
                              const std::vector<ShownFact>& facts) {
  return Edits(bench, readout, facts).All();
}

}  // namespace drycrank::sweep
