// SPDX-License-Identifier: Apache-2.0
#include "sweep/manner_edits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Display;
using profile::Gauge;
using profile::Keeps;
using profile::Signal;
using profile::Switching;

constexpr int kKeyBits = 2;

const char* Word(bool yes) { return yes ? "true" : "false"; }
const char* Word(Keeps keeps) {
  return keeps == Keeps::kNothing ? "nothing" : keeps == Keeps::kHighest ? "highest" : "lowest";
}
std::string OrNone(const std::string& text) { return text.empty() ? "none" : text; }

class Edits {
 public:
  Edits(const Bench& bench, const profile::Readout& readout, const std::vector<ShownFact>& facts)
      : must_be_(RequiredSwitching(bench)),
        set_(*bench.display),
        readout_(readout),
        facts_(facts),
        g_(profile::IndexOf(set_.gauges, readout.name)) {}

  std::vector<Edit> All() {
    NoValue();
    Lamp();
    for (const Keeps keeps : {Keeps::kNothing, Keeps::kHighest, Keeps::kLowest}) {
      OfGauge(
          "keeps", Word(gauge().keeps), Word(keeps), [&](Gauge& g) { g.keeps = keeps; },
          /*is_unlikely=*/!gauge().values.empty());
    }
    OnAndOff();
    return std::move(edits_);
  }

 private:
  const Gauge& gauge() const { return Nth(set_.gauges, g_); }
  const ShownFact* At(Step step) const {
    const auto found = std::ranges::find(facts_, step, &ShownFact::step);
    return found == facts_.end() ? nullptr : &*found;
  }
  std::vector<std::string> AllGauges() const {
    std::vector<std::string> names;
    for (const Gauge& g : set_.gauges) names.push_back(g.name);
    return names;
  }
  template <class Change>
  void OfGauge(const char* key, std::string is, std::string becomes, Change change,
               bool is_unlikely = false) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of gauge {}", key, readout_.name),
              std::move(is),
              std::move(becomes),
              {readout_.name},
              set_};
    change(Nth(edit.display.gauges, g_));
    edit.is_unlikely = is_unlikely;
    edits_.push_back(std::move(edit));
  }

  // ---- a message without a value ----

  void NoValue() {
    const ShownFact* f = At(Step::kNotAvailable);
    if (f == nullptr) return;
    OfGauge("not_available", OrNone(gauge().not_available), f->shown.text,
            [&](Gauge& g) { g.not_available = f->shown.text; });
  }

  // ---- its lamp ----

  void Lamp() {
    if (const auto hz = BlinksHz()) {
      OfGauge("lamp_blinks_hz", Plain(gauge().lamp_blinks_hz), Plain(*hz),
              [&](Gauge& g) { g.lamp_blinks_hz = *hz; });
    }
    OfGauge("lamp_latches", Word(gauge().lamp_latches), Word(!gauge().lamp_latches),
            [](Gauge& g) { g.lamp_latches = !g.lamp_latches; });
    const bool has_key = !(gauge().acknowledged_by + readout_.acknowledged_by).empty() ||
                         At(Step::kOtherKeys) != nullptr;
    for (const std::string& key : has_key ? Keys(readout_.acknowledged_by)
                                          : std::vector<std::string>()) {
      OfGauge(
          "acknowledged_by", OrNone(gauge().acknowledged_by), OrNone(key),
          [&](Gauge& g) { g.acknowledged_by = key; }, !IsKey(key));
    }
  }
  // One or two bits; or none.
  bool IsKey(const std::string& name) const {
    const int m = profile::IndexOf(set_.layouts, name.substr(0, name.find('.')));
    const int s =
        m < 0 ? -1
              : profile::IndexOf(Nth(set_.layouts, m).signals, name.substr(name.find('.') + 1));
    return s < 0 || Nth(Nth(set_.layouts, m).signals, s).length_bits <= kKeyBits;
  }
  // None, the one that must be, what one or two bits can say, and the rest.
  std::vector<std::string> Keys(const std::string& must_be) const {
    std::vector<std::string> keys{"", must_be};
    for (const bool is_short : {true, false}) {
      for (const profile::Message& m : set_.layouts) {
        for (const Signal& s : m.signals) {
          const bool may_be = m.sender != profile::Sender::kDisplay;
          if (may_be && (s.length_bits <= kKeyBits) == is_short)
            keys.push_back(m.name + "." + s.name);
        }
      }
    }
    return keys;
  }
  // Of the lamp of a warning, as far as that was told.
  std::optional<double> BlinksHz() const {
    for (const ShownFact& f : facts_) {
      if (f.shown.state != "warning" || f.shown.lamp.empty()) continue;
      if (!Blinks(f.shown.lamp)) return 0;
      const auto hz = ParseNumberWithUnit(
          f.shown.lamp.substr(LampName(f.shown.lamp).size() + sizeof(kBlinks) - 1));
      return hz ? std::optional(hz->value) : std::nullopt;
    }
    return std::nullopt;
  }

  // ---- on and off ----

  template <class Change>
  void OfSwitching(const char* key, double is, double becomes, Change change) {
    if (Plain(is) == Plain(becomes) || becomes < 0) return;
    Edit edit{fmt::format("{} of switching", key), Plain(is), Plain(becomes), AllGauges(), set_};
    change(edit.display.switching);
    edits_.push_back(std::move(edit));
  }
  static double Ms(double s) { return std::round(s * 1e6) / 1e3; }
  void OnAndOff() {
    const Switching& is = set_.switching;
    const ShownFact *stands = At(Step::kStandsAfter), *test = At(Step::kLampTest),
                    *off = At(Step::kOffAfter);
    if (stands != nullptr && stands->input) {
      const double dark_ms = Ms(*stands->input);
      OfSwitching("dark_ms", is.dark_ms, dark_ms, [&](Switching& s) { s.dark_ms = dark_ms; });
    }
    if (test != nullptr) {
      const double test_ms = test->input ? Ms(*test->input) - is.dark_ms : 0;
      OfSwitching("lamp_test_ms", is.lamp_test_ms, test_ms,
                  [&](Switching& s) { s.lamp_test_ms = test_ms; });
    }
    if (off != nullptr) SwitchingKey();
    if (off != nullptr && off->input) {
      const double off_ms = Ms(*off->input);
      OfSwitching("off_after_ms", is.off_after_ms, off_ms,
                  [&](Switching& s) { s.off_after_ms = off_ms; });
    }
  }

  void SwitchingKey() {
    for (const std::string& key : Keys(must_be_ ? must_be_->key : std::string())) {
      if (key == set_.switching.key) continue;
      Edit edit{"key of switching", OrNone(set_.switching.key), OrNone(key), AllGauges(), set_};
      edit.display.switching.key = key;
      edits_.push_back(std::move(edit));
    }
  }

  std::optional<Switching> must_be_;
  const Display& set_;
  const profile::Readout& readout_;
  const std::vector<ShownFact>& facts_;
  int g_;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> MannerEdits(const Bench& bench, const profile::Readout& readout,
                              const std::vector<ShownFact>& facts) {
  return Edits(bench, readout, facts).All();
}

}  // namespace drycrank::sweep
