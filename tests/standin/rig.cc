// SPDX-License-Identifier: Apache-2.0
#include "standin/rig.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace drycrank::standin {

profile::Wheel EvenWheel(int slots, const std::vector<int>& absent) {
  profile::Wheel wheel;
  const double pitch_deg = 360.0 / slots;
  for (int slot = 1; slot <= slots; ++slot) {
    if (std::find(absent.begin(), absent.end(), slot) != absent.end()) continue;
    wheel.teeth.push_back({pitch_deg * (slot - 1), pitch_deg * (slot - 0.5)});
  }
  return wheel;
}

profile::Wheel WheelOf(std::vector<Tooth> teeth) {
  profile::Wheel wheel;
  wheel.teeth = std::move(teeth);
  return wheel;
}

profile::Bench FourCylinder(const profile::Wheel& crank_wheel) {
  profile::Bench bench;
  profile::Controller controller;
  controller.inputs.resize(2);
  controller.inputs[0].terminal = "ECU.1";
  controller.inputs[1].terminal = "ECU.2";
  controller.triggers.resize(2);
  controller.triggers[0].name = "crank";
  controller.triggers[0].terminal = "ECU.1";
  controller.triggers[0].wheel = crank_wheel;
  controller.triggers[1].name = "cam";
  controller.triggers[1].terminal = "ECU.2";
  controller.triggers[1].shaft = profile::Shaft::kCam;
  controller.triggers[1].wheel = WheelOf({{100, 110}});
  controller.decoder.firing_order = {1, 3, 4, 2};
  controller.decoder.firing_angles_deg = {0, 180, 360, 540};
  controller.decoder.cams = {1};
  bench.controller = controller;
  return bench;
}

profile::Bench TwoStroke(const profile::Wheel& crank_wheel) {
  profile::Bench bench = FourCylinder(crank_wheel);
  profile::Decoder& decoder = bench.controller->decoder;
  decoder.strokes = 2;
  decoder.firing_order = {1};
  decoder.firing_angles_deg = {0};
  decoder.cams.clear();
  bench.controller->triggers.resize(1);
  return bench;
}

profile::Bench WithPin(const profile::Wheel& crank_wheel, const std::vector<int>& order) {
  profile::Bench bench = FourCylinder(crank_wheel);
  profile::Controller& controller = *bench.controller;
  controller.inputs.resize(3);
  controller.inputs[2].terminal = "ECU.3";
  profile::TriggerChannel pin;
  pin.name = "pin";
  pin.terminal = "ECU.3";
  pin.wheel = WheelOf({{56, 60}});
  controller.triggers.push_back(pin);
  controller.decoder.cams = order;
  return bench;
}

Rig::Rig(profile::Bench b, double start_deg)
    : bench(std::move(b)), controller(bench), angle_deg_(start_deg) {
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    Shaft shaft;
    shaft.cam = channel.shaft == profile::Shaft::kCam;
    shaft.wheel = channel.wheel;
    shaft.offset_deg = channel.offset_deg;
    shaft.coil = channel.conditioning == profile::Conditioning::kZeroCrossing;
    shafts.push_back(shaft);
  }
}

// Crank angles since the start at which this wheel's tooth edges pass, with metal afterwards or
// not.
std::vector<std::pair<double, bool>> Rig::EdgesBetween(const Shaft& shaft, double from_deg,
                                                       double to_deg) const {
  std::vector<std::pair<double, bool>> found;
  const double turn_deg = shaft.cam ? 720 : 360;
  const double per_deg = shaft.cam ? 2 : 1;
  const double first_turn = std::floor(from_deg / turn_deg) - 1;
  for (double turn = first_turn; turn * turn_deg < to_deg + turn_deg; ++turn) {
    for (const Tooth& tooth : shaft.wheel.teeth) {
      const double zero_deg = turn * turn_deg + shaft.offset_deg - shaft.advance_deg;
      found.emplace_back(zero_deg + per_deg * tooth.begin_deg, true);
      found.emplace_back(zero_deg + per_deg * tooth.end_deg, false);
    }
  }
  std::sort(found.begin(), found.end());
  return found;
}

void Rig::AddHall(int input, double to_deg, const TimeAt& time_at,
                  std::vector<Piece>& pieces) const {
  const Shaft& shaft = shafts[static_cast<std::size_t>(input)];
  for (const auto& [deg, metal] : EdgesBetween(shaft, angle_deg_, to_deg)) {
    if (deg < angle_deg_ || deg >= to_deg) continue;
    const double v = metal != shaft.inverted ? 0.1 : 4.9;
    pieces.push_back({input, {time_at(deg), kNever, v, v, 0}});
  }
}

// One half sine per edge, over half the way to the nearer of its neighbours on both sides.
void Rig::AddCoil(int input, double to_deg, const TimeAt& time_at,
                  std::vector<Piece>& pieces) const {
  const Shaft& shaft = shafts[static_cast<std::size_t>(input)];
  const auto all = EdgesBetween(shaft, angle_deg_, to_deg);
  for (std::size_t i = 1; i + 1 < all.size(); ++i) {
    const auto& [deg, metal] = all[i];
    if (deg < angle_deg_ || deg >= to_deg) continue;
    const double half_deg = 0.5 * std::min(deg - all[i - 1].first, all[i + 1].first - deg);
    const double peak_v = metal != shaft.inverted ? shaft.peak_v : -shaft.peak_v;
    const TimeNs begin_ns = std::max(now_ns_, time_at(deg - half_deg));
    pieces.push_back({input, {begin_ns, time_at(deg + half_deg), 0, 0, peak_v}});
  }
}

// The level each input has before anything moves.
void Rig::FirstLevels() {
  started_ = true;
  for (std::size_t i = 0; i < shafts.size(); ++i) {
    const Shaft& shaft = shafts[i];
    bool metal = false;
    for (const auto& [deg, after] : EdgesBetween(shaft, angle_deg_, angle_deg_)) {
      if (deg < angle_deg_) metal = after;
    }
    const double v = !shaft.fitted || metal == shaft.inverted ? 4.9 : 0.1;
    const double rest_v = shaft.coil ? 0 : v;
    controller.OnWave(static_cast<int>(i), {now_ns_, kNever, rest_v, rest_v, 0});
  }
}

void Rig::Play(double to_deg, const TimeAt& time_at) {
  if (!started_) FirstLevels();
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < shafts.size(); ++i) {
    const int input = static_cast<int>(i);
    if (!shafts[i].fitted) continue;
    if (shafts[i].coil) {
      AddCoil(input, to_deg, time_at, pieces);
    } else {
      AddHall(input, to_deg, time_at, pieces);
    }
  }
  if (spoil) std::exchange(spoil, nullptr)(pieces);
  std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
    return a.wave.begin_ns < b.wave.begin_ns;
  });
  for (const Piece& piece : pieces) {
    controller.OnWave(piece.input, piece.wave);
    controller.Advance(piece.wave.begin_ns);
    Collect();
  }
  now_ns_ = time_at(to_deg);
  angle_deg_ = to_deg;
  controller.Advance(now_ns_);
  Collect();
}

void Rig::Turn(double deg, double rpm) {
  const TimeNs t0_ns = now_ns_;
  const double a0_deg = angle_deg_;
  Play(a0_deg + deg, [=](double a) {
    return t0_ns + static_cast<TimeNs>(std::llround((a - a0_deg) / (6 * rpm) * 1e9));
  });
}

void Rig::TurnWithRipple(double deg, double rpm, double ripple, double firing_deg) {
  const TimeNs t0_ns = now_ns_;
  const double a0_deg = angle_deg_;
  const double k = 360 / firing_deg;
  const double rad = std::numbers::pi / 180;
  const auto mean_deg = [=](double a) { return a + ripple / (k * rad) * std::sin(k * a * rad); };
  Play(a0_deg + deg, [=](double a) {
    const double s = (mean_deg(a) - mean_deg(a0_deg)) / (6 * rpm);
    return t0_ns + static_cast<TimeNs>(std::llround(s * 1e9));
  });
}

// w^2 = w0^2 + 2 c a, and t = a / ((w0 + w) / 2).
void Rig::Ramp(double deg, double from_rpm, double to_rpm) {
  const TimeNs t0_ns = now_ns_;
  const double a0_deg = angle_deg_;
  const double w0 = 6 * from_rpm;
  const double w1 = 6 * to_rpm;
  Play(a0_deg + deg, [=](double a) {
    const double way = a - a0_deg;
    if (way <= 0) return t0_ns;
    const double w = std::sqrt(std::max(0.0, w0 * w0 + (w1 * w1 - w0 * w0) * way / deg));
    return t0_ns + static_cast<TimeNs>(std::llround(2 * way / (w0 + w) * 1e9));
  });
}

void Rig::Wait(double ms) {
  now_ns_ += FromMs(ms);
  controller.Advance(now_ns_);
  Collect();
}

void Rig::Sample(double supply_v) {
  const std::vector<double> input_v(bench.controller->inputs.size(), 0.0);
  const std::vector<double> reference_v(bench.controller->references.size(), 5.0);
  controller.OnSample(now_ns_, input_v, supply_v, reference_v);
  Collect();
}

double Rig::DegreesUntil(SyncState state, double turns, double rpm) {
  const double from_deg = angle_deg_;
  while (angle_deg_ - from_deg < 360 * turns) {
    if (controller.sync_state() == state) return angle_deg_ - from_deg;
    Turn(5, rpm);
  }
  return controller.sync_state() == state ? angle_deg_ - from_deg : -1;
}

double Rig::Value(std::string_view name) const {
  const int index = controller.ValueIndex(name);
  EXPECT_GE(index, 0) << name;
  return controller.Value(index);
}

void Rig::Collect() {
  for (const OutputEvent& event : controller.TakeOutputs()) events.push_back(event);
  for (const Edge& edge : controller.TakeEdges()) edges.push_back(edge);
}

std::multiset<std::pair<int, int>> SparksAt(const Rig& rig, double start_deg, double rpm) {
  std::multiset<std::pair<int, int>> sparks;
  for (const OutputEvent& event : rig.events) {
    if (event.kind != OutputKind::kCoil || event.on) continue;
    const double deg = start_deg + 6 * rpm * ToSeconds(event.t_ns);
    sparks.insert({event.cylinder, static_cast<int>(std::lround(std::fmod(deg, 720)))});
  }
  return sparks;
}

}  // namespace drycrank::standin
