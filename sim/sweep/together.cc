// SPDX-License-Identifier: Apache-2.0
#include "sweep/together.h"

#include <algorithm>
#include <memory>
#include <set>

#include "sweep/value_sweep.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using Readouts = std::vector<const Readout*>;

constexpr int kTrials = 4;  // one more than tell whether it smooths (settling.h)

bool IsKey(const Bench& bench, const std::string& signal) {
  const auto switching = RequiredSwitching(bench);
  const auto readouts = RequiredReadouts(bench);
  return (switching && switching->key == signal) ||
         std::ranges::find(readouts, signal, &Readout::acknowledged_by) != readouts.end();
}

// Which signals are sent in one message depends on none of them.
bool IsPlain(const profile::Message& message) {
  return std::ranges::all_of(message.signals, [](const profile::Signal& signal) {
    return signal.multiplex == profile::Multiplex::kNone && signal.instead_of.empty();
  });
}

// It is the same again whenever its value is.
bool ForgetsAll(const Readout& readout) {
  return readout.keeps == profile::Keeps::kNothing && !readout.lamp_latches &&
         readout.acknowledged_by.empty();
}

Readouts Movable(const Bench& bench, const std::vector<Readout>& readouts) {
  Readouts movable;
  std::set<std::string> signals;
  for (const Readout& r : readouts) {
    const std::string signal = r.message + "." + r.signal;
    const auto at = SignalOf(bench, r);
    if (!ForgetsAll(r) || IsKey(bench, signal) || !IsPlain(MessageAt(bench, {at.bus, at.message})))
      continue;
    if (signals.insert(signal).second) movable.push_back(&r);
  }
  return movable;
}

// To an end of its range; those that the display tells nothing of are left out.
void Try(const Bench& bench, bool high, Readouts& readouts, Screen& screen) {
  std::vector<Screen::Wanted> wanted;
  for (const Readout* r : readouts) {
    const auto at = SignalOf(bench, *r);
    const SentRange range = SentRangeOf(SignalAt(bench, at), *r);
    screen.Send(at, range.At(high ? range.high : range.low));
    wanted.push_back({r, std::nullopt, true});
  }
  const auto seen = screen.LookAtEach(wanted);
  Readouts told;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (seen[i]) told.push_back(readouts[i]);
  }
  readouts = std::move(told);
}

}  // namespace

Readouts MovedTogether(const Bench& bench, const std::vector<Readout>& readouts, Screen& screen) {
  Readouts together = Movable(bench, readouts);
  if (together.size() < 2) return {};
  for (int trial = 0; trial < kTrials; ++trial) Try(bench, trial % 2 == 1, together, screen);
  std::erase_if(together, [&](const Readout* r) { return !screen.IsSmoothed(*r); });
  return together.size() < 2 ? Readouts() : together;
}

std::vector<std::string> SweepTogether(const Bench& bench, const Readouts& together, Screen& screen,
                                       Swept& out) {
  std::vector<std::unique_ptr<ValueSweep>> sweeps;
  for (const Readout* r : together) {
    // None of them keeps or acknowledges anything.
    sweeps.push_back(std::make_unique<ValueSweep>(bench, *r, screen, out,
                                                  ValueSweep::Keys{[] {}, [] { return false; }}));
  }
  std::size_t begun = 0;
  while (true) {
    begun = std::min(begun + 1, sweeps.size());
    std::vector<ValueSweep*> moved;
    std::vector<Screen::Wanted> wanted;
    for (std::size_t i = 0; i < begun; ++i) {
      const auto next = sweeps[i]->is_alive() ? sweeps[i]->Next() : std::nullopt;
      if (!next) continue;
      moved.push_back(sweeps[i].get());
      wanted.push_back(*next);
    }
    if (moved.empty() && begun == sweeps.size()) break;
    const auto seen = screen.LookAtEach(wanted);
    for (std::size_t i = 0; i < moved.size(); ++i) moved[i]->Take(seen[i]);
  }
  std::vector<std::string> gone;
  for (const auto& sweep : sweeps) {
    if (!sweep->is_alive()) gone.push_back(sweep->readout().name);
  }
  return gone;
}

}  // namespace drycrank::sweep
