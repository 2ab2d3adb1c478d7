// SPDX-License-Identifier: Apache-2.0
//
// One section a paragraph, one setting a line, in the order in which a controller is set up:
// engine, wheels, sensors; then the display.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "profile/protection_words.h"
#include "proofread/settings.h"
#include "proofread/settings_display.h"
#include "proofread/words.h"
#include "types/angle.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

constexpr std::size_t kEdgesShown = 8;

std::string Line(const std::string& what, const std::string& value) {
  return fmt::format("  {:<20} {}\n", what, value);
}

// "301.5°, 58.5° before top dead centre"
std::string CrankAngleText(double deg) {
  return fmt::format("{:g}°, {:g}° before top dead centre", deg, 360 - WrapDeg(deg, 360));
}

// A device by its name, and by its label where it has one.
std::string Titled(const char* what, const std::string& name, const std::string& label) {
  const std::string title = fmt::format("\n{} {}", what, name);
  return label == name ? title : title + ": " + label;
}

std::string FiringText(const profile::Engine& engine, profile::Firing firing) {
  if (engine.strokes == 2) return "once in every turn";
  return firing == profile::Firing::kPaired
             ? "in pairs, once in every turn (paired): no cam tells the two turns apart"
             : "by itself, once in a cycle (sequential): a cam tells the two turns apart";
}

std::string StrokesText(const profile::Engine& engine) {
  if (engine.kind == profile::EngineKind::kPiston) return fmt::format("{}", engine.strokes);
  return "2: it is a rotary engine, each rotor fires once in every turn of its shaft";
}

std::string EngineText(const profile::Engine& engine, profile::Firing firing) {
  std::vector<std::string> fires;
  for (std::size_t i = 0; i < engine.firing_order.size(); ++i) {
    fires.push_back(
        fmt::format("{} at {:g}°", engine.firing_order[i], engine.firing_angles_deg[i]));
  }
  std::string text = "Engine\n" + Line("strokes", StrokesText(engine));
  text += Line("firing order", fmt::format("{}", fmt::join(engine.firing_order, "-")));
  text += Line("cylinders fire", fmt::format("{}", fmt::join(fires, ", ")));
  text += Line("each acts", FiringText(engine, firing));
  if (engine.trailing_deg) {
    text += Line("trailing plugs",
                 fmt::format("{:g}° behind the leading ones, as designed", *engine.trailing_deg));
  }
  return text + Line("ignition advance",
                     engine.advance_deg ? fmt::format("{:g}° before top dead centre, as designed",
                                                      *engine.advance_deg)
                                        : "not said");
}

std::string InputText(const TriggerSettings& t) {
  if (t.coil) {
    return t.minus.empty() ? "coil, crossing of zero" : "coil, crossing of zero, between two pins";
  }
  return fmt::format("switching output: {:.2f} V low, {:.2f} V high at the pin", t.low_v, t.high_v);
}

std::string TriggerText(const TriggerSettings& t) {
  const std::string pins = t.minus.empty() ? t.terminal : t.terminal + " and " + t.minus;
  std::string text = Titled("Trigger", t.name, t.label) + ", at " + pins + "\n";
  text +=
      Line("wheel", fmt::format("{}, on the {}", WheelWords(t.wheel.wheel), Word(t.wheel.shaft)));
  text += Line("input", InputText(t));
  text += Line("edge",
               fmt::format("{}: the {} of each tooth", Word(t.wheel.edge), Word(t.wheel.point)));
  if (t.wheel.both_edges) {
    text += Line("both edges", "are read: its teeth are told apart by their width alone");
  }
  text += Line("tooth 1, its edge", CrankAngleText(t.tooth_one_deg));
  text += Line("wheel's zero", CrankAngleText(t.wheel_zero_deg));
  if (t.edges_deg.size() <= kEdgesShown) {
    const bool rotor = t.wheel.shaft == profile::Shaft::kRotor;
    text += Line(rotor ? "edges in its turn" : "edges in the cycle",
                 fmt::format("{:g}°", fmt::join(t.edges_deg, "°, ")));
  }
  if (t.least_window_deg > 0) {
    text +=
        Line("window", fmt::format("{:g}° or more: so far this cam is turned", t.least_window_deg));
  }
  return text;
}

// A thermocouple gives so little.
bool InMillivolts(const TableSettings& t) {
  return std::all_of(t.volts_at.begin(), t.volts_at.end(),
                     [](const auto& at) { return std::abs(at.second) < 0.1; });
}

std::string VoltsText(double volts, bool in_millivolts) {
  return in_millivolts ? fmt::format("{:8.3f} mV", volts * 1e3) : fmt::format("{:7.4f} V", volts);
}

std::string TableText(const TableSettings& t) {
  std::string text = Titled("Sensor", t.name, t.label) + ", at " + t.terminal + "\n";
  if (t.pull_up_ohm > 0)
    text += Line("pull-up of the pin", WithUnit(fmt::format("{:g}", t.pull_up_ohm), "ohm"));
  if (!t.zero.empty()) text += Line("pressure is", t.zero);
  text += Line("volts are", t.of_reference ? "a share of the sensors' supply, times its 5 V"
                                           : "as they stand at the pin");
  for (const auto& [value, volts] : t.volts_at) {
    text += fmt::format("  {:>12}   {}\n", Value(value, t.unit), VoltsText(volts, InMillivolts(t)));
  }
  return text;
}

std::string PulseText(const PulseSettings& p) {
  std::string text = Titled("Sensor", p.name, p.label) + ", at " + p.terminal + "\n";
  text += Line("pulses", fmt::format("{:g} Hz at 0 and {:g} Hz more for each {}", p.hz_at_zero,
                                     p.hz_per_unit, DisplayUnit(p.unit)));
  if (const auto km_h = ConvertDifference(1, "km/h", p.unit); km_h && p.hz_at_zero == 0) {
    text += Line("", fmt::format("{:.1f} pulses a kilometre", p.hz_per_unit * *km_h * 3600));
  }
  text += Line("input", fmt::format("{:.2f} V low, {:.2f} V high at the pin", p.low_v, p.high_v));
  for (const auto& [degc, ms] : p.low_ms_at) {
    text +=
        Line("low time", fmt::format("{:g} ms at {} of {}", ms, Value(degc, "degC"), p.width_of));
  }
  return text;
}

// A line each, in the words that limits tries them by.
std::string ProtectionsText(const profile::Bench& bench) {
  if (bench.protections.empty()) return "";
  std::string text = "\nProtections\n";
  for (const profile::Protection& p : bench.protections) {
    text += Line(p.name, profile::InWords(bench, p));
  }
  return text;
}

}  // namespace

std::string SettingsText(const profile::Bench& bench, const Settings& settings) {
  std::string text = fmt::format(
      "{}: what to set, from what is built\n"
      "Angles are degrees of the crank after cylinder 1's top dead centre (after compression).\n\n",
      bench.name);
  text += EngineText(bench.engine, settings.firing);
  for (const auto& t : settings.triggers) text += TriggerText(t);
  for (const auto& t : settings.tables) text += TableText(t);
  for (const auto& p : settings.pulses) text += PulseText(p);
  text += ProtectionsText(bench);
  text += DisplayText(bench);
  text += "\nNot said by the bench\n";
  for (const std::string& sentence : settings.left_out) text += "  " + sentence + "\n";
  return text;
}

}  // namespace drycrank::proofread
