// SPDX-License-Identifier: Apache-2.0
//
// What is to be typed into controller and display, from what is built alone: engine, trigger wheels
// with their pickups, sensors, wires, the pins' circuits, and the messages on the buses. Nothing
// under `controller:` that has been told (tables, wheels, orders, angles) and no layout of the
// display is looked at.
//
//   volts of a table   the sensor's law at this value, through harness and input circuit as drawn,
//                      all other sensors at their initial values; of a ratiometric sensor as the
//                      share of the 5 V reference, times 5 V
//   tooth 1            the first of the wheel as the bench has it: after the gap
//   both edges         of a cam whose teeth begin alike, within the window, and end otherwise
//   the display        what it must show (readouts, switching of the bench): settings_display.h
#ifndef DRYCRANK_PROOFREAD_SETTINGS_H_
#define DRYCRANK_PROOFREAD_SETTINGS_H_

#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "proofread/wheel_words.h"

namespace drycrank::proofread {

struct TriggerSettings {
  std::string name, label;
  std::string terminal, minus;  // of the controller; minus: of a differential input
  bool coil = false;
  // Wheel, shaft, edge, point, offset and both_edges, as they should be set.
  profile::TriggerChannel wheel;
  double wheel_zero_deg = 0;      // crank, after cylinder 1's firing top dead centre
  double tooth_one_deg = 0;       // the edge of tooth 1, in the cycle
  std::vector<double> edges_deg;  // all of them in the cycle, ascending
  double least_window_deg = 0;    // how far a cam is turned, either way; 0: fixed
  double low_v = 0, high_v = 0;   // levels at the pin, of a switching output
};

struct TableSettings {
  std::string name, label, terminal, unit;
  std::string zero;  // "absolute", "gauge"; empty: no pressure
  double pull_up_ohm = 0;
  bool of_reference = false;                        // volts are a share of the reference
  std::vector<std::pair<double, double>> volts_at;  // (value, V), values ascending
};

struct PulseSettings {
  std::string name, label, terminal, unit;
  double hz_at_zero = 0, hz_per_unit = 1;
  double low_v = 0, high_v = 0;                      // levels at the pin
  std::string width_of;                              // what the low time tells; empty: nothing
  std::vector<std::pair<double, double>> low_ms_at;  // (degC, ms)
};

struct Settings {
  // Each cylinder once in a cycle, where a cam is wired; of four strokes without one, in pairs.
  profile::Firing firing = profile::Firing::kSequential;
  std::vector<TriggerSettings> triggers;
  std::vector<TableSettings> tables;
  std::vector<PulseSettings> pulses;
  std::vector<std::string> left_out;  // what the bench does not say, in sentences
};

// REQUIRES: bench.controller, for its pins; the bench must have been loaded.
Settings SettingsOf(const profile::Bench& bench);

// For people, and for programs (settings_json.cc lists the keys).
std::string SettingsText(const profile::Bench& bench, const Settings& settings);
std::string SettingsJson(const profile::Bench& bench, const Settings& settings);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_SETTINGS_H_
