// SPDX-License-Identifier: Apache-2.0
//
// Wires too thin for their current and length. All is switched on; the network (harness/harness.h)
// gives the voltage along each wire:
//   drop = current * length * resistance per metre     (profile/wire_gauge.h names the tables)
// summed over the wires from the supply to a consumer and back. How warm a wire may get is not
// judged: that needs a source for its insulation and its bundle.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "harness/harness.h"
#include "profile/wire_gauge.h"
#include "schedule/check_parts.h"
#include "schedule/situation.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

struct Consumer {
  std::string title, plus, minus;
};

struct Drop {
  int wire = -1;
  double volts = 0;
};

class CurrentCheck {
 public:
  explicit CurrentCheck(Check& check)
      : check_(check), bench_(SoundBench(check)), harness_(bench_, {}) {
    std::vector<double> input_v(harness_.input_count());
    harness_.Solve(ValuesAt(bench_, 0.5), input_v);
  }

  void Run() {
    for (const profile::Load& load : bench_.loads) {
      CheckConsumer({"load " + load.name, load.plus, load.minus});
    }
    if (bench_.controller) {
      CheckConsumer({"the controller", bench_.controller->supply, bench_.controller->ground});
    }
  }

 private:
  void CheckConsumer(const Consumer& consumer) {
    for (const profile::Supply& supply : bench_.supplies) {
      const int net = check_.nets.Of(supply.plus);
      if (net < 0 || check_.nets.Of(consumer.plus) != net) continue;
      std::vector<int> way = check_.nets.Way(supply.plus, consumer.plus);
      const std::vector<int> back = check_.nets.Way(consumer.minus, supply.minus);
      way.insert(way.end(), back.begin(), back.end());
      Judge(consumer, supply, DropsOf(way));
      return;
    }
  }

  double VoltsAt(const std::string& end) const {
    return harness_.Voltage(IsTerminal(end) ? end + "~" : end);
  }

  // Empty when one of the wires is not part of the network: it is wrong, and that was said.
  std::vector<Drop> DropsOf(const std::vector<int>& way) const {
    std::vector<Drop> drops;
    for (const int i : way) {
      const ScheduleWire& wire = check_.Wire(i);
      const double volts = std::abs(VoltsAt(wire.from.text) - VoltsAt(wire.to.text));
      if (Made(bench_, wire) == nullptr || !std::isfinite(volts)) return {};
      drops.push_back({i, volts});
    }
    return drops;
  }

  void Judge(const Consumer& consumer, const profile::Supply& supply,
             const std::vector<Drop>& drops) {
    double total_v = 0;
    for (const Drop& drop : drops) total_v += drop.volts;
    const double limit_v = check_.in.limits.drop_percent / 100 * supply.voltage_v;
    if (total_v <= limit_v) return;
    const Drop& worst = *std::max_element(
        drops.begin(), drops.end(), [](const Drop& a, const Drop& b) { return a.volts < b.volts; });
    if (!told_.insert(worst.wire).second) return;
    const ScheduleWire& wire = check_.Wire(worst.wire);
    const profile::Wire& made = *Made(bench_, wire);
    const double ohm = made.Ohm();
    check_.Add(kWireTooThin, wire.gauge.text.empty() ? wire.place : wire.gauge.place,
               fmt::format("{}: {:.2g} A through {:g} m of {} ({:g} mΩ/m) lose {:.2f} V; {} gets "
                           "{:.2f} V less than {:g} V, {:.1f} %",
                           Title(wire), worst.volts / ohm, made.length_m, made.gauge,
                           made.mohm_per_m, worst.volts, consumer.title, total_v, supply.voltage_v,
                           100 * total_v / supply.voltage_v),
               Remedy(made, worst.volts, limit_v - (total_v - worst.volts), drops.size()),
               {worst.wire}, {consumer.plus, consumer.minus});
  }

  // The thinnest gauge of the same kind by which the drop falls to the rest of the limit.
  std::string Remedy(const profile::Wire& wire, double drop_v, double left_v,
                     std::size_t wires) const {
    const double limit = check_.in.limits.drop_percent;
    std::string best;
    double best_mm2 = 1e9;
    for (const std::string& name : profile::WireGaugeNames()) {
      const auto gauge = profile::FindWireGauge(name);
      const bool same_kind = name.ends_with("AWG") == wire.gauge.ends_with("AWG");
      const bool is_enough = drop_v * gauge->mohm_per_m / wire.mohm_per_m <= left_v;
      if (!same_kind || !is_enough || gauge->area_mm2 >= best_mm2) continue;
      best = name;
      best_mm2 = gauge->area_mm2;
    }
    if (!best.empty())
      return fmt::format("{} is enough for {:g} %; or make it shorter", best, limit);
    return fmt::format(
        "no gauge of this one wire alone is enough for {:g} %; look at all {} wires, there and "
        "back",
        limit, wires);
  }

  Check& check_;
  const profile::Bench bench_;
  harness::Harness harness_;
  std::set<int> told_;
};

}  // namespace

void CheckCurrents(Check& check) { CurrentCheck(check).Run(); }

}  // namespace drycrank::schedule
