// SPDX-License-Identifier: Apache-2.0
//
// Sensors and pickups need a supply, a ground, and a connection to the input that reads them.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "profile/sensors.h"
#include "schedule/check_parts.h"
#include "schedule/power_nets.h"
#include "schedule/wired_devices.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

class DeviceCheck {
 public:
  explicit DeviceCheck(Check& check) : check_(check), bench_(*check.in.bench), power_(check) {}

  void Run() {
    for (const WiredDevice& device : DevicesOf(bench_)) {
      if (!IsFeedSwitch(device)) CheckDevice(device);
    }
    TellGrounds();
    if (bench_.controller) {
      OutputsTogether();
      TellWrongInputs();
      Inputs();
    }
  }

 private:
  void CheckDevice(const WiredDevice& device) {
    if (device.leads == Leads::kThree) {
      CheckPower(device);
    } else if (bench_.controller) {
      CheckLeads(device);
      return;
    }
    if (bench_.controller) CheckSignal(device);
  }

  // An ignition switch: no value of the controller bears its name, and it hangs on a supply.
  bool IsFeedSwitch(const WiredDevice& device) const {
    if (device.gives != profile::Gives::kOnOff || device.sensor < 0 || !bench_.controller) {
      return false;
    }
    const profile::Sensor& sensor = Nth(bench_.sensors, device.sensor);
    const std::string& measured = Nth(bench_.stimuli, sensor.stimulus).name;
    const bool is_read = std::ranges::any_of(
        bench_.controller->analog,
        [&](const auto& channel) { return channel.name == device.name || channel.name == measured; });
    return !is_read && (power_.IsSupply(device.signal) || power_.IsSupply(device.ground));
  }

  void CheckPower(const WiredDevice& device) {
    const bool broken = check_.IsBroken(device.supply) || check_.IsBroken(device.ground);
    if (!broken && power_.IsGround(device.supply) && power_.IsSupply(device.ground)) {
      check_.Say(kSupplyAndGroundSwapped, device.supply, device.place,
                 fmt::format("{}: supply {} is connected to ground, and ground {} to a supply",
                             device.title, device.supply, device.ground),
                 "swap the two wires", device.terminals());
      return;
    }
    CheckSupply(device);
    if (!power_.IsGround(device.ground) && !check_.IsBroken(device.ground)) NoGround(device);
  }

  void CheckSupply(const WiredDevice& device) {
    if (check_.IsBroken(device.supply)) return;
    if (!power_.IsSupply(device.supply)) {
      check_.Say(
          kNoSupply, device.supply, device.place,
          Unwired(device.supply)
              ? fmt::format("{}: no wire goes to its supply {}", device.title, device.supply)
              : fmt::format("{}: its supply {} is not connected to a supply{}", device.title,
                            device.supply, power_.IsGround(device.supply) ? ", but to ground" : ""),
          "wire it to its supply", device.terminals());
      return;
    }
    const auto found = std::find_if(
        power_.sources().begin(), power_.sources().end(),
        [&](const auto& s) { return check_.nets.Of(s.terminal) == check_.nets.Of(device.supply); });
    if (found == power_.sources().end()) return;  // behind a part
    const SourceAt& source = *found;
    if (source.volts < device.min_supply_v) {
      check_.Say(kSupplyTooLow, device.supply, device.place,
                 fmt::format("{} needs {:g} V, and {} gives {:g} V", device.title,
                             device.min_supply_v, source.title, source.volts),
                 "feed it from another supply", device.terminals());
    }
    const double reference_v = ReferenceVolts();
    if (device.ratiometric && !source.is_reference && reference_v > 0 &&
        source.volts > 1.1 * reference_v) {
      check_.Say(
          kSupplyTooHigh, device.supply, device.place,
          fmt::format(
              "{} is ratiometric: it is fed {:g} V from {}, but the controller expects {:g} V",
              device.title, source.volts, source.title, reference_v),
          "feed it from the controller's own output; a sensor for 5 V does not survive more",
          device.terminals());
    }
  }

  bool Unwired(const std::string& terminal) const { return check_.nets.WiresAt(terminal).empty(); }

  double ReferenceVolts() const {
    const auto& references =
        bench_.controller ? bench_.controller->references : std::vector<profile::ReferenceOutput>();
    return references.empty() ? 0 : references.front().voltage_v;
  }

  // Sensors of one splice without ground are one mistake.
  void NoGround(const WiredDevice& device) {
    const int net = check_.nets.Of(device.ground);
    groundless_[net >= 0 ? std::to_string(net) : device.ground].push_back(device);
  }

  void TellGrounds() {
    for (const auto& [unused, devices] : groundless_) {
      std::vector<std::string> titles, ends;
      for (const WiredDevice& device : devices) {
        titles.push_back(device.title);
        for (const std::string& end : device.terminals()) ends.push_back(end);
      }
      const std::string& end = devices.front().ground;
      std::string what =
          Unwired(end) ? fmt::format("{}: no wire goes to its ground {}", titles.front(), end)
                       : fmt::format("{}: ground {} is not connected to a ground{}", Listed(titles),
                                     end, power_.IsSupply(end) ? ", but to a supply" : "");
      check_.Say(kNoGround, end, devices.front().place, std::move(what), "wire it to a ground",
                 ends);
    }
  }

  // Inputs of the controller in the net of `end`.
  std::vector<const profile::InputCircuit*> InputsAt(const std::string& end) const {
    std::vector<const profile::InputCircuit*> inputs;
    const int net = check_.nets.Of(end);
    for (const profile::InputCircuit& input : bench_.controller->inputs) {
      if (net >= 0 && check_.nets.Of(input.terminal) == net) inputs.push_back(&input);
    }
    return inputs;
  }

  // Second terminals of differential inputs.
  bool IsInputMinus(const std::string& end) const {
    const int net = check_.nets.Of(end);
    return std::any_of(bench_.controller->inputs.begin(), bench_.controller->inputs.end(),
                       [&](const profile::InputCircuit& input) {
                         return net >= 0 && !input.minus.empty() &&
                                check_.nets.Of(input.minus) == net;
                       });
  }

  void CheckSignal(const WiredDevice& device) {
    const std::string& signal = device.signal;
    const auto inputs = InputsAt(signal);
    if (check_.IsBroken(signal)) return;
    if (power_.IsSupply(signal) || power_.IsGround(signal)) {
      check_.Say(power_.IsSupply(signal) ? kSignalOnSupply : kSignalOnGround, signal, device.place,
                 fmt::format("{}: its signal {} is connected to {}", device.title, signal,
                             power_.IsSupply(signal) ? "a supply" : "ground"),
                 "wire it to its input", device.terminals());
    } else if (inputs.empty()) {
      NoSignal(device);
    } else {
      Reaches(device, *inputs.front());
    }
  }

  void NoSignal(const WiredDevice& device) {
    check_.Say(kNoSignal, device.signal, device.place,
               Unwired(device.signal)
                   ? fmt::format("{}: no wire goes to its signal {}", device.title, device.signal)
                   : fmt::format("{}: its signal {} is not connected to an input of the controller",
                                 device.title, device.signal),
               "wire it to its input", device.terminals());
  }

  void Reaches(const WiredDevice& device, const profile::InputCircuit& input) {
    outputs_[check_.nets.Of(device.signal)].push_back(device);
    if (!Fits(bench_, device, input.terminal)) wrong_.push_back({device, input.terminal});
  }

  void CheckLeads(const WiredDevice& device) {
    const auto plus = InputsAt(device.signal), minus = InputsAt(device.ground);
    const bool reversed = !minus.empty() && plus.empty();
    const bool at_pair = IsInputMinus(device.signal) || IsInputMinus(device.ground);
    if (reversed && device.leads == Leads::kTwoPolar) {
      check_.Say(kLeadsSwapped, device.signal, device.place,
                 fmt::format("{}: plus {} and minus {} are swapped at the controller", device.title,
                             device.signal, device.ground),
                 "swap the two wires", device.terminals());
      return;
    }
    WiredDevice turned = device;
    if (reversed) std::swap(turned.signal, turned.ground);
    if (check_.IsBroken(turned.signal) || check_.IsBroken(turned.ground)) return;
    CheckSignal(turned);
    if (at_pair ? IsInputMinus(turned.ground) : power_.IsGround(turned.ground)) return;
    const bool differential = !plus.empty() && !plus.front()->minus.empty();
    if (!differential) {
      NoGround(turned);
      return;
    }
    check_.Say(
        kNoSignal, turned.ground, device.place,
        fmt::format("{}: its minus {} is not connected to {}, the second terminal of its input",
                    device.title, turned.ground, plus.front()->minus),
        "wire it there", device.terminals());
  }

  // ---- inputs ----

  void OutputsTogether() {
    for (const auto& [net, devices] : outputs_) {
      if (devices.size() < 2) continue;
      std::vector<std::string> titles, ends;
      for (const WiredDevice& device : devices) {
        titles.push_back(device.title);
        ends.push_back(device.signal);
      }
      together_.insert(net);
      check_.Say(kTwoOutputsTogether, ends.back(), devices.back().place,
                 fmt::format("{} give their signals to one input", Listed(titles)),
                 "one signal, one input", ends);
    }
  }

  struct Wrong {
    WiredDevice device;
    std::string input;
  };

  void TellWrongInputs() {
    std::erase_if(wrong_, [&](const Wrong& wrong) {
      return together_.contains(check_.nets.Of(wrong.device.signal));
    });
    for (std::size_t i = 0; i < wrong_.size(); ++i) {
      const Wrong& wrong = wrong_[i];
      const auto other = std::find_if(wrong_.begin(), wrong_.end(), [&](const Wrong& w) {
        return &w != &wrong && Fits(bench_, wrong.device, w.input) &&
               Fits(bench_, w.device, wrong.input);
      });
      if (other != wrong_.end()) {
        if (other > wrong_.begin() + static_cast<std::ptrdiff_t>(i)) TellSwapped(wrong, *other);
        continue;
      }
      const auto channels = ChannelsAt(*bench_.controller, wrong.input);
      check_.Say(kWrongInput, wrong.device.signal, wrong.device.place,
                 fmt::format("{}: its signal goes to {}, where the controller reads {}",
                             wrong.device.title, wrong.input,
                             channels.empty() ? "nothing" : Listed(channels)),
                 "wire it to its own input", wrong.device.terminals());
    }
  }

  void TellSwapped(const Wrong& a, const Wrong& b) {
    check_.Say(
        kSignalsSwapped, a.device.signal, a.device.place,
        fmt::format("the signals of {} and {} are swapped: {} goes to {}, {} to {}", a.device.title,
                    b.device.title, a.device.signal, a.input, b.device.signal, b.input),
        "swap the two wires at the controller", {a.device.signal, b.device.signal});
  }

  // Channels whose input has no wire at all. A sensor that misses its input has been told.
  void Inputs() {
    for (const profile::InputCircuit& input : bench_.controller->inputs) {
      const auto channels = ChannelsAt(*bench_.controller, input.terminal);
      if (channels.empty() || !Unwired(input.terminal)) continue;
      const auto devices = DevicesOf(bench_);
      const bool told = std::any_of(devices.begin(), devices.end(), [&](const WiredDevice& device) {
        return Fits(bench_, device, input.terminal);
      });
      if (told) continue;
      check_.Say(kTerminalWithoutWire, input.terminal, input.place,
                 fmt::format("no wire goes to {}, where the controller reads {}", input.terminal,
                             Listed(channels)),
                 "add its wire, or take the value out of the controller", {input.terminal});
    }
  }

  Check& check_;
  const profile::Bench& bench_;
  const PowerNets power_;
  std::map<std::string, std::vector<WiredDevice>> groundless_;
  std::map<int, std::vector<WiredDevice>> outputs_;  // by net
  std::set<int> together_;
  std::vector<Wrong> wrong_;
};

}  // namespace

void CheckDevices(Check& check) { DeviceCheck(check).Run(); }

}  // namespace drycrank::schedule
