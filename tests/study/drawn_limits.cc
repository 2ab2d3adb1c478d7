// SPDX-License-Identifier: Apache-2.0
#include "tests/study/drawn_limits.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>
#include <vector>

#include "profile/load.h"
#include "tests/support/scratch_folder.h"
#include "types/diagnostic.h"

namespace drycrank::study {
namespace {

constexpr double kPullUpOhm = 2200, kR25Ohm = 2500, kKelvin = 273.15;

class Drawer {
 public:
  explicit Drawer(std::uint64_t seed) : random_(seed) {}

  std::string Draw() {
    DrawEngine();
    DrawSensors();
    const int count = Whole(1, 4);
    std::vector<int> watched{0, 1, 2, 3};
    std::shuffle(watched.begin(), watched.end(), random_);
    for (int i = 0; i < count; ++i) Protection(watched[static_cast<std::size_t>(i)]);
    return Text();
  }

 private:
  int Whole(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
  double Between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  bool Chance(double share) { return Between(0, 1) < share; }

  void DrawEngine() {
    strokes_ = Chance(0.25) ? 2 : 4;
    const int cylinders = Whole(1, 6);
    for (int i = 2; i <= cylinders; ++i) order_.push_back(i);
    std::shuffle(order_.begin(), order_.end(), random_);
    order_.insert(order_.begin(), 1);
    const int teeth[] = {24, 36, 60};
    teeth_ = teeth[Whole(0, 2)];
  }

  void DrawSensors() {
    pressure_max_ = Between(400, 1200);
    absolute_ = Chance(0.3);
    beta_ = Between(3200, 4200);
    hz_per_unit_ = Between(3, 9);
    filter_ms_ = Chance(0.5) ? Between(10, 80) : 0;
  }

  // Volts at the pin of a thermistor behind the pull-up, by R = R25 exp(B (1/T - 1/298.15 K)).
  std::string ThermistorTable() const {
    std::vector<std::string> rows;
    for (double degc = 150; degc >= -40; degc -= 2) {
      const double ohm = kR25Ohm * std::exp(beta_ * (1 / (degc + kKelvin) - 1 / 298.15));
      rows.push_back(fmt::format("[{:.5f}, {:g}]", 5 * ohm / (ohm + kPullUpOhm), degc));
    }
    return fmt::format("[{}]", fmt::join(rows, ", "));
  }

  // 0 pressure, 1 temperature, 2 road speed, 3 engine speed
  void Protection(int what) {
    static const char* const kWatches[] = {"pressure", "temperature", "wheel", "engine_speed"};
    const std::string name = fmt::format("guard_{}", what);
    const bool below = what == 0 ? Chance(0.7) : what == 2 ? Chance(0.3) : false;
    const double limit = what == 0   ? Between(0.3, 0.6) * pressure_max_ + (absolute_ ? 100 : 0)
                         : what == 1 ? Between(70, 110)
                         : what == 2 ? Between(80, 180)
                                     : Between(4500, 7500);
    const double hysteresis = Chance(0.3) ? 0 : Between(0.01, 0.1) * limit;
    const double delay_ms = Chance(0.3) ? 0 : std::floor(Between(50, 1500));
    const double needs = what == 3 || Chance(0.3) ? 0 : std::floor(Between(1000, 2500));
    std::string text = fmt::format(
        "  {}: {{watches: {}, {}: {:.3f}, release: {:.3f}, delay_ms: {:g}, needs_above_rpm: {:g}, ",
        name, kWatches[what], below ? "below" : "above", limit,
        below ? limit + hysteresis : limit - hysteresis, delay_ms, needs);
    if (what == 2) text += "stimulus: road_speed, ";
    if (what == 0 && absolute_) text += "absolute: true, ";
    protections_ += text + Action(what, needs, name) + "}\n";
    signals_ +=
        fmt::format("       {}: {{start_bit: {}, length_bits: 1, carries: protection.{}}}\n", name,
                    8 + what, name);
  }
  std::string Action(int what, double needs, const std::string& name) {
    switch (Whole(what == 3 ? 1 : 0, 4)) {
      case 0:
        return fmt::format("action: limit_speed, limit_to_rpm: {:.0f}",
                           std::max(2200.0, 1.4 * needs) + Between(0, 500));
      case 1:
        return "action: spark_cut";
      case 2:
        return "action: fuel_cut";
      case 3:
        if (!pump_taken_) {
          pump_taken_ = true;
          return "action: output_off, output: pump";
        }
        return "action: spark_cut";
      default:
        break;
    }
    return fmt::format("action: lamp, signal: status.{}", name);
  }

  std::string Text() const {
    const bool cam = strokes_ == 4;
    std::string text = fmt::format(
        "kind: bench\nformat: 1\nname: drawn\n"
        "engine: {{strokes: {}, firing_order: [{}], compression_ripple: 0.15}}\n",
        strokes_, fmt::join(order_, ", "));
    text += fmt::format(
        "stimuli:\n"
        "  pressure: {{unit: kPa, reference: gauge, initial: {0:.3f}, min: -20, max: {1:.3f}}}\n"
        "  temperature: {{unit: degC, initial: 60, min: -40, max: 140}}\n"
        "  road_speed: {{unit: km/h, initial: 120, min: 0, max: 300}}\n",
        0.5 * pressure_max_, pressure_max_);
    text +=
        "supplies:\n  battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.8}\n"
        "connectors:\n  BAT: {pins: 2}\n  ECU: {pins: 40}\n  CKP: {pins: 3}\n  CMP: {pins: 3}\n"
        "  PRS: {pins: 3}\n  TMP: {pins: 2}\n  WHL: {pins: 3}\n  PMP: {pins: 2}\n"
        "splices: [G, V5, V12]\n"
        "loads:\n  pump: {plus: PMP.1, minus: PMP.2, ohm: 3}\n";
    const std::string wheel = fmt::format("{{teeth: {0}, missing: [{0}]}}", teeth_);
    const std::string lobes = "{tooth_edges_deg: [[100, 140]]}";
    text += fmt::format(
        "triggers:\n  crank: {{shaft: crank, wheel: {}, offset_deg: 300, pickup: {{kind: hall, "
        "supply: CKP.1, ground: CKP.2, signal: CKP.3}}}}\n",
        wheel);
    if (cam) {
      text += fmt::format(
          "  cam: {{shaft: cam, wheel: {}, offset_deg: 20, pickup: {{kind: hall, supply: CMP.1, "
          "ground: CMP.2, signal: CMP.3}}}}\n",
          lobes);
    }
    const double zero = absolute_ ? 80 : -20;
    const double span = pressure_max_ + (absolute_ ? 110 : 10);
    text += fmt::format(
        "sensors:\n"
        "  pressure: {{measures: pressure, kind: ratiometric, reference: {}, low_value: {:.3f}, "
        "high_value: {:.3f}, supply: PRS.1, ground: PRS.2, signal: PRS.3}}\n"
        "  temperature: {{measures: temperature, kind: ntc, beta: {{r25_ohm: {:g}, beta_k: "
        "{:.2f}}}, "
        "plus: TMP.1, minus: TMP.2}}\n"
        "  wheel: {{measures: road_speed, kind: frequency, hz_per_unit: {:.4f}, supply: WHL.1, "
        "ground: WHL.2, signal: WHL.3}}\n",
        absolute_ ? "absolute" : "gauge", zero, span, kR25Ohm, beta_, hz_per_unit_);
    text += Wires(cam);
    text += fmt::format(
        "buses:\n  vehicle:\n    bitrate_bps: 500 kbit/s\n    messages:\n     status:\n      id: "
        "0x100\n"
        "      sender: controller\n      period_ms: 50\n      signals:\n"
        "       engine_speed: {{start_bit: 16, length_bits: 16, scale: 0.5, unit: rpm, carries: "
        "engine_speed}}\n{}",
        signals_);
    text += Controller(cam, wheel, lobes, zero, span);
    return text + "protections:\n" + protections_;
  }

  static std::string Wires(bool cam) {
    std::vector<std::pair<std::string, std::string>> wires{
        {"BAT.1", "V12"}, {"V12", "ECU.1"},   {"ECU.2", "BAT.2"},  {"ECU.3", "G"},
        {"ECU.4", "V5"},  {"CKP.1", "V12"},   {"CKP.2", "G"},      {"CKP.3", "ECU.10"},
        {"PRS.1", "V5"},  {"PRS.2", "G"},     {"PRS.3", "ECU.20"}, {"TMP.1", "ECU.21"},
        {"TMP.2", "G"},   {"WHL.1", "V12"},   {"WHL.2", "G"},      {"WHL.3", "ECU.22"},
        {"PMP.1", "V12"}, {"PMP.2", "ECU.30"}};
    if (cam) {
      wires.insert(wires.end(), {{"CMP.1", "V12"}, {"CMP.2", "G"}, {"CMP.3", "ECU.12"}});
    }
    std::string text = "wires:\n";
    int number = 0;
    for (const auto& [from, to] : wires) {
      text += fmt::format("  - {{circuit: w{}, from: {}, to: {}, length_m: 1, gauge: 0.5 mm2}}\n",
                          ++number, from, to);
    }
    return text;
  }

  std::string Controller(bool cam, const std::string& wheel, const std::string& lobes, double zero,
                         double span) const {
    std::string text =
        "controller:\n  supply: ECU.1\n  ground: ECU.2\n  sensor_grounds: [ECU.3]\n"
        "  references: [{terminal: ECU.4, voltage_v: 5}]\n  inputs:\n"
        "    - {terminal: ECU.10, pull_up_ohm: 2200}\n"
        "    - {terminal: ECU.20, input_ohm: 470000}\n"
        "    - {terminal: ECU.21, pull_up_ohm: 2200}\n"
        "    - {terminal: ECU.22, pull_up_ohm: 4700}\n";
    if (cam) text += "    - {terminal: ECU.12, pull_up_ohm: 2200}\n";
    text += fmt::format(
        "  analog:\n    pressure: {{unit: kPa, terminal: ECU.20, value_at_volts: [[0.5, {:.3f}], "
        "[4.5, {:.3f}]], low_v: 0.25, high_v: 4.75, filter_ms: {:.1f}, fallback: {:.3f}}}\n"
        "    temperature: {{unit: degC, terminal: ECU.21, value_at_volts: {}, low_v: 0.05, high_v: "
        "4.97, fallback: 60}}\n",
        zero, span, filter_ms_, 0.5 * span, ThermistorTable());
    text += fmt::format(
        "  frequency:\n    wheel: {{unit: km/h, terminal: ECU.22, value_at_hz: [[0, 0], [{:.4f}, "
        "300]], zero_is_valid: true}}\n",
        300 * hz_per_unit_);
    text += fmt::format(
        "  triggers:\n    crank: {{terminal: ECU.10, shaft: crank, wheel: {}, offset_deg: 300}}\n",
        wheel);
    if (cam) {
      text += fmt::format(
          "    cam: {{terminal: ECU.12, shaft: cam, wheel: {}, offset_deg: 20, window_deg: 40}}\n",
          lobes);
    }
    text += "  outputs:\n    pump: {terminal: ECU.30, kind: low_side, load: pump}\n";
    text += fmt::format(
        "  decoder: {{primary: crank, cams: [{}], advance_deg: {:.1f}, dwell_ms: 2.5, "
        "injection_ms: {:.2f}}}\n",
        cam ? "cam" : "", 12.0, 3.0);
    return text;
  }

  std::mt19937_64 random_;
  int strokes_ = 4, teeth_ = 36;
  std::vector<int> order_;
  double pressure_max_ = 0, beta_ = 0, hz_per_unit_ = 0, filter_ms_ = 0;
  bool absolute_ = false, pump_taken_ = false;
  std::string protections_, signals_;
};

}  // namespace

std::string DrawLimitsBench(std::uint64_t seed) { return Drawer(seed).Draw(); }

profile::Bench LoadLimitsBench(const std::string& text) {
  const ScratchFolder folder;
  const std::string path = folder.Path("bench.yaml");
  std::ofstream(path) << text;
  profile::LoadedBench loaded = profile::LoadBench(path);
  for (const Diagnostic& problem : loaded.problems)
    ADD_FAILURE() << Format(problem) << "\n" << text;
  return loaded.bench ? std::move(*loaded.bench) : profile::Bench();
}

}  // namespace drycrank::study
