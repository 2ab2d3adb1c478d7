// SPDX-License-Identifier: Apache-2.0
//
// From the controller's values to readings: what its frames carry, what a display makes of them and
// says that it shows.
#ifndef DRYCRANK_DIAGNOSE_REPORTS_H_
#define DRYCRANK_DIAGNOSE_REPORTS_H_

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "bus/frame.h"
#include "diagnose/channels.h"
#include "diagnose/reading.h"
#include "profile/fault.h"
#include "standin/display.h"

namespace drycrank::diagnose {

struct Change {
  int reading = 0;
  Prediction predicted = {};
};

class ReportModel {
 public:
  ReportModel(const profile::Bench& bench, const std::vector<Reading>& readings);

  // Null without one.
  std::unique_ptr<standin::Display> MakeDisplay() const;

  enum class Of { kAll, kDisplay };  // readings that are asked for; the others are none
  // The readings of a situation. `values` empty: the controller is silent. `display` has the
  // layouts that these faults leave it.
  Predictions All(const ControllerValues& values, const Situation& situation,
                  std::span<const profile::Fault> faults, standin::Display* display,
                  Of of = Of::kAll) const;
  // Those that are not as in `row` when the controller's values are not as in `healthy`. Neither
  // set of values is empty; `display` is one without faults.
  void Changed(const ControllerValues& values, const ControllerValues& healthy,
               const Predictions& row, standin::Display* display,
               std::vector<Change>& changes) const;

 private:
  struct Sent {
    int bus = 0;
    const profile::Message* message = nullptr;
    std::vector<int> sources;   // per signal: number of the value it carries, of its sender; or -1
    std::vector<int> readings;  // in it
    std::vector<int> gauges;    // that show something of it
  };
  Sent MakeSent(int bus, const profile::Message& message) const;
  int SourceIn(const profile::Message& message, const profile::Signal& signal) const;
  bus::TimedFrame FrameOf(const Sent& sent, std::span<const double> values) const;
  // NaN: it is not in the frame.
  double Read(int reading, const Sent& sent, const bus::TimedFrame& frame) const;
  Values Row(std::span<const double> values, const Situation& situation,
             std::span<const profile::Fault> faults, standin::Display* display, Of of) const;
  // Of the readings sent anew, and of what the display then shows; the others stay as they are.
  void RowOf(std::span<const double> values, const std::vector<bool>& sent_anew,
             standin::Display* display, Values& row) const;
  Prediction Between(int reading, const ControllerValues& values, double a, double b) const;
  void Shown(const standin::Display& display, std::vector<double>& values) const;

  const profile::Bench& bench_;
  const std::vector<Reading>& readings_;
  std::vector<std::string> value_names_, shown_names_;
  std::vector<Sent> by_simulator_, by_controller_, by_display_;
  std::vector<int>
      reading_sources_;  // the controller's value that a reading shows in the end, or -1
  std::vector<int> reading_gauges_;          // the gauge of which it tells, or -1
  std::vector<std::vector<int>> sent_with_;  // per value: index into by_controller_
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_REPORTS_H_
