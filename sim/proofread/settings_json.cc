// SPDX-License-Identifier: Apache-2.0
//
// Keys, in this order. They stay; new ones may come. Units are in the names of the keys, or beside
// the number; what is not known is null.
//   format "drycrank settings", format_version 1, bench {name, title, file}
//   engine {strokes, firing_order [cylinder], firing_angles_deg [], firing ("sequential", "paired"),
//     advance_deg, rotary, trailing_deg}
//   triggers [{name, label, terminal, minus, shaft, pickup ("hall", "coil"),
//     teeth, places, missing [place]   (places and missing: null, [] where the teeth stand unevenly)
//     tooth_edges_deg [[begin, end]] (of the wheel), wheel_zero_deg, edge, edge_is, tooth_one_deg,
//     both_edges, edges_deg [], least_window_deg, low_v, high_v   (null of a coil)}]
//   tables [{name, label, terminal, unit, zero, pull_up_ohm, volts_are ("at_pin", "of_reference"),
//     rows [[volts, value]]}]
//   pulses [{name, label, terminal, unit, hz_at_zero, hz_per_unit, low_v, high_v, width_of,
//     low_ms [[ms, degC]]}]
//   protections [{name, label, watches, unit, side ("above", "below"), limit, release, delay_ms, needs_above_rpm,
//     does (sentence)}]
//   messages [{bus, bitrate_bps, name, id, extended, fd, length_bytes, sender, period_ms,
//     signals [{name, start_bit, length_bits, byte_order, is_signed, is_float, scale, offset, unit,
//       multiplex ("selector", "selected" or ""), multiplex_value, values {raw: name}, not_available,
//       valid_signal, valid_equals, instead_of [signal]}]}]
//   readouts [{name, label, signal, unit, decimals, page, min, max, values {value: name}, warn_above,
//     warn_above_ends, warn_below, warn_below_ends, lamp, lamp_blinks_hz, lamp_latches,
//     acknowledged_by, keeps ("highest", "lowest", "nothing"), priority, dashes, dashes_after_ms,
//     not_available, bar {low, high, segments, lights ("filled", "half", "begun")}, or null}]
//   switching {dark_ms, lamp_test_ms, key, off_after_ms}, or null
//   left_out [sentence]
#include <nlohmann/json.hpp>

#include "profile/protection_words.h"
#include "proofread/settings.h"
#include "proofread/settings_display.h"
#include "proofread/words.h"
#include "types/format_number.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using Json = nlohmann::ordered_json;

Json EngineJson(const profile::Engine& engine, profile::Firing firing) {
  return {{"strokes", engine.strokes},
          {"firing_order", engine.firing_order},
          {"firing_angles_deg", engine.firing_angles_deg},
          {"firing", firing == profile::Firing::kPaired ? "paired" : "sequential"},
          {"advance_deg", engine.advance_deg ? Json(*engine.advance_deg) : Json(nullptr)},
          {"rotary", engine.kind == profile::EngineKind::kRotary},
          {"trailing_deg", engine.trailing_deg ? Json(*engine.trailing_deg) : Json(nullptr)}};
}

Json TriggerJson(const TriggerSettings& t) {
  const auto row = EvenRowOf(t.wheel.wheel);
  Json teeth = Json::array();
  for (const Tooth& tooth : t.wheel.wheel.teeth) {
    teeth.push_back(Json::array({tooth.begin_deg, tooth.end_deg}));
  }
  return {{"name", t.name},
          {"label", t.label},
          {"terminal", t.terminal},
          {"minus", t.minus},
          {"shaft", Word(t.wheel.shaft)},
          {"pickup", t.coil ? "coil" : "hall"},
          {"teeth", t.wheel.wheel.teeth.size()},
          {"places", row ? Json(row->places) : Json(nullptr)},
          {"missing", row ? Json(row->missing) : Json::array()},
          {"tooth_edges_deg", std::move(teeth)},
          {"wheel_zero_deg", t.wheel_zero_deg},
          {"edge", Word(t.wheel.edge)},
          {"edge_is", Word(t.wheel.point)},
          {"tooth_one_deg", t.tooth_one_deg},
          {"both_edges", t.wheel.both_edges},
          {"edges_deg", t.edges_deg},
          {"least_window_deg", t.least_window_deg},
          {"low_v", t.coil ? Json(nullptr) : Json(t.low_v)},
          {"high_v", t.coil ? Json(nullptr) : Json(t.high_v)}};
}

Json RowsJson(const std::vector<std::pair<double, double>>& at) {
  Json rows = Json::array();
  for (const auto& [value, input] : at) rows.push_back(Json::array({input, value}));
  return rows;
}

Json TableJson(const TableSettings& t) {
  return {{"name", t.name},
          {"label", t.label},
          {"terminal", t.terminal},
          {"unit", t.unit},
          {"zero", t.zero},
          {"pull_up_ohm", t.pull_up_ohm},
          {"volts_are", t.of_reference ? "of_reference" : "at_pin"},
          {"rows", RowsJson(t.volts_at)}};
}

Json PulseJson(const PulseSettings& p) {
  return {{"name", p.name},
          {"label", p.label},
          {"terminal", p.terminal},
          {"unit", p.unit},
          {"hz_at_zero", p.hz_at_zero},
          {"hz_per_unit", p.hz_per_unit},
          {"low_v", p.low_v},
          {"high_v", p.high_v},
          {"width_of", p.width_of},
          {"low_ms", RowsJson(p.low_ms_at)}};
}

Json ProtectionJson(const profile::Bench& bench, const profile::Protection& p) {
  return {{"name", p.name},
          {"label", p.label},
          {"watches", p.watches},
          {"unit", p.unit},
          {"side", p.side == profile::LimitSide::kAbove ? "above" : "below"},
          {"limit", p.limit},
          {"release", p.release},
          {"delay_ms", p.delay_ms},
          {"needs_above_rpm", p.needs_above_rpm},
          {"does", profile::ActionInWords(bench, p)}};
}

template <class Number>
Json OrNull(const std::optional<Number>& number) {
  return number ? Json(*number) : Json(nullptr);
}

template <class Names>
Json NamesJson(const Names& names) {
  Json json = Json::object();
  for (const auto& [value, name] : names) json[std::to_string(value)] = name;
  return json;
}

Json InsteadOfJson(const profile::Message& m, const profile::Signal& s) {
  Json others = Json::array();
  for (const int other : s.instead_of) others.push_back(Nth(m.signals, other).name);
  return others;
}

const char* MultiplexWord(profile::Multiplex multiplex) {
  if (multiplex == profile::Multiplex::kSelector) return "selector";
  return multiplex == profile::Multiplex::kSelected ? "selected" : "";
}

Json SignalJson(const profile::Message& m, const profile::Signal& s) {
  const bool selected = s.multiplex == profile::Multiplex::kSelected;
  return {
      {"name", s.name},
      {"start_bit", s.start_bit},
      {"length_bits", s.length_bits},
      {"byte_order", s.byte_order == profile::ByteOrder::kBig ? "big" : "little"},
      {"is_signed", s.is_signed},
      {"is_float", s.is_float},
      {"scale", s.scale},
      {"offset", s.offset},
      {"unit", s.unit},
      {"multiplex", MultiplexWord(s.multiplex)},
      {"multiplex_value", selected ? Json(s.multiplex_value) : Json(nullptr)},
      {"values", NamesJson(s.values)},
      {"not_available", OrNull(s.not_available)},
      {"valid_signal", s.valid_signal >= 0 ? Json(Nth(m.signals, s.valid_signal).name) : Json()},
      {"valid_equals", s.valid_signal >= 0 ? Json(s.valid_equals) : Json()},
      {"instead_of", InsteadOfJson(m, s)}};
}

Json MessageJson(const profile::Bus& bus, const profile::Message& m) {
  Json signals = Json::array();
  for (const profile::Signal& signal : m.signals) signals.push_back(SignalJson(m, signal));
  return {{"bus", bus.name},
          {"bitrate_bps", bus.bitrate_bps},
          {"name", m.name},
          {"id", m.id},
          {"extended", m.extended},
          {"fd", m.fd},
          {"length_bytes", m.length_bytes},
          {"sender", profile::Name(m.sender)},
          {"period_ms", m.period_ms > 0 ? Json(m.period_ms) : Json(nullptr)},
          {"signals", std::move(signals)}};
}

Json BarJson(const std::optional<profile::Bar>& bar) {
  if (!bar) return nullptr;
  return {{"low", bar->low},
          {"high", bar->high},
          {"segments", bar->segments},
          {"lights", Word(bar->lights)}};
}

Json ReadoutJson(const profile::Readout& r) {
  return {{"name", r.name},
          {"label", r.label},
          {"signal", r.message + "." + r.signal},
          {"unit", r.unit},
          {"decimals", r.decimals},
          {"page", r.page},
          {"min", OrNull(r.min)},
          {"max", OrNull(r.max)},
          {"values", NamesJson(r.values)},
          {"warn_above", OrNull(r.warn_above)},
          {"warn_above_ends", OrNull(r.warn_above_ends)},
          {"warn_below", OrNull(r.warn_below)},
          {"warn_below_ends", OrNull(r.warn_below_ends)},
          {"lamp", r.lamp},
          {"lamp_blinks_hz", r.lamp_blinks_hz},
          {"lamp_latches", r.lamp_latches},
          {"acknowledged_by", r.acknowledged_by},
          {"keeps", Word(r.keeps)},
          {"priority", r.priority},
          {"dashes", r.dashes},
          {"dashes_after_ms", r.dashes_after_ms},
          {"not_available", r.not_available.empty() ? r.dashes : r.not_available},
          {"bar", BarJson(r.bar)}};
}

Json SwitchingJson(const std::optional<profile::Switching>& s) {
  if (!s) return nullptr;
  return {{"dark_ms", s->dark_ms},
          {"lamp_test_ms", s->lamp_test_ms},
          {"key", s->key},
          {"off_after_ms", s->off_after_ms}};
}

}  // namespace

std::string SettingsJson(const profile::Bench& bench, const Settings& settings) {
  Json out{{"format", "drycrank settings"},
           {"format_version", kSettingsFormat},
           {"bench", {{"name", bench.name}, {"title", bench.title}, {"file", bench.file}}},
           {"engine", EngineJson(bench.engine, settings.firing)}};
  for (const char* list : {"triggers", "tables", "pulses", "protections", "messages", "readouts"}) {
    out[list] = Json::array();
  }
  for (const auto& t : settings.triggers) out["triggers"].push_back(TriggerJson(t));
  for (const auto& t : settings.tables) out["tables"].push_back(TableJson(t));
  for (const auto& p : settings.pulses) out["pulses"].push_back(PulseJson(p));
  for (const profile::Protection& p : bench.protections) {
    out["protections"].push_back(ProtectionJson(bench, p));
  }
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& m : bus.messages) {
      if (IsForDisplay(m)) out["messages"].push_back(MessageJson(bus, m));
    }
  }
  for (const profile::Readout& r : bench.readouts) out["readouts"].push_back(ReadoutJson(r));
  out["switching"] = SwitchingJson(bench.switching);
  out["left_out"] = settings.left_out;
  return out.dump(1) + "\n";
}

}  // namespace drycrank::proofread
