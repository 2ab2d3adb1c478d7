// SPDX-License-Identifier: Apache-2.0
//
// Keys, in this order. They stay; new ones may come. Units are in the names of the keys, or beside
// the number; what is not known is null.
//   format "drycrank settings", format_version 1, bench {name, title, file}
//   engine {strokes, firing_order [cylinder], firing_angles_deg [], advance_deg}
//   triggers [{name, label, terminal, minus, shaft, pickup ("hall", "coil"),
//     teeth, places, missing [place]   (places and missing: null, [] where the teeth stand unevenly)
//     tooth_edges_deg [[begin, end]] (of the wheel), wheel_zero_deg, edge, edge_is, tooth_one_deg,
//     edges_deg [], least_window_deg, low_v, high_v   (null of a coil)}]
//   tables [{name, label, terminal, unit, zero, pull_up_ohm, volts_are ("at_pin", "of_reference"),
//     rows [[volts, value]]}]
//   pulses [{name, label, terminal, unit, hz_at_zero, hz_per_unit, low_v, high_v, width_of,
//     low_ms [[ms, degC]]}]
//   protections [{name, label, watches, unit, side ("above", "below"), limit, release, delay_ms, needs_above_rpm,
//     does (sentence)}]
//   messages [{bus, bitrate_bps, name, id, extended, fd, length_bytes, sender, period_ms,
//     signals [{name, start_bit, length_bits, byte_order, is_signed, is_float, scale, offset, unit,
//       multiplex_value, values {raw: name}}]}]
//   left_out [sentence]
#include <nlohmann/json.hpp>

#include "profile/protection_words.h"
#include "proofread/settings.h"
#include "proofread/words.h"
#include "types/format_number.h"

namespace drycrank::proofread {
namespace {

using Json = nlohmann::ordered_json;

Json EngineJson(const profile::Engine& engine) {
  return {{"strokes", engine.strokes},
          {"firing_order", engine.firing_order},
          {"firing_angles_deg", engine.firing_angles_deg},
          {"advance_deg", engine.advance_deg ? Json(*engine.advance_deg) : Json(nullptr)}};
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

Json SignalJson(const profile::Signal& s) {
  Json values = Json::object();
  for (const auto& [raw, name] : s.values) values[std::to_string(raw)] = name;
  const bool selected = s.multiplex == profile::Multiplex::kSelected;
  return {{"name", s.name},
          {"start_bit", s.start_bit},
          {"length_bits", s.length_bits},
          {"byte_order", s.byte_order == profile::ByteOrder::kBig ? "big" : "little"},
          {"is_signed", s.is_signed},
          {"is_float", s.is_float},
          {"scale", s.scale},
          {"offset", s.offset},
          {"unit", s.unit},
          {"multiplex_value", selected ? Json(s.multiplex_value) : Json(nullptr)},
          {"values", std::move(values)}};
}

Json MessageJson(const profile::Bus& bus, const profile::Message& m) {
  Json signals = Json::array();
  for (const profile::Signal& signal : m.signals) signals.push_back(SignalJson(signal));
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

}  // namespace

std::string SettingsJson(const profile::Bench& bench, const Settings& settings) {
  Json out{{"format", "drycrank settings"},
           {"format_version", kSettingsFormat},
           {"bench", {{"name", bench.name}, {"title", bench.title}, {"file", bench.file}}},
           {"engine", EngineJson(bench.engine)}};
  for (const char* list : {"triggers", "tables", "pulses", "protections", "messages"}) {
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
  out["left_out"] = settings.left_out;
  return out.dump(1) + "\n";
}

}  // namespace drycrank::proofread
