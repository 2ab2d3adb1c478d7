// SPDX-License-Identifier: Apache-2.0
#include "tests/report/demo_report.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace drycrank::report {
namespace {

using check::Outcome;
namespace expect = profile::expect;

profile::Bench DemoBench() {
  profile::Bench b;
  b.file = "profiles/benches/meadow_runner.yaml";
  b.name = "meadow_runner";
  b.title = "Meadow runner, inline four (invented)";
  b.stimuli = {{"engine_speed", "Engine speed", "rpm", 0, 0, 20000, {}, {}},
               {"coolant_temperature", "Coolant temperature", "degC", 20, -40, 150, {}, {}},
               {"boost", "Boost", "kPa", 0, -100, 300, profile::PressureReference::kGauge, {}}};
  b.connectors = {{"ECU", "controller", "", {"12", "13", "30", "31"}, {}},
                  {"CLT", "coolant sensor", "", {"1", "2"}, {}},
                  {"CMP", "cam sensor", "", {"1", "2"}, {}}};
  const auto wire = [&](const char* circuit, const char* from, const char* to, const char* colour) {
    profile::Wire w;
    w.circuit = circuit;
    w.from = from;
    w.to = to;
    w.colour = colour;
    w.gauge = "0.5 mm2";
    b.wires.push_back(w);
  };
  wire("coolant_signal", "CLT.1", "ECU.12", "violet/white");
  wire("sensor_ground", "CLT.2", "S_GND", "brown");
  wire("sensor_ground", "S_GND", "ECU.13", "brown");
  wire("cam_signal", "CMP.1", "ECU.30", "grey/red");
  wire("cam_return", "CMP.2", "ECU.31", "grey");
  profile::Message temps;
  temps.name = "engine_temps";
  temps.signals = {{}};
  temps.signals[0].name = "coolant";
  temps.signals[0].unit = "degC";
  profile::Message status;
  status.name = "engine_status";
  status.signals = {{}};
  status.signals[0].name = "sync";
  status.signals[0].values = {{0, "stopped"}, {1, "cranking"}, {2, "half"}, {3, "synchronised"}};
  b.buses = {{"vehicle", 500000, 2000000, {temps, status}, {}}};
  profile::Display display;
  display.gauges = {{}};
  display.gauges[0].name = "boost";
  display.gauges[0].label = "Boost";
  display.gauges[0].unit = "kPa";
  b.display = display;
  return b;
}

// 20 s at 30 points a second: wanted goes from 20 to 90 degC, reported follows, or is 51 too high.
check::Evidence CoolantTrace(bool wrong) {
  check::Evidence e{"engine_temps.coolant", "degC", {}};
  for (int i = 0; i < 600; ++i) {
    const double t_s = i / 30.0;
    const double wanted = std::min(90.0, 20 + 5 * t_s);
    const double reported =
        wanted + 0.6 * std::sin(t_s * 3) + (wrong && t_s > 8 ? std::min(51.0, 30 * (t_s - 8)) : 0);
    e.points.push_back({FromSeconds(t_s), reported, wanted, 2});
  }
  return e;
}

check::Evidence SyncTrace() {
  check::Evidence e{"engine_status.sync", "", {}};
  for (int i = 0; i < 100; ++i) {
    const double state = i < 10 ? 0 : i < 30 ? 1 : i < 60 ? 2 : i % 7 == 0 ? 1 : 2;
    e.points.push_back({FromMs(20.0 * i), state, 3, 0});
  }
  return e;
}

// 60-2 crank as a coil sees it, and a switching cam, around the gap.
ScopePicture CrankAndCam() {
  ScopePicture p{"Crank and cam around the first gap", FromMs(500), FromMs(560), {}, {}};
  ScopeChannel crank{"crank at ECU.20", "V", false, {}};
  ScopeChannel cam{"cam at ECU.30", "V", false, {}};
  for (int i = 0; i < 6000; ++i) {
    const double tooth = i / 75.0;
    const bool gap = std::fmod(tooth, 60) >= 38 && std::fmod(tooth, 60) < 40;
    const double v = gap ? 0.02 : 2.1 * std::sin(2 * std::numbers::pi * tooth);
    crank.points.emplace_back(FromMs(495 + i * 0.0125), v);
  }
  cam.points = {{FromMs(490), 5},   {FromMs(524), 5},    {FromMs(524.01), 0.1},
                {FromMs(541), 0.1}, {FromMs(541.01), 5}, {FromMs(580), 5}};
  ScopeChannel gap{"gap seen", "", true, {{0, 0}, {FromMs(526), 1}, {FromMs(527), 0}}};
  ScopeChannel sync{"synchronised", "", true, {{0, 0}, {FromMs(541), 1}}};
  p.channels = {crank, cam, gap, sync};
  p.marks = {{FromMs(526.5), "tooth 1"}, {FromMs(527), "gap found"}, {FromMs(541), "synchronised"}};
  return p;
}

profile::Fault DemoFault() {
  profile::Fault f;
  f.name = "cam_leads_swapped";
  f.kind = profile::fault::TerminalsSwapped{};
  f.at = "CMP.1";
  f.with = "CMP.2";
  f.during = {"idle"};
  return f;
}

void AddExpectations(DemoReport& d) {
  auto& coolant = d.Add("coolant_on_bus", d.CoolantFollows(), Outcome::kFailed, -49, "degC");
  coolant.means =
      "The controller takes the coolant for far hotter than it is: it will cut power, "
      "and the fan will never stop. Look for resistance in the coolant circuit.";
  coolant.proves = {"coolant_signal", "sensor_ground"};
  d.report.verdicts.back().detail = "reported 141.0 °C, should be 90.0 °C ± 2.0 °C";
  d.report.verdicts.back().worst_ns = FromSeconds(14.2);
  d.report.verdicts.back().evidence = CoolantTrace(true);

  const expect::Synchronised synchronised{
      {{0, 1, 0}, "engine_status.sync equals synchronised", profile::Compare::kEqual, 3}, 4};
  auto& sync = d.Add("synchronises", synchronised, Outcome::kFailed, -3, "turns");
  sync.means =
      "The controller never knows which stroke it is in: the engine will not start. "
      "The two leads of the cam sensor may be swapped.";
  sync.proves = {"cam_signal", "cam_return"};
  d.report.verdicts.back().detail = "engine_status.sync was not synchronised after 7 turns";
  d.report.verdicts.back().worst_ns = FromSeconds(1.98);
  d.report.verdicts.back().evidence = SyncTrace();

  auto& boost = d.Add("boost_shown", expect::DisplayShows{0, {2, {}, 1, true}, {}, {}},
                      Outcome::kNotObserved, 0, "");
  boost.means = "The display said nothing about boost.";
  d.report.verdicts.back().detail = "the display sent nothing";

  d.Add("coolant_when_cold", d.CoolantFollows(), Outcome::kMet, 1.4, "degC") = coolant;
  d.scenario.expectations.back().name = "coolant_when_cold";
  d.report.verdicts.back().evidence = CoolantTrace(false);
  d.report.verdicts.back().worst_ns = FromSeconds(5.2);
  d.report.verdicts.back().detail = "farthest: 46.6 °C, should be 46.0 °C ± 2.0 °C";
  d.report.verdicts.back().judged = 600;

  d.Add("temps_period", expect::MessagePresent{{}, "engine_temps", 100, 5}, Outcome::kMet, 4.5,
        "ms");
  d.Add("temps_counter", expect::Counter{{}, "engine_temps"}, Outcome::kMet, 0, "count");
  expect::Follows tight = d.CoolantFollows();
  tight.signal = {};
  d.Add("coolant_tight", tight, Outcome::kMet, 0.1, "degC");
  d.report.verdicts.back().evidence = CoolantTrace(false);
}

}  // namespace

DemoReport::DemoReport() : bench(DemoBench()) {
  scenario.file = "profiles/scenarios/cam_leads_swapped.yaml";
  scenario.name = "cam_leads_swapped";
  scenario.title = "Start and warm up, cam leads swapped";
  scenario.faults = {DemoFault()};
  scenario.expectations.reserve(100);  // Add hands out references
  report.version = "0.1.0";
  report.hint_command = "drycrank run profiles/scenarios/cam_leads_swapped.yaml --seed 7";
  report.bench = &bench;
  report.scenario = &scenario;
  report.seed = 7;
  report.duration_ns = FromSeconds(20);
  report.mode = "virtual time, stand-ins";
  using check::CircuitState;
  using check::Gap;
  const check::CircuitWord coolant{0, "idle", FromSeconds(4), "", -49, "degC"};
  const check::CircuitWord position{1, "crank", FromSeconds(2), "", -3, "turns"};
  const check::CircuitWord whole{3, "idle", FromSeconds(20), "0 rpm", 750, "rpm"};
  report.coverage = {
      {"coolant_signal", CircuitState::kFailed, Gap::kNone, "", {}, {coolant}, {0, 3}},
      {"sensor_ground",
       CircuitState::kNotShown,
       Gap::kRepairFirst,
       "repair coolant_signal first",
       {},
       {},
       {0}},
      {"cam_signal", CircuitState::kFailed, Gap::kNone, "", {}, {position}, {1}},
      {"cam_return", CircuitState::kProven, Gap::kNone, "", {whole}, {}, {3}},
      {"fuel_signal"}};
  report.steps = {{"crank", 0, FromSeconds(2), ""},
                  {"idle", FromSeconds(2), FromSeconds(20),
                   "waited 3.0 s in vain for engine_status.sync equals synchronised"}};
  report.pictures = {CrankAndCam()};
  report.buses = {{"vehicle", "inproc", 4000, 3998, 0, 2}};
  report.messages = {{"vehicle", "temps", 100 * kNsPerMs, 200, 1, 2, 1'080'000, 800'000},
                     {"vehicle", "status", 0, 20, 0, 0, -1, -1, 90'000, 95'000, 99'000, 120'000}};
  report.notes = {"Two frames were lost while the interface was down."};
  AddExpectations(*this);
}

profile::expect::Follows DemoReport::CoolantFollows() const {
  return {{0, 0, 0}, "engine_temps.coolant", {1, {}, 2, false}};
}

profile::Expectation& DemoReport::Add(const std::string& name, profile::ExpectationKind kind,
                                      check::Outcome outcome, double margin,
                                      const std::string& unit) {
  profile::Expectation e;
  e.name = name;
  e.kind = kind;
  check::Verdict v;
  v.expectation = static_cast<int>(scenario.expectations.size());
  v.outcome = outcome;
  v.margin = margin;
  v.margin_unit = unit;
  v.judged = 100;
  v.worst_ns = FromSeconds(1);
  scenario.expectations.push_back(e);
  report.verdicts.push_back(v);
  return scenario.expectations.back();
}

void MakeHealthy(DemoReport& demo) {
  for (auto& verdict : demo.report.verdicts) {
    verdict.outcome = check::Outcome::kMet;
    verdict.margin = std::fabs(verdict.margin);
  }
  for (auto& circuit : demo.report.coverage) {
    circuit.against.clear();
    circuit.state = check::CircuitState::kProven;
    circuit.gap = check::Gap::kNone;
  }
  demo.scenario.faults.clear();
  demo.report.notes.clear();
}

}  // namespace drycrank::report
