// SPDX-License-Identifier: Apache-2.0
//
// The shift of a reading by a shared ground. Every ampere of another consumer through a sensor's
// ground wire lifts that sensor's ground, and with it the reading:
//
//   sensor A --+                        shift = reading with everything on
//              S_GND ---[ wire ]--- o             - reading with this sensor alone
//   pump    ---+                        both from the network with all its wires, at a tenth, the
//                                       middle and nine tenths of the sensor's range
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "harness/harness.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "schedule/check_parts.h"
#include "schedule/situation.h"
#include "schedule/wired_devices.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

constexpr double kShares[] = {0.1, 0.5, 0.9};
constexpr double kNoConsumerOhm = 1e9;

struct Shift {
  std::string sensor;
  double by = 0, tolerance = 0;  // stimulus unit
  std::string unit;
};

// The controller's measurements, with all sensors at one share of their range.
struct Look {
  std::vector<double> input_v;
  double scale = 1;  // nominal by actual volts of the first reference
};

std::vector<Look> LooksAt(const profile::Bench& bench) {
  std::vector<Look> looks;
  if (!bench.controller) return looks;
  harness::Harness harness(bench, {});
  for (const double share : kShares) {
    Look look;
    look.input_v.resize(harness.input_count());
    harness.Solve(ValuesAt(bench, share), look.input_v);
    const auto& references = bench.controller->references;
    const bool on = !references.empty() && harness.Reference(0) > 0;
    if (on) look.scale = references[0].voltage_v / harness.Reference(0);
    looks.push_back(std::move(look));
  }
  return looks;
}

class GroundCheck {
 public:
  explicit GroundCheck(Check& check)
      : check_(check),
        bench_(SoundBench(check)),
        all_(LooksAt(bench_)),
        devices_(DevicesOf(bench_)) {}

  void Run() {
    std::map<int, std::vector<Shift>> moved;
    for (const WiredDevice& device : devices_) {
      if (device.sensor < 0 || !IsSound(device)) continue;
      if (const auto shift = ShiftOf(device); shift && std::abs(shift->by) > shift->tolerance) {
        moved[check_.nets.Of(device.ground)].push_back(*shift);
      }
    }
    for (auto& [net, shifts] : moved) Tell(net, shifts);
    for (const profile::Load& load : bench_.loads) {
      if (!moved.contains(check_.nets.Of(load.minus))) NoteLoad(load);
    }
  }

 private:
  struct Reader {
    std::size_t input = 0;
    const profile::AnalogChannel* channel = nullptr;
  };

  // Nothing else is wrong with it: what that does to the reading has been told.
  bool IsSound(const WiredDevice& device) const {
    const int signal = check_.nets.Of(device.signal), ground = check_.nets.Of(device.ground);
    if (signal < 0 || ground < 0) return false;
    for (const std::string& end : device.terminals()) {
      if (check_.Follows(end) || check_.told_ends.contains(end)) return false;
    }
    const auto others = std::count_if(devices_.begin(), devices_.end(), [&](const WiredDevice& d) {
      const bool turned = d.leads != Leads::kThree && check_.nets.Of(d.ground) == signal;
      return check_.nets.Of(d.signal) == signal || turned;
    });
    return others == 1;
  }

  std::optional<Reader> ReaderOf(const WiredDevice& device) const {
    for (std::size_t i = 0; i < bench_.controller->inputs.size(); ++i) {
      const std::string& terminal = bench_.controller->inputs[i].terminal;
      const int net = check_.nets.Of(terminal);
      const bool reached = net >= 0 && (check_.nets.Of(device.signal) == net ||
                                        check_.nets.Of(device.ground) == net);
      if (!reached) continue;
      for (const profile::AnalogChannel& channel : bench_.controller->analog) {
        if (channel.terminal == terminal && Fits(bench_, device, terminal))
          return Reader{i, &channel};
      }
    }
    return std::nullopt;
  }

  // The bench with this device as its only consumer.
  profile::Bench AloneWith(const profile::Sensor& sensor) const {
    profile::Bench alone = bench_;
    alone.triggers.clear();
    alone.sensors = {sensor};
    alone.loads.clear();
    alone.controller->supply_ohm = kNoConsumerOhm;
    return alone;
  }

  std::optional<Shift> ShiftOf(const WiredDevice& device) {
    const auto reader = bench_.controller ? ReaderOf(device) : std::nullopt;
    if (!reader) return std::nullopt;
    const profile::Sensor& sensor = Nth(bench_.sensors, device.sensor);
    const profile::Stimulus& stimulus = Nth(bench_.stimuli, sensor.stimulus);
    if (device.gives == profile::Gives::kOnOff) return std::nullopt;
    const std::vector<Look> alone = LooksAt(AloneWith(sensor));
    Shift shift{device.title, 0, Tolerance(sensor, stimulus), stimulus.unit};
    for (std::size_t i = 0; i < alone.size(); ++i) {
      const double by = Read(all_[i], *reader) - Read(alone[i], *reader);
      const auto in_unit = ConvertDifference(by, reader->channel->unit, stimulus.unit);
      const double moved = in_unit.value_or(by);
      if (std::abs(moved) > std::abs(shift.by)) shift.by = moved;
    }
    return shift;
  }

  static double Read(const Look& look, const Reader& reader) {
    return ReadingAt(*reader.channel, look.input_v[reader.input], look.scale);
  }

  double Tolerance(const profile::Sensor& sensor, const profile::Stimulus& stimulus) const {
    if (sensor.tolerance > 0) return sensor.tolerance;
    return check_.in.limits.tolerance_percent / 100 * (stimulus.max - stimulus.min);
  }

  std::vector<std::string> LoadsOn(int net) const {
    std::vector<std::string> titles;
    for (const profile::Load& load : bench_.loads) {
      if (check_.nets.Of(load.minus) == net) titles.push_back("load " + load.name);
    }
    return titles;
  }

  void Tell(int net, std::vector<Shift>& shifts) {
    std::sort(shifts.begin(), shifts.end(), [](const Shift& a, const Shift& b) {
      return std::abs(a.by) / a.tolerance > std::abs(b.by) / b.tolerance;
    });
    const Shift& worst = shifts.front();
    std::vector<std::string> others = LoadsOn(net), titles;
    for (const Shift& shift : shifts) titles.push_back(shift.sensor);
    const std::string cause = others.empty() ? "the others on it" : Listed(others) + " on it";
    const auto& wires = check_.nets.WiresOf(net);
    check_.Add(
        kGroundMovesReading, PlaceOf(net),
        fmt::format("the ground of {} is shared: {} move{} the reading of {} by {:+.2g} {}, "
                    "but only {:.2g} {} is allowed",
                    Listed(titles), cause, others.size() == 1 ? "s" : "", worst.sensor, worst.by,
                    DisplayUnit(worst.unit), worst.tolerance, DisplayUnit(worst.unit)),
        others.empty() ? "give it a shorter or thicker ground wire, or one of its own"
                       : "give the load a ground wire of its own, to the supply's minus",
        wires, check_.nets.EndsOf(net));
  }

  // The wire of the load that is on it, else the first.
  Place PlaceOf(int net) const {
    for (const profile::Load& load : bench_.loads) {
      if (check_.nets.Of(load.minus) == net) return check_.PlaceAt(load.minus, {});
    }
    return check_.Wire(check_.nets.WiresOf(net).front()).place;
  }

  void NoteLoad(const profile::Load& load) {
    const int net = check_.nets.Of(load.minus);
    const double amps = bench_.supplies.empty() ? 0 : bench_.supplies[0].voltage_v / load.ohm;
    if (net < 0 || amps < check_.in.limits.load_a) return;
    std::vector<std::string> sensors;
    for (const WiredDevice& device : devices_) {
      if (check_.nets.Of(device.ground) == net) sensors.push_back(device.title);
    }
    if (sensors.empty()) return;
    check_.Add(kLoadOnSensorGround, check_.PlaceAt(load.minus, {}),
               fmt::format("load {} ({:.2g} A) shares its ground with {}", load.name, amps,
                           Listed(sensors)),
               "give it a ground wire of its own, to the supply's minus",
               check_.nets.WiresAt(load.minus), {load.minus});
  }

  Check& check_;
  const profile::Bench bench_;
  const std::vector<Look> all_;
  const std::vector<WiredDevice> devices_;
};

}  // namespace

void CheckGrounds(Check& check) { GroundCheck(check).Run(); }

}  // namespace drycrank::schedule
