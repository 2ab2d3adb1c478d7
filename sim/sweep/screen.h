// SPDX-License-Identifier: Apache-2.0
//
// A display in front of a sweep: what is sent to it, and what it then shows. The stand-in in
// virtual time (standin_screen.h) is one; a real display whose bus echo tells what it shows is
// another.
#ifndef DRYCRANK_SWEEP_SCREEN_H_
#define DRYCRANK_SWEEP_SCREEN_H_

#include <optional>
#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

class Screen {
 public:
  virtual ~Screen() = default;

  // As just switched on, nothing received. False: this one cannot be switched.
  virtual bool SwitchOn() = 0;
  // From the next look on this signal has this value, in its own unit.
  virtual void Send(const profile::SignalRef& signal, double physical) = 0;
  // Its frames stop, or come again.
  virtual void Silence(const profile::MessageRef& message, bool silent) = 0;
  // What was sent comes, and is seen, before anything else is sent.
  virtual void LetArrive() = 0;
  // What the readout of that name shows after the time that a new value may take. Nothing: the
  // display does not tell it any more.
  virtual std::optional<Shown> Look(const profile::Readout& readout) = 0;
  // Several at the same time, each as soon as it may be. `warns`: only whether it warns counts, and
  // it may be taken as soon as it is seen to, or not to: a value that is still on its way does not
  // turn back.
  struct Wanted {
    const profile::Readout* readout = nullptr;
    std::optional<bool> warns = {};
    bool is_trial = false;  // its sweep has not begun
  };
  virtual std::vector<std::optional<Shown>> LookAtEach(const std::vector<Wanted>& wanted) {
    std::vector<std::optional<Shown>> seen;
    for (const Wanted& one : wanted) seen.push_back(Look(*one.readout));
    return seen;
  }
  // What it shows came to its end in many steps, as far as was seen.
  virtual bool IsSmoothed(const profile::Readout&) const { return false; }
  // REQUIRES: the readout's message is silenced since just now. Seconds until the readout no longer
  // stands there, up to `most_s`; nothing: it still did then.
  virtual std::optional<double> GoneAfterS(const profile::Readout& readout, double most_s) = 0;

  // REQUIRES: the last look was in vain. Nothing else came of the display either.
  virtual bool IsSilent() { return true; }

  // As just switched on, watched for `most_s`. Nothing: this one cannot be switched.
  struct Started {
    std::optional<double> stands_after_s;  // nothing: it never did
    Shown first;
    std::optional<double> lit_until_s;  // its lamp, without a warning; nothing: never
  };
  virtual std::optional<Started> WatchStart(const profile::Readout&, double /*most_s*/) {
    return std::nullopt;
  }
  // REQUIRES: the key is off since just now. Seconds until the screen is dark, up to `most_s`.
  virtual std::optional<double> OffAfterS(const profile::Readout&, double /*most_s*/) {
    return std::nullopt;
  }
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_SCREEN_H_
