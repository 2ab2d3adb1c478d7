// SPDX-License-Identifier: Apache-2.0
#include "walk/display_follows.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Expectation;
namespace expect = profile::expect;

constexpr double kDisplaySettleS = 0.8;  // its own period and the bus, after the controller's

bool IsEchoed(const Bench& bench, const profile::Readout& gauge) {
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      if (message.sender != profile::Sender::kDisplay) continue;
      for (const profile::Signal& signal : message.signals) {
        if (signal.carries == gauge.name + ".shown") return true;
      }
    }
  }
  return false;
}

}  // namespace

std::vector<Expectation> DisplayFollows(const Bench& bench,
                                        const std::vector<Expectation>& follows) {
  std::vector<Expectation> all;
  const std::vector<profile::Readout> readouts = profile::RequiredReadouts(bench);
  for (std::size_t g = 0; g < readouts.size(); ++g) {
    const profile::Readout& gauge = readouts[g];
    const std::string signal = gauge.message + "." + gauge.signal;
    const auto source = std::find_if(follows.begin(), follows.end(), [&](const Expectation& e) {
      const auto* kind = std::get_if<expect::Follows>(&e.kind);
      return kind != nullptr && kind->signal_text == signal && kind->target.stimulus >= 0;
    });
    if (source == follows.end() || !IsEchoed(bench, gauge) || gauge.bar) continue;
    expect::Target target = std::get<expect::Follows>(source->kind).target;
    const std::string& unit = Nth(bench.stimuli, target.stimulus).unit;
    const auto tolerance = ConvertDifference(target.tolerance, unit, gauge.unit);
    if (!tolerance) continue;
    target.value.reset();
    target.tolerance = *tolerance + std::pow(10.0, -gauge.decimals);
    Expectation e;
    e.name = "display_" + gauge.name;
    e.kind = expect::DisplayShows{static_cast<int>(g), target, {}, {}};
    e.settle_s = source->settle_s + kDisplaySettleS;
    e.during = source->during;
    e.means = fmt::format(
        "The display shows a wrong value: {0}. If the controller reports the same value, mend that "
        "first. Else check how the display decodes {1}: start bit, byte order, scale.",
        gauge.label.empty() ? gauge.name : gauge.label, signal);
    all.push_back(std::move(e));
  }
  return all;
}

}  // namespace drycrank::walk
