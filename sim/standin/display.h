// SPDX-License-Identifier: Apache-2.0
//
// A stand-in for the display: takes frames and nothing else, decodes them by its own layouts,
// converts to the unit it shows, rounds to its decimals, warns with hysteresis, and says "stale"
// when nothing came for stale_ms. After power came it is dark and does not listen, then tries its
// lamps; with the key off it goes dark, with the key on it begins anew. It says on the bus what it
// shows (messages with sender "display"):
//   GAUGE.shown   the number on the screen, in the unit shown, rounded to the decimals shown; of a
//                 bar, how many segments are lit
//   GAUGE.state   0 ok, 1 warning, 2 stale, 3 not available (its message says so), 4 off
//   GAUGE.unit    index into UnitCodes(): which unit is lit
//   GAUGE.page    the page it stands on
//   GAUGE.lamp    0 dark, 1 lit, 2 blinks
// What a person would see of it is in Look().
#ifndef DRYCRANK_STANDIN_DISPLAY_H_
#define DRYCRANK_STANDIN_DISPLAY_H_

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "bus/frame.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "types/time.h"

namespace drycrank::standin {

enum class GaugeState { kOk = 0, kWarning = 1, kStale = 2, kNotAvailable = 3, kOff = 4 };

struct GaugeReading {
  double shown = 0;
  GaugeState state = GaugeState::kStale;
  TimeNs last_ns = -1;  // last frame that carried it; -1 never
};

// One gauge as it stands on the screen.
struct GaugeLook {
  int page = 1;
  std::string text;  // "112", "R", "---"
  std::string unit;  // canonical
  GaugeState state = GaugeState::kStale;
  std::string lamp;      // the one that is lit; empty: dark
  double blinks_hz = 0;  // of the lamp; 0: steady
};

class Display {
 public:
  // REQUIRES: bench.display. The bench must outlive it. Only its display section, the bus names and
  // the messages it sends are read.
  explicit Display(const profile::Bench& bench);

  void OnFrame(const bus::TimedFrame& frame);
  void Advance(TimeNs t_ns);  // stale time-outs
  void Reset();               // as switched on, at the next time told: nothing received yet

  const std::vector<GaugeReading>& gauges() const { return readings_; }
  GaugeLook Look(int gauge) const;
  int ValueIndex(std::string_view name) const;  // "GAUGE.shown" ...; -1 if none
  double Value(int index) const;

  // Faults of kind `layout`: its configuration is wrong from now on / right again. A byte order
  // given without a start bit keeps the bytes: the start bit becomes the one a person would enter
  // for the same bytes in the other order.
  void SetLayout(const std::string& at, const profile::fault::Layout& layout, bool in_force);

 private:
  // Where a gauge gets its number from, and how it becomes the unit shown.
  struct Source {
    int message = -1;  // index into layouts_; -1: nothing by that name
    int signal = -1;
    double factor = 1;  // shown = signal * factor + offset
    double offset = 0;
    int unit_code = -1;
    bool above = false;  // the warning limits passed
    bool below = false;
    bool latched = false, acknowledged = false;  // its lamp
    std::optional<double> kept = {};
    int key_message = -1, key_signal = -1;  // by which it is acknowledged
    TimeNs stale_ns = 0;
  };

  // The gauges that show something of one message: a frame is looked at once for all of them.
  struct Group {
    int message = 0;
    std::vector<std::size_t> gauges;
  };

  void Show(std::size_t index, double value, TimeNs t_ns);
  void ShowNone(std::size_t index, TimeNs t_ns);
  void Acknowledge(std::size_t index);
  void AddToGroup(int message, std::size_t gauge);
  void Find(const std::string& ref, int& message, int& signal) const;
  void HearKeys(const bus::TimedFrame& frame);
  void TurnKey(bool on, TimeNs t_ns);
  bool IsDark(TimeNs t_ns) const;
  bool TriesLamps(TimeNs t_ns) const;

  const profile::Bench* bench_;
  std::vector<profile::Message> layouts_;
  std::vector<std::string> names_;
  std::vector<Source> sources_;
  std::vector<Group> groups_;
  std::vector<GaugeReading> readings_;
  int key_message_ = -1, key_signal_ = -1;
  bool has_keys_ = false;  // of any kind
  TimeNs dark_ns_ = 0, lamps_tried_ns_ = 0, off_after_ns_ = 0;
  TimeNs now_ns_ = 0, on_ns_ = -1, key_off_ns_ = -1;  // negative: not yet, not
};

// The codes of GAUGE.unit: position in this list.
std::span<const std::string_view> UnitCodes();
std::vector<std::string> DisplayValueNames(const profile::Display& display);

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_DISPLAY_H_
