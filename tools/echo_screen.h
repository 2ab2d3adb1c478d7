// SPDX-License-Identifier: Apache-2.0
//
// A real display in front of a sweep: all messages of the bench but the display's own go out at
// their periods, in real time, and what its messages tell is what it shows. A value has arrived
// when the message that carries it was sent, each message that tells of it has come twice since,
// and what they tell stands (sweep/settling.h).
#ifndef DRYCRANK_TOOLS_ECHO_SCREEN_H_
#define DRYCRANK_TOOLS_ECHO_SCREEN_H_

#include <array>
#include <map>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "sweep/echo.h"
#include "sweep/screen.h"
#include "sweep/settling.h"
#include "sweep/standin_screen.h"
#include "types/clock.h"

namespace drycrank::tools {

class EchoScreen : public sweep::Screen {
 public:
  // `buses`: one for each of the bench; nullptr: not connected.
  EchoScreen(const profile::Bench& bench, std::vector<bus::CanBus*> buses, Clock& clock);

  bool SwitchOn() override { return false; }
  void Send(const profile::SignalRef& signal, double physical) override;
  void Silence(const profile::MessageRef& message, bool silent) override;
  void LetArrive() override;
  std::optional<sweep::Shown> Look(const profile::Readout& readout) override {
    return LookAtEach({{&readout}}).front();
  }
  std::vector<std::optional<sweep::Shown>> LookAtEach(const std::vector<Wanted>& wanted) override;
  bool IsSmoothed(const profile::Readout& readout) const override;
  std::optional<double> GoneAfterS(const profile::Readout& readout, double most_s) override;
  // Waits for what else may still come, as long as its messages take.
  bool IsSilent() override;

  // Sends on until `until_ns`, or until something can be read from `descriptor` (-1: nothing).
  void Play(TimeNs until_ns, int descriptor = -1);
  TimeNs now_ns() { return clock_.Now(); }
  // Of a readout whose last look was in vain: what was told no more, and when it last was.
  struct Gone {
    std::string parts;     // "its lamp"; empty: all of it
    TimeNs last_ns = -1;   // negative: never
    TimeNs swept_ns = -1;  // when it was first looked at; negative: it was not
  };
  Gone GoneOf(const std::string& readout) const;
  // When the display last said anything; negative: never.
  TimeNs last_heard_ns() const { return last_heard_ns_; }
  // Readouts that were taken while they still moved.
  std::vector<std::string> Unsteady() const;
  // Readouts that came to their end in many steps.
  std::vector<std::string> Smoothed() const;
  // Frames that a bus did not take.
  std::uint64_t refused() const { return refused_; }
  TimeNs refused_ns() const { return refused_ns_; }  // the first of them

 private:
  struct Heard {
    std::uint64_t count = 0;
    TimeNs last_ns = -1;
    bus::Frame frame;
  };
  // Bus, message, signal: of a message with several layouts each comes in its own time.
  using Key = std::array<int, 3>;

  void SendDue();
  void SendNow(std::size_t index);
  void Receive();
  void Hear(const profile::MessageRef& message, const bus::Frame& frame);
  void SendIt(const profile::MessageRef& message);
  using Counts = std::map<Key, std::uint64_t>;
  bool Came(const Counts& counts);
  Counts CountsOf(const std::vector<Key>& tellers, std::uint64_t more);
  // One readout, until its value stands there.
  struct Looking {
    Wanted what;
    sweep::Echo echo;
    sweep::Settling* settling = nullptr;
    Counts wanted;
    TimeNs patience_ns = 0, came_ns = 0;
    bool has_ended = false;
    std::optional<sweep::Shown> seen;
  };
  Looking BeginLook(const Wanted& what);
  void SeeWhatCame(Looking& look);
  sweep::Settling::Way WayOf(const profile::Readout& readout);
  TimeNs PatienceNs(const std::vector<Key>& tellers) const;
  std::optional<double> GoneOnceAfterS(const profile::Readout& readout, double most_s);
  static double GoneS(double stood_s, double gone_s, double must_s);
  static std::vector<Key> TellersOf(const sweep::Echo& echo);
  std::optional<double> ToldBy(const profile::SignalRef& at) const;
  std::optional<sweep::Shown> Told(const sweep::Echo& echo) const;
  void KeepGone(const sweep::Echo& echo, const Counts& wanted, Gone& gone) const;

  const profile::Bench& bench_;
  std::vector<bus::CanBus*> buses_;
  Clock& clock_;
  sweep::SentValues sent_;
  std::vector<TimeNs> due_ns_, sent_ns_;  // as sent_.messages()
  std::map<Key, Heard> heard_;
  std::map<std::string, sweep::Settling> settling_;  // by readout
  std::map<Key, double> way_;                        // that each signal was moved in all
  std::map<std::string, double> looked_at_;          // how much of it then, by readout
  std::map<std::string, Gone> gone_;                 // by readout
  std::vector<Key> all_tellers_;                     // each signal of the display
  TimeNs last_heard_ns_ = -1, refused_ns_ = 0;
  std::uint64_t refused_ = 0;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ECHO_SCREEN_H_
