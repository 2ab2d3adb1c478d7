// SPDX-License-Identifier: Apache-2.0
#include "tools/said.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "diagnose/next_test.h"
#include "profile/conductors.h"
#include "tools/most_volts.h"
#include "tools/typed_value.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"
#include "yaml/nearest.h"

namespace drycrank::tools {
namespace {

using diagnose::Answered;
using diagnose::MeasuredModel;
using diagnose::Meter;

constexpr std::size_t kMostNear = 4;

std::string Trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return "";
  return std::string(text.substr(first, text.find_last_not_of(" \t") - first + 1));
}

std::string Lower(std::string text) {
  for (char& c : text) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  return text;
}

// The names nearest to a word, "did you mean CMP.3, CKP.3?"
std::string NearNames(const std::string& word, const std::vector<std::string>& known) {
  std::vector<std::pair<int, std::string>> near;
  for (const std::string& name : known) {
    near.emplace_back(yaml::EditDistance(Lower(word), Lower(name)), name);
  }
  std::ranges::sort(near);
  std::string text;
  for (std::size_t i = 0; i < near.size() && i < kMostNear; ++i) {
    if (near[i].first > std::max<int>(2, static_cast<int>(word.size()) / 3)) break;
    text += (text.empty() ? "" : ", ") + near[i].second;
  }
  return text.empty() ? "" : "; did you mean " + text + "?";
}

std::vector<std::string> PlacesOf(const profile::Bench& bench) {
  std::vector<std::string> places = bench.splices;
  for (const profile::Connector& connector : bench.connectors) {
    for (const std::string& pin : connector.pins) places.push_back(connector.name + "." + pin);
  }
  return places;
}

std::vector<std::string> PlugsOf(const profile::Bench& bench) {
  std::vector<std::string> plugs;
  for (const profile::Connector& connector : bench.connectors) plugs.push_back(connector.name);
  return plugs;
}

bool IsIn(const std::vector<std::string>& list, const std::string& word) {
  return std::ranges::find(list, word) != list.end();
}

// "CMP has pins 1 to 3" where the plug is known; else the nearest names.
std::string VoltsOfABus(const std::string& place) {
  return fmt::format(
      "{} is on a bus: what a meter shows there hangs on what is just sent; measure ohms across "
      "the pair, key off",
      place);
}

std::string NoPlace(const profile::Bench& bench, const std::string& word) {
  const std::string plug = word.substr(0, word.find('.'));
  const int index = profile::IndexOf(bench.connectors, plug);
  if (index >= 0) {
    const profile::Connector& connector = Nth(bench.connectors, index);
    return fmt::format("there is no terminal {}: plug {} has pins {} to {}; write {}.{}",
                       OneLine(word), plug, connector.pins.front(), connector.pins.back(), plug,
                       connector.pins.front());
  }
  return fmt::format("there is no terminal or splice {} on this bench{}", OneLine(word),
                     NearNames(word, PlacesOf(bench)));
}

Said Problem(std::string problem, std::size_t column = 0) {
  Said said;
  said.problem = std::move(problem);
  said.column = static_cast<int>(column) + 1;
  return said;
}

class Reader {
 public:
  Reader(const MeasuredModel& model, std::string_view text)
      : model_(model), bench_(model.bench()), text_(text) {}

  Said Read() {
    const std::string text = Trimmed(text_);
    if (text.starts_with("cannot ")) return Cannot(Trimmed(text.substr(7)));
    if (text.starts_with("wiggle ")) return Wiggle(text.substr(7));
    if (text.starts_with("bridge ")) return Bridge(text.substr(7));
    if (text.starts_with("unplug ")) return Unplug(text.substr(7));
    if (text.starts_with("hold ")) return Hold(text.substr(5));
    return Measured(text);
  }

 private:
  std::size_t ColumnOf(const std::string& part) const {
    const auto at = text_.find(part);
    return at == std::string_view::npos ? 0 : at;
  }
  Said NoPlug(const std::string& word) const {
    return Problem(fmt::format("there is no plug {} on this bench{}", OneLine(word),
                               NearNames(word, PlugsOf(bench_))),
                   ColumnOf(word));
  }

  Said Cannot(const std::string& place) const {
    if (!IsIn(PlacesOf(bench_), place) && !IsIn(PlugsOf(bench_), place)) {
      return Problem(NoPlace(bench_, place), ColumnOf(place));
    }
    Said said;
    said.cannot = place;
    return said;
  }

  // "A: yes" into "A" and 1.
  static std::optional<double> YesOf(const std::string& word) {
    const std::string lower = Lower(word);
    if (lower == "yes" || lower == "y") return 1;
    if (lower == "no" || lower == "n") return 0;
    return std::nullopt;
  }
  Said YesOrNo(diagnose::Test test, const std::string& word) const {
    const std::optional<double> yes = YesOf(word);
    if (!yes) {
      return Problem(fmt::format("'{}' is no answer here; write yes or no", OneLine(word)),
                     ColumnOf(word));
    }
    return {Answered{std::move(test), *yes}, "", "", 1};
  }

  Said Wiggle(const std::string& rest) const {
    const auto colon = rest.find(':');
    if (colon == std::string::npos) {
      return Problem("the answer is missing; write as wiggle CLT: yes");
    }
    const std::string plug = Trimmed(rest.substr(0, colon));
    if (!IsIn(PlugsOf(bench_), plug)) return NoPlug(plug);
    return YesOrNo(diagnose::Jumps{plug}, Trimmed(rest.substr(colon + 1)));
  }

  Said Bridge(const std::string& rest) const {
    const auto colon = rest.find(':');
    if (colon == std::string::npos) {
      return Problem("the answer is missing; write as bridge ECU.5-BT.2: yes");
    }
    const std::vector<std::string> places = Ends(Trimmed(rest.substr(0, colon)));
    if (places.size() != 2)
      return Problem("a bridge has two ends; write as bridge ECU.5-BT.2: yes");
    for (const std::string& place : places) {
      if (!IsIn(PlacesOf(bench_), place)) return Problem(NoPlace(bench_, place), ColumnOf(place));
    }
    diagnose::Stand stand{{}, places[0], places[1], model_.rest()};
    const std::string answer = Trimmed(rest.substr(colon + 1));
    if (answer.find('=') != std::string::npos) return Report(stand, answer);
    return YesOrNo(diagnose::ComesRight{stand}, answer);
  }

  Said Unplug(const std::string& rest) const {
    const auto colon = rest.find(':');
    if (colon == std::string::npos) {
      return Problem("the report is missing; write as unplug CLT: engine_temps.coolant=-40 degC");
    }
    diagnose::Stand stand{{}, "", "", model_.rest()};
    if (const std::string bad = Plugs(rest.substr(0, colon), stand.pulled); !bad.empty()) {
      return NoPlug(bad);
    }
    return Report(stand, Trimmed(rest.substr(colon + 1)));
  }

  Said Hold(const std::string& rest) const {
    const auto colon = rest.find(':');
    const auto space = rest.find(' ');
    if (colon == std::string::npos || space > colon) {
      return Problem(
          "the report is missing; write as hold coolant_temperature 90 degC: SIGNAL=VALUE");
    }
    const std::string name = rest.substr(0, space);
    const int index = profile::IndexOf(bench_.stimuli, name);
    if (index < 0) {
      std::vector<std::string> known;
      for (const profile::Stimulus& stimulus : bench_.stimuli) known.push_back(stimulus.name);
      return Problem(
          fmt::format("there is no stimulus {}{}", OneLine(name), NearNames(name, known)),
          ColumnOf(name));
    }
    const profile::Stimulus& stimulus = Nth(bench_.stimuli, index);
    const std::string value = Trimmed(rest.substr(space, colon - space));
    const auto number = ParseNumberWithUnit(WithPoint(value));
    const auto held =
        number ? Convert(number->value, number->unit.empty() ? stimulus.unit : number->unit,
                         stimulus.unit)
               : std::nullopt;
    if (!held) {
      return Problem(
          fmt::format("'{}' is no value of {} in {}", OneLine(value), name, stimulus.unit),
          ColumnOf(value));
    }
    diagnose::Stand stand{{}, "", "", model_.rest()};
    Nth(stand.situation.stimuli, index) = *held;
    stand.situation.name =
        fmt::format("hold {} at {}", name, WithUnit(fmt::format("{:.4g}", *held), stimulus.unit));
    return Report(stand, Trimmed(rest.substr(colon + 1)));
  }

  // "engine_temps.coolant=-40 degC"
  Said Report(const diagnose::Stand& stand, const std::string& text) const {
    const auto equals = text.find('=');
    const std::string name = Trimmed(text.substr(0, equals));
    const std::vector<diagnose::Reading>& readings = model_.predictor().readings();
    const auto at = std::ranges::find(readings, name, &diagnose::Reading::name);
    if (equals == std::string::npos || at == readings.end()) {
      std::vector<std::string> known;
      for (const diagnose::Reading& reading : readings) known.push_back(reading.name);
      return Problem(fmt::format("there is no report {}{}", OneLine(name), NearNames(name, known)),
                     ColumnOf(name));
    }
    const diagnose::SignalTest test{stand, static_cast<int>(at - readings.begin())};
    return ReadValue(model_, test, Trimmed(text.substr(equals + 1)));
  }

  // "CLT and IAT", "CLT, IAT" into names; what is none of them, or empty.
  std::string Plugs(const std::string& text, std::vector<std::string>& plugs) const {
    std::string words = text;
    std::ranges::replace(words, ',', ' ');
    std::size_t begin = 0;
    while ((begin = words.find_first_not_of(' ', begin)) != std::string::npos) {
      const std::size_t end = std::min(words.find(' ', begin), words.size());
      const std::string word = words.substr(begin, end - begin);
      begin = end;
      if (word == "and") continue;
      if (!IsIn(PlugsOf(bench_), word)) return word;
      if (!IsIn(plugs, word)) plugs.push_back(word);
    }
    return "";
  }

  // Names have no '-' in them.
  static std::vector<std::string> Ends(const std::string& text) {
    const auto dash = text.find('-');
    if (dash == std::string::npos) return {Trimmed(text)};
    return {Trimmed(text.substr(0, dash)), Trimmed(text.substr(dash + 1))};
  }

  Said Measured(std::string text) const {
    const auto equals = text.find('=');
    if (equals == std::string::npos) {
      return Problem(fmt::format("'{}' has no '='; write as CMP.3=0.72 V", OneLine(text)));
    }
    diagnose::Probing probing;
    probing.situation = model_.rest();
    std::string places = Trimmed(text.substr(0, equals)), value = Trimmed(text.substr(equals + 1));
    const bool at_device = places.starts_with("device ");
    if (at_device) places = Trimmed(places.substr(7));
    const std::string step = CutOff(value, "@"), with = CutOff(value, " with "),
                      without = CutOff(value, " without ");
    const TypedValue given = ReadTyped(value);
    if (!given.problem.empty()) return Problem(given.problem, ColumnOf(value));
    const double number = SetMeter(given, probing);
    if (std::isnan(number)) {
      return Problem(fmt::format("{} is no unit of a meter here; known: V, mV, ohm, kohm, Mohm, A, "
                                 "mA",
                                 given.unit),
                     ColumnOf(value));
    }
    if (probing.meter == Meter::kVolts) {
      if (std::string why = WhyNoVolts(bench_, number); !why.empty()) return Problem(why, ColumnOf(value));
    }
    if (const Said bad = SetPlaces(places, at_device, probing); !bad.problem.empty()) return bad;
    if (const Said bad = SetPlugs(without, with, probing); !bad.problem.empty()) return bad;
    if (const Said bad = SetStep(step, probing); !bad.problem.empty()) return bad;
    return {Answered{probing, number}, "", "", 1};
  }

  // What stands behind a mark, which is taken off with it.
  static std::string CutOff(std::string& text, const std::string& mark) {
    const auto at = text.find(mark);
    if (at == std::string::npos) return "";
    const std::string rest = Trimmed(text.substr(at + mark.size()));
    text = Trimmed(text.substr(0, at));
    return rest.empty() ? "?" : rest;
  }

  static double SetMeter(const TypedValue& value, diagnose::Probing& probing) {
    const std::pair<Meter, const char*> meters[] = {
        {Meter::kVolts, "V"}, {Meter::kOhms, "ohm"}, {Meter::kAmperes, "A"}};
    for (const auto& [meter, unit] : meters) {
      if (std::isinf(value.number) && meter != Meter::kOhms) continue;
      const auto converted = std::isinf(value.number) ? std::optional<double>(value.number)
                                                      : Convert(value.number, value.unit, unit);
      if (!converted) continue;
      probing.meter = meter;
      return *converted;
    }
    return std::numeric_limits<double>::quiet_NaN();
  }

  Said SetPlaces(const std::string& text, bool at_device, diagnose::Probing& probing) const {
    const std::vector<std::string> places = Ends(text);
    for (const std::string& place : places) {
      if (!IsIn(PlacesOf(bench_), place)) return Problem(NoPlace(bench_, place), ColumnOf(place));
    }
    if (probing.meter == Meter::kVolts) {
      const std::set<std::string> on_bus = profile::PlacesOnBus(bench_);
      for (const std::string& place : places) {
        if (on_bus.contains(place)) return Problem(VoltsOfABus(place), ColumnOf(place));
      }
    }
    if (probing.meter == Meter::kAmperes && places.size() > 1) {
      return Problem(
          fmt::format("amperes are measured at one terminal; write as {}=0.42 A", places[0]));
    }
    if (at_device && probing.meter != Meter::kOhms) {
      return Problem("a device's own pins are hidden by its plug: only ohms are measured there");
    }
    const auto node = [&](const std::string& place) {
      const bool terminal = place.find('.') != std::string::npos;
      if (!at_device || !terminal) return terminal ? place + "~" : place;
      const std::string plug = place.substr(0, place.find('.'));
      if (!IsIn(probing.pulled, plug)) probing.pulled.push_back(plug);
      return place;
    };
    if (probing.meter == Meter::kOhms) {
      probing.situation = diagnose::RestOf(bench_);
      const std::string other = places.size() > 1 ? places[1] : "";
      probing.pulled = diagnose::PulledForOhms(bench_, places[0], other);
    }
    probing.plus = node(places[0]);
    if (places.size() > 1) probing.minus = node(places[1]);
    return {};
  }

  Said SetPlugs(const std::string& without, const std::string& with,
                diagnose::Probing& probing) const {
    if (const std::string bad = Plugs(without, probing.pulled); !bad.empty()) return NoPlug(bad);
    std::vector<std::string> on;
    if (const std::string bad = Plugs(with, on); !bad.empty()) return NoPlug(bad);
    std::erase_if(probing.pulled, [&](const std::string& plug) { return IsIn(on, plug); });
    return {};
  }

  Said SetStep(const std::string& step, diagnose::Probing& probing) const {
    if (step.empty()) return {};
    if (probing.meter == Meter::kOhms) {
      return Problem("ohms are measured with the key off, in no step: leave out @ " + step,
                     ColumnOf("@"));
    }
    std::vector<std::string> known;
    for (const diagnose::Situation& situation : model_.predictor().situations()) {
      if (situation.name == step) {
        probing.situation = situation;
        return {};
      }
      known.push_back(situation.name);
    }
    const std::string near = NearNames(step, known);
    return Problem(
        fmt::format("the record has no step {} in which all rests{}", OneLine(step),
                    near.empty() ? "; the first is " + (known.empty() ? "" : known[0]) : near),
        ColumnOf(step));
  }

  const MeasuredModel& model_;
  const profile::Bench& bench_;
  std::string_view text_;
};

std::string ValueAsSaid(const diagnose::Probing& probing, double value) {
  if (probing.meter == Meter::kVolts) return fmt::format("{:.6g} V", value);
  if (probing.meter == Meter::kAmperes) return fmt::format("{:.6g} A", value);
  return std::isinf(value) ? "open" : fmt::format("{:.6g} ohm", value);
}

std::string Listed(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : " and ") + name;
  return text;
}

std::string Text(const MeasuredModel& model, const diagnose::Probing& probing, double value) {
  const bool at_device =
      !probing.plus.ends_with("~") && probing.plus.find('.') != std::string::npos;
  std::string text = at_device ? "device " : "";
  text += diagnose::PlaceOf(probing.plus);
  if (!probing.minus.empty()) text += "-" + diagnose::PlaceOf(probing.minus);
  text += "=" + ValueAsSaid(probing, value);
  std::vector<std::string> usual;
  if (probing.meter == Meter::kOhms) {
    usual = diagnose::PulledForOhms(model.bench(), diagnose::PlaceOf(probing.plus),
                                    diagnose::PlaceOf(probing.minus));
  }
  std::vector<std::string> more, on;
  for (const std::string& plug : probing.pulled) {
    if (!IsIn(usual, plug)) more.push_back(plug);
  }
  for (const std::string& plug : usual) {
    if (!IsIn(probing.pulled, plug)) on.push_back(plug);
  }
  if (!more.empty()) text += " without " + Listed(more);
  if (!on.empty()) text += " with " + Listed(on);
  if (probing.situation.name != model.rest().name && probing.meter != Meter::kOhms) {
    text += " @ " + probing.situation.name;
  }
  return text;
}

std::string StandText(const MeasuredModel& model, const diagnose::Stand& stand) {
  if (!stand.pulled.empty()) return "unplug " + Listed(stand.pulled);
  if (!stand.bridge_a.empty()) return fmt::format("bridge {}-{}", stand.bridge_a, stand.bridge_b);
  for (std::size_t i = 0; i < stand.situation.stimuli.size(); ++i) {
    if (stand.situation.stimuli[i] == model.rest().stimuli[i]) continue;
    const profile::Stimulus& stimulus = model.bench().stimuli[i];
    return fmt::format("hold {} {:.6g} {}", stimulus.name, stand.situation.stimuli[i],
                       stimulus.unit);
  }
  return "hold " + model.bench().stimuli[0].name + " 0";
}

std::string Text(const MeasuredModel& model, const diagnose::SignalTest& test, double value) {
  const diagnose::Reading& reading = Nth(model.predictor().readings(), test.reading);
  const std::string said =
      std::isnan(value) ? "not sent" : fmt::format("{:.9g} {}", value, reading.unit);
  return fmt::format("{}: {}={}", StandText(model, test.stand), reading.name, Trimmed(said));
}

std::string Text(const MeasuredModel& model, const diagnose::ComesRight& test, double value) {
  return fmt::format("{}: {}", StandText(model, test.stand), value > 0.5 ? "yes" : "no");
}

std::string Text(const MeasuredModel& /*model*/, const diagnose::Jumps& test, double value) {
  return fmt::format("wiggle {}: {}", test.plug, value > 0.5 ? "yes" : "no");
}

// A number, or the word of a state; "not sent".
Said ReadReport(const MeasuredModel& model, const diagnose::SignalTest& test,
                const std::string& text) {
  const diagnose::Reading& reading = Nth(model.predictor().readings(), test.reading);
  const std::string word = Lower(text);
  if (word == "not sent" || word == "nothing") {
    return {Answered{test, std::numeric_limits<double>::quiet_NaN()}, "", "", 1};
  }
  for (const auto& [value, name] : reading.names) {
    if (word == Lower(name)) return {Answered{test, value}, "", "", 1};
  }
  const auto number = ParseNumberWithUnit(WithPoint(text));
  const std::string unit = number ? number->unit : "";
  const auto value = !number ? std::nullopt
                     : unit.empty() || unit == reading.unit || reading.unit.empty()
                         ? std::optional<double>(number->value)
                         : Convert(number->value, unit, reading.unit);
  if (!value) {
    return Problem(fmt::format("'{}' is no value of {}{}; if no message comes: not sent",
                               OneLine(text), reading.name,
                               reading.unit.empty() ? "" : " in " + reading.unit));
  }
  return {Answered{test, *value}, "", "", 1};
}

}  // namespace

Said ReadSaid(const MeasuredModel& model, std::string_view text) {
  return Reader(model, text).Read();
}

namespace {

// Asked for volts, a number is volts; more of them than any bench has may be millivolts. Of ohms and
// amperes a number may be either of two units.
bool IsVoltsAlone(const diagnose::Probing& probing, const std::string& value) {
  constexpr double kMostV = 60;
  const auto number = ParseNumberWithUnit(WithPoint(value));
  return probing.meter == Meter::kVolts && number && number->unit.empty() &&
         std::abs(number->value) <= kMostV;
}

}  // namespace

Said ReadValue(const MeasuredModel& model, const diagnose::Test& test, std::string_view text) {
  const std::string value = Trimmed(text);
  if (const auto* signal = std::get_if<diagnose::SignalTest>(&test)) {
    const auto equals = value.find('=');
    return ReadReport(model, *signal,
                      equals == std::string::npos ? value : Trimmed(value.substr(equals + 1)));
  }
  if (const auto* probing = std::get_if<diagnose::Probing>(&test)) {
    const TypedValue given = ReadTyped(IsVoltsAlone(*probing, value) ? value + " V" : value);
    if (!given.problem.empty()) return Problem(given.problem);
    const char* wanted = probing->meter == Meter::kVolts  ? "V"
                         : probing->meter == Meter::kOhms ? "ohm"
                                                          : "A";
    const auto number = std::isinf(given.number) ? std::optional<double>(given.number)
                                                 : Convert(given.number, given.unit, wanted);
    if (!number || (std::isinf(*number) && probing->meter != Meter::kOhms)) {
      return Problem(fmt::format("{} are asked for here, not '{}'",
                                 probing->meter == Meter::kVolts  ? "volts"
                                 : probing->meter == Meter::kOhms ? "ohms"
                                                                  : "amperes",
                                 OneLine(value)));
    }
    if (probing->meter == Meter::kVolts) {
      if (std::string why = WhyNoVolts(model.bench(), *number); !why.empty()) return Problem(why);
    }
    return {Answered{test, *number}, "", "", 1};
  }
  const std::string lower = Lower(value);
  const bool yes = lower == "y" || lower == "yes", no = lower == "n" || lower == "no";
  if (!yes && !no)
    return Problem(fmt::format("'{}' is no answer here; write yes or no", OneLine(value)));
  return {Answered{test, yes ? 1.0 : 0.0}, "", "", 1};
}

std::string SaidOf(const MeasuredModel& model, const Answered& answered) {
  return std::visit([&](const auto& test) { return Text(model, test, answered.value); },
                    answered.test);
}

}  // namespace drycrank::tools
