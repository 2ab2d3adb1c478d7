// SPDX-License-Identifier: Apache-2.0
//
// The stand-in display in front of a sweep, in virtual time: between two looks every message comes
// twice, and a look is taken at the end of a period of the message looked at, when its next frame
// is just due, so that a value that is gone too soon is seen to be gone.
#ifndef DRYCRANK_SWEEP_STANDIN_SCREEN_H_
#define DRYCRANK_SWEEP_STANDIN_SCREEN_H_

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "standin/display.h"
#include "sweep/screen.h"

namespace drycrank::sweep {

// All values of all messages that are not the display's own. A message with several layouts is sent
// in each of them, one frame after another, the layout of the signal set last first: whoever does
// not look at its selector has the others' bits at the end. A signal that is instead of others is
// sent once it is set, until one of those is.
class SentValues {
 public:
  explicit SentValues(const profile::Bench& bench);

  // A selector that is set is held there; set to what is no number, it goes through its layouts
  // again.
  void Set(const profile::SignalRef& signal, double physical);
  void Silence(const profile::MessageRef& message, bool silent);
  bool IsSilent(const profile::MessageRef& message) const;
  double Value(const profile::SignalRef& signal) const;
  std::vector<bus::Frame> FramesOf(const profile::MessageRef& message);  // counters go on

  const std::vector<profile::MessageRef>& messages() const { return messages_; }

 private:
  struct Entry {
    profile::Message layout;
    std::vector<double> values;
    int selector = -1;  // of its signals
    std::vector<std::int64_t>
        banks;          // raw values of it that select something, that of `first` first
    bool held = false;  // the selector
    bool silent = false;
    std::uint64_t counter = 0;
  };
  static Entry EntryOf(const profile::Message& message);
  void Choose(const profile::SignalRef& signal);
  Entry& At(const profile::MessageRef& message);

  const profile::Bench& bench_;
  std::vector<profile::MessageRef> messages_;
  std::vector<std::vector<Entry>> entries_;
};

class StandinScreen : public Screen {
 public:
  // REQUIRES: bench.display. `seen_by_echo`: as its messages tell it, where the bench has any.
  // `smoothed`: readouts whose value comes to its end from one side, and stays a little on that
  // side, or on the other where it comes beyond.
  enum class Comes { kShort, kBeyond };
  explicit StandinScreen(const profile::Bench& bench, bool seen_by_echo = false,
                         const std::vector<std::string>& smoothed = {},
                         Comes comes = Comes::kShort);

  bool SwitchOn() override;
  void Send(const profile::SignalRef& signal, double physical) override;
  void Silence(const profile::MessageRef& message, bool silent) override;
  void LetArrive() override;
  std::optional<Shown> Look(const profile::Readout& readout) override;
  std::vector<std::optional<Shown>> LookAtEach(const std::vector<Wanted>& wanted) override;
  bool IsSmoothed(const profile::Readout& readout) const override {
    return approached_.contains(readout.name);
  }
  std::optional<double> GoneAfterS(const profile::Readout& readout, double most_s) override;
  std::optional<Started> WatchStart(const profile::Readout& readout, double most_s) override;
  std::optional<double> OffAfterS(const profile::Readout& readout, double most_s) override;
  // All gauges at one moment, in their order: what is sent has just come, and what is silent has
  // been so for longer than any of them waits.
  std::vector<Shown> LookAtAll();

 private:
  void Approach(const profile::Readout& readout);
  void SendAll(const profile::MessageRef* but);
  void SendOne(const profile::MessageRef& message);
  void Wait(double ms);
  Shown ShownNow(const profile::Readout& readout) const;
  Shown SeenAt(int gauge) const;

  profile::Bench bench_;
  standin::Display display_;
  SentValues sent_;
  bool seen_by_echo_;
  Comes comes_;
  std::map<std::string, double> approached_;  // of those that are smoothed, what it came to last
  TimeNs t_ns_ = 0;
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_STANDIN_SCREEN_H_
