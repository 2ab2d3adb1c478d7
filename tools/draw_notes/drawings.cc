// SPDX-License-Identifier: Apache-2.0
#include "tools/draw_notes/drawings.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "harness/harness.h"
#include "profile/load.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "report/scope.h"
#include "report/svg_plot.h"
#include "schedule/draw.h"
#include "sensor/sensor.h"
#include "study/play.h"
#include "tools/draw_notes/bench_view.h"
#include "tools/draw_notes/chart.h"
#include "types/clock.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

using study::ScopeWindow;

std::string Picture(const std::string& title, ScopeWindow window,
                    std::vector<report::ScopeChannel> channels,
                    std::vector<std::pair<TimeNs, std::string>> marks = {}) {
  const report::ScopePicture picture{title, window.begin_ns, window.end_ns, std::move(channels),
                                     std::move(marks)};
  return StandAlone(report::DrawScope(picture), title);
}

profile::Fault Fault(const profile::FaultKind& kind, const std::string& at,
                     const std::string& with = "") {
  profile::Fault fault;
  fault.name = profile::Name(kind);
  fault.kind = kind;
  fault.at = at;
  fault.with = with;
  return fault;
}

ScopeWindow Ms(double begin_ms, double end_ms) { return {FromMs(begin_ms), FromMs(end_ms)}; }

// 1000 r/min: 6 degrees a millisecond, a pitch of the 60-2 wheel each millisecond. The gap of the
// hill-climb car's wheel ends at 300 degrees of crank: at 50 ms, and every 60 ms from there.
constexpr double kSpeedRpm = 1000;

Drawing CrankCoil(BenchView& car, bool swapped) {
  const ScopeWindow window = Ms(219, 239);
  Conditions conditions{kSpeedRpm, false, {}, {}};
  if (swapped) {
    conditions.faults = {Fault(profile::fault::TerminalsSwapped{}, "CKP.1", "CKP.2")};
  }
  car.Play(conditions, window);
  std::vector<std::pair<TimeNs, std::string>> marks;
  for (const TimeNs centre_ns : car.ToothCentres("crank")) marks.emplace_back(centre_ns, "");
  const TimeNs gap_ends_ns = FromMs(230);
  for (std::size_t i = 0; i + 1 < marks.size(); ++i) {
    if (marks[i].first < gap_ends_ns && marks[i + 1].first > gap_ends_ns) {
      marks[i].second = "centre of tooth 58";
      marks[i + 1].second = "centre of tooth 1";
    }
  }
  return {swapped ? "crank-60-2-vr-swapped.svg" : "crank-60-2-vr.svg",
          Picture(swapped ? "60-2 wheel, variable reluctance, leads swapped, 1000 r/min"
                          : "60-2 wheel, variable reluctance, leads right, 1000 r/min",
                  window, {car.Metal("crank"), car.TriggerVolts("crank")}, marks)};
}

Drawing CoilOverSpeed(BenchView& car) {
  Curve peak{"highest voltage", {}};
  for (const double rpm : {50., 100., 200., 400., 700., 1000., 1250., 1500.}) {
    const ScopeWindow window = Ms(0, 2.2 * 60e3 / rpm);  // two turns
    car.Play({rpm, false, {}, {}}, window);
    double highest_v = 0;
    for (const auto& [t_ns, v] : car.TriggerVolts("crank").points) {
      highest_v = std::max(highest_v, v);
    }
    peak.points.emplace_back(rpm, highest_v);
  }
  Chart chart;
  chart.title = "Amplitude from cranking to 1500 r/min";
  chart.x_caption = "speed, r/min";
  chart.y_caption = "highest voltage at the controller, V";
  chart.x_high = 1500;
  chart.y_high = 7;
  chart.curves = {peak};
  chart.levels = {{0.5, "0.5 V: arms here"}};
  return {"crank-60-2-vr-speed.svg", StandAlone(DrawChart(chart), chart.title)};
}

Drawing CrankHall(BenchView& hall) {
  const ScopeWindow window = Ms(170, 190);
  hall.Play({kSpeedRpm, false, {}, {}}, window);
  return {"crank-60-2-hall.svg", Picture("60-2 wheel, Hall, 1 kΩ to 5 V, 1000 r/min", window,
                                         {hall.Metal("crank"), hall.TriggerVolts("crank")})};
}

Drawing CamHall(BenchView& hall, bool swapped) {
  const ScopeWindow window = Ms(120, 361);
  Conditions conditions{kSpeedRpm, false, {}, {}};
  if (swapped) {
    conditions.faults = {Fault(profile::fault::TerminalsSwapped{}, "CMP.2", "CMP.3")};
  }
  hall.Play(conditions, window);
  return {
      swapped ? "cam-hall-swapped.svg" : "cam-hall.svg",
      Picture(swapped ? "Half-moon cam, Hall, signal and ground swapped, two cycles at 1000 r/min"
                      : "Half-moon cam, Hall, leads right, two cycles at 1000 r/min",
              window, {hall.Metal("cam"), hall.TriggerVolts("cam")})};
}

Drawing Synchronisation(BenchView& car) {
  const ScopeWindow window = Ms(0, 900);
  car.Play({200, true, {}, {}}, window);
  std::vector<std::pair<TimeNs, std::string>> marks;
  if (car.synchronised_ns() != kNever) marks = {{car.synchronised_ns(), "synchronised"}};
  return {
      "crank-and-cam-sync.svg",
      Picture("Crank and cam from the first tooth to synchronisation, cranking at 200 r/min",
              window,
              {car.TriggerVolts("crank"), car.Logic("crank as the input sees it", "crank"),
               car.TriggerVolts("cam_intake"), car.Logic("cam as the input sees it", "cam_intake")},
              marks)};
}

Drawing Cranking(BenchView& car) {
  const ScopeWindow window = Ms(600, 900);
  car.Play({200, true, {}, {}}, window);
  return {"crank-60-2-cranking.svg",
          Picture("One turn while cranking, four cylinders, mean 200 r/min", window,
                  {car.Speed(), car.TriggerVolts("crank")})};
}

// Volts at the coolant input over temperature, the rest of the bench at its initial values.
Curve CoolantVolts(const profile::Bench& bench, const std::string& words, double series_ohm) {
  const profile::Fault series = Fault(profile::fault::SeriesResistance{series_ohm}, "CLT.1");
  std::vector<const profile::Fault*> faults;
  if (series_ohm > 0) faults.push_back(&series);
  harness::Harness harness(bench, faults);
  harness::DeviceValues values(harness.device_count(), 0);
  std::vector<double> input_v(harness.input_count());
  const auto value_of = [&](const profile::Sensor& sensor, double quantity) {
    return sensor::ToSource(sensor, Nth(bench.stimuli, sensor.stimulus), quantity,
                            bench.barometric_pressure_kpa)
        .value;
  };
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench.sensors[i];
    values[bench.triggers.size() + i] =
        value_of(sensor, Nth(bench.stimuli, sensor.stimulus).initial);
  }
  const int coolant = profile::IndexOf(bench.sensors, "coolant");
  const auto& inputs = bench.controller->inputs;
  const auto input =
      std::find_if(inputs.begin(), inputs.end(),
                   [](const auto& circuit) { return circuit.terminal == "ECU.20"; }) -
      inputs.begin();
  Curve curve{words, {}};
  for (int degc = -40; degc <= 120; degc += 2) {
    Nth(values, std::ssize(bench.triggers) + coolant) = value_of(Nth(bench.sensors, coolant), degc);
    harness.Solve(values, input_v);
    curve.points.emplace_back(degc, Nth(input_v, input));
  }
  return curve;
}

Drawing ThermistorVolts(const BenchView& car) {
  Chart chart;
  chart.title = "Thermistor ntc_10k_curve behind 2.2 kΩ to 5 V";
  chart.x_caption = "temperature, °C";
  chart.y_caption = "at the controller, V";
  chart.x_low = -40;
  chart.x_high = 120;
  chart.y_high = 5.2;
  chart.curves = {CoolantVolts(car.bench(), "wiring whole", 0),
                  CoolantVolts(car.bench(), "100 Ω in series", 100),
                  CoolantVolts(car.bench(), "1 kΩ in series", 1000)};
  return {"ntc-pull-up.svg", StandAlone(DrawChart(chart), chart.title)};
}

// 50 Hz is 0 % and 135 Hz 85 % of ethanol (50 + 1 Hz per %); 1 ms low is -40 degC, 3 ms 42.5 degC
// (1 + 4 ms x (T + 40) / 165).
Drawing FuelComposition(BenchView& car) {
  const ScopeWindow window = Ms(300, 360);
  car.Play({0, false, {{"ethanol_content", 0}, {"fuel_temperature", -40}}, {}}, window);
  const report::ScopeChannel pure = car.Volts("0 % ethanol, −40 °C", "ECU.31");
  car.Play({0, false, {{"ethanol_content", 85}, {"fuel_temperature", 42.5}}, {}}, window);
  const report::ScopeChannel blend = car.Volts("85 % ethanol, 42.5 °C", "ECU.31");
  return {
      "fuel-composition-pulse.svg",
      Picture("Fuel composition sensor, common scale: 50 Hz with 1 ms low, 135 Hz with 3 ms low",
              window, {pure, blend})};
}

}  // namespace

namespace {

// As in the report (report/html_style.cc).
constexpr const char* kPlotStyle =
    ".band{fill:#dfe6dc;stroke:#7d9479}.wanted{stroke:#17542f;stroke-width:2;stroke-dasharray:7 4}"
    ".said{stroke-width:2.2;stroke-linejoin:round}.ring{fill:none;stroke:#8f1616;stroke-width:2.6}";

// The plot of a failed expectation as the report of that run has it.
Drawing FailedExpectation(const std::string& root, const std::string& scenario,
                          const std::string& expectation, const std::string& title) {
  const std::string path = root + "/profiles/scenarios/hill_climb/" + scenario + ".yaml";
  const profile::LoadedScenario loaded = profile::LoadScenario(path);
  if (!loaded.scenario) throw std::runtime_error(Format(loaded.problems.at(0)));
  VirtualClock clock;
  study::PlayOptions options;
  options.run.seed = loaded.scenario->seed;
  options.clock = &clock;
  options.pictures = false;
  const study::PlayResult result = study::Play(*loaded.bench, *loaded.scenario, options);
  const int at = profile::IndexOf(loaded.scenario->expectations, expectation);
  const check::Verdict& verdict = Nth(result.report.verdicts, at);
  report::Plot plot;
  plot.width = 940;
  plot.height = 300;
  plot.y_caption = verdict.evidence.quantity + ", " + DisplayUnit(verdict.evidence.unit);
  plot.description = title;
  plot.points = verdict.evidence.points;
  plot.worst_ns = verdict.worst_ns;
  return {scenario + ".svg", StandAlone(report::DrawPlot(plot), title, kPlotStyle)};
}

std::vector<Drawing> FailureDrawings(const std::string& root) {
  return {FailedExpectation(root, "cam_one_tooth_late", "cam_is_where_it_belongs",
                            "Cam angle with the timing belt one tooth off"),
          FailedExpectation(root, "display_byte_order", "display_shows_manifold",
                            "Manifold pressure on a display with the wrong byte order")};
}

std::vector<Drawing> HarnessDrawings(const std::string& root) {
  const auto kart = profile::LoadBench(root + "/profiles/benches/kart.yaml").bench.value();
  const schedule::Marks suspects{{"head_signal", "head_ground"}, {}};
  const int at = profile::IndexOf(kart.connectors, "CU");
  return {{"kart-harness.svg", schedule::HarnessSvg(kart).text()},
          {"kart-suspects.svg", schedule::HarnessSvg(kart, suspects).text()},
          {"kart-face-cu.svg", schedule::FaceSvg(kart, Nth(kart.connectors, at)).text()}};
}

}  // namespace

std::vector<Drawing> NoteDrawings(const std::string& root) {
  BenchView car(root + "/profiles/benches/hill_climb.yaml");
  BenchView hall(root + "/hw-notes/drawings/hall.yaml");
  std::vector<Drawing> drawings{CrankCoil(car, false), CrankCoil(car, true), CoilOverSpeed(car),
                                CrankHall(hall),       CamHall(hall, false), CamHall(hall, true),
                                Synchronisation(car),  Cranking(car),        ThermistorVolts(car),
                                FuelComposition(car)};
  for (Drawing& drawing : HarnessDrawings(root)) drawings.push_back(std::move(drawing));
  for (Drawing& drawing : FailureDrawings(root)) drawings.push_back(std::move(drawing));
  return drawings;
}

}  // namespace drycrank::tools
