// SPDX-License-Identifier: Apache-2.0
//
// A bench and a scenario, played: the one place where the stages meet. Runner knows simulated time
// only; Pace (pace.h) asks a Clock when to go on, so that virtual and real time share this code.
//
// Everything that happens at one instant happens in this order: step, faults, edges and waves,
// voltages sampled, frames of recordings, simulator, controller, display. A frame that one of them
// sends on a bus inside this process takes its time on the wire and reaches the others and the
// checker at its end; on a bus with an interface it goes to the outside, the others and the checker
// at that same instant.
#ifndef DRYCRANK_RUN_RUNNER_H_
#define DRYCRANK_RUN_RUNNER_H_

#include <algorithm>
#include <cstdint>
#include <list>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "bus/can_bus.h"
#include "check/checker.h"
#include "plant/plant.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "run/ahead.h"
#include "run/bus_fault.h"
#include "run/bus_wires.h"
#include "run/bus_watch.h"
#include "run/capture_feed.h"
#include "run/carrier.h"
#include "run/node.h"
#include "run/observer.h"
#include "run/outlet.h"
#include "run/replay.h"
#include "run/second_sender.h"
#include "run/talkers.h"
#include "scenario/timeline.h"
#include "standin/controller.h"
#include "standin/display.h"
#include "standin/power_channels.h"
#include "types/clock.h"

namespace drycrank::run {

struct RunOptions {
  std::uint64_t seed = 1;
  bool controller = true;  // play the stand-in; false: a real one is connected
  bool display = true;
  bool endless = false;  // the last step never ends (a bench run live)
  // Waves are made at inputs that count edges alone: nobody but the stand-in looks at them.
  bool edges_only = false;
  // Interfaces to the outside, one per bus of the bench; nullptr: the bus is in this process only.
  std::vector<bus::CanBus*> interfaces;
  // Tells how late cyclic frames leave on those, and which are so late that they are left out;
  // nullptr: none is late.
  Clock* clock = nullptr;
};

class Runner : private plant::WaveSink, private Outlet {
 public:
  // Bench, scenario, interfaces and observers must outlive it. Observers: set before Start.
  Runner(const profile::Bench& bench, const profile::Scenario& scenario, const RunOptions& options);

  void AddObserver(RunObserver* observer) { observers_.push_back(observer); }
  void Start();  // begins the first step at 0

  TimeNs now_ns() const { return now_ns_; }
  bool finished() const { return finished_; }
  // Why it ended by itself before its time; empty: it did not.
  const std::string& failure() const { return failure_; }
  // The next instant that something outside could notice: a frame, a step, a fault, a sample.
  TimeNs NextDueNs() const;
  // While there is time before NextDueNs(): plays ahead what depends on nobody outside (edges,
  // waves, voltages, and what the frames due then carry), so that when it is due only sending is
  // left. What arrives in between counts from the next instant on.
  void Prepare();
  // Time 0 is now, with what is due then made already.
  void StartClock(Clock& clock);
  // Those of the interfaces, to wake up on reception, as they are now: an interface that goes and
  // comes has another one afterwards.
  std::span<const int> Descriptors();
  // Sends what was made ahead and is due, then takes what the interfaces received and what they
  // report; `t_ns` is now. Who is behind comes to now by steps: what an interface received after a
  // step is kept for the next (`is_now` false), with its own time.
  void Poll(TimeNs t_ns, bool is_now = true);
  // Everything due up to t_ns, in order.
  void RunTo(TimeNs t_ns);
  // Ends the run at t_ns, or where it was played ahead to; `why` as in RunObserver::OnEnd.
  void Finish(TimeNs t_ns, const std::string& why = "finished");

  // While it runs: a value, a fault, by hand.
  void Override(int stimulus, double value, double over_s = 0);  // over_s > 0: a ramp
  void Crank(double rpm);  // a starter's mean speed: slower in each compression
  void AddFault(const profile::Fault& fault);
  bool RemoveFault(const std::string& name);
  std::vector<std::string> FaultsInForce() const;
  // Those put in by hand, of which some may not be in force yet, or any more.
  std::size_t faults_by_hand() const { return by_hand_.size(); }
  bool HasFault(const std::string& name) const;
  const std::list<profile::Fault>& ByHand() const { return by_hand_; }
  // A note of somebody outside, for whoever keeps the run.
  void Remark(const std::string& text) { Note(text, PlayedNs()); }

  const check::Checker& checker() const { return checker_; }
  const scenario::Timeline& timeline() const { return timeline_; }
  const plant::Plant& plant() const { return plant_; }
  const standin::Controller* controller() const { return controller_ ? &*controller_ : nullptr; }
  // Are crank and cams those of a capture? Then nobody drives them.
  bool plays_capture() const { return capture_ != nullptr; }
  const standin::Display* display() const { return display_ ? &*display_ : nullptr; }
  std::span<const double> input_v() const { return input_v_; }  // of the last sample
  // Why nothing on this bus can be judged at present; empty: it can.
  std::string_view TroubleOf(std::size_t bus) const {
    return watches_[bus].lost() ? watches_[bus].why() : "";
  }
  std::uint64_t frames() const { return frames_; }
  std::uint64_t skipped_slots() const;
  std::uint64_t skipped_slots(int bus, int message) const;
  const Carrier& carrier() const { return carrier_; }
  // A frame of a recording that would leave this late is left out, counted and noted.
  static constexpr TimeNs kReplayedLateNs = 20 * kNsPerMs;

 private:
  void OnWave(int input, const Wave& piece) override;
  void OnMotion(const CrankMotion& motion) override;
  void OnEmf(int trigger, const Wave& emf) override;
  void OnAdvance(int trigger, double deg, TimeNs t_ns) override;
  void BeginStep(std::size_t step, TimeNs t_ns);
  void EndStep(TimeNs t_ns);
  void ApplyFaults(TimeNs t_ns);
  TimeNs PlayedNs() const { return std::max(now_ns_, ahead_.played_ns()); }
  void SetStandinFault(const profile::Fault& fault, bool in_force);
  void NoteBusFault(const profile::Fault& fault, bool in_force, TimeNs t_ns);
  void LeaveOutReplayed(Node& node);
  // What is due at t_ns, now or ahead: `outlet` takes what comes of it.
  void PlayInstant(TimeNs t_ns, Outlet& outlet);
  void Sample(TimeNs t_ns, Outlet& outlet);
  void SendDue(TimeNs t_ns, Outlet& outlet);
  void PutReplayed(TimeNs t_ns, Outlet& outlet);
  void PutFrom(Node& node, Origin origin, TimeNs t_ns, Outlet& outlet);
  void PutChanged(TimeNs t_ns, Outlet& outlet);
  void Put(const bus::TimedFrame& frame, Origin origin, int message, Outlet& outlet);
  void NoteErrorState(const bus::TimedFrame& frame, Origin origin, Outlet& outlet);
  // As the outlet of what is played now.
  std::span<const TimeNs> LateNs(TimeNs t_ns) override;
  void Send(const bus::TimedFrame& frame, Origin origin, int message) override;
  void SendReplayed(const bus::TimedFrame& frame, int message) override;
  void Tell(const bus::TimedFrame& frame, Origin origin) override;
  void Note(const std::string& text, TimeNs t_ns) override;
  bool IsOutside(const bus::TimedFrame& frame) const;
  bool IsTooLate(const bus::TimedFrame& replayed);
  Node& NodeOf(Origin origin);
  int SimulatorValueIndex(std::string_view carries) const;
  double SimulatorValue(int index, TimeNs t_ns);
  void HandOverAhead();
  void DeliverAhead(TimeNs t_ns);
  void TakeArrivals(TimeNs t_ns);
  void Deliver(const bus::TimedFrame& frame, Origin origin);
  bool IsHeard(const bus::TimedFrame& frame, Origin origin, plant::Party by) const;
  void WatchCondition(const bus::TimedFrame& frame);
  void DrainController();
  void DrainBefore(TimeNs t_ns);
  void TakeBusEvents(std::size_t b);
  std::optional<bus::TimedFrame> TakeFrame(std::size_t b, TimeNs t_ns, bool is_now);
  void LoseBus(std::size_t b);
  void RegainBus(std::size_t b);
  void EndStuck();
  void BeginCapture();
  void WatchCapture(TimeNs t_ns);
  void NoteCaptureAtEnd(TimeNs t_ns);
  TimeNs NextBusDueNs() const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  RunOptions options_;
  scenario::Timeline timeline_;
  check::Checker checker_;
  std::unique_ptr<CaptureFeed> capture_;  // none: the bench's own wheels
  bool capture_end_told_ = false;
  plant::Plant plant_;
  std::optional<standin::Controller> controller_;
  std::optional<standin::Display> display_;
  standin::PowerNodes power_nodes_;
  Node simulator_node_;
  std::optional<Node> controller_node_, display_node_;
  BusFaults bus_faults_;
  BusWires bus_wires_;
  Talkers talkers_;
  Replays replays_;
  Carrier carrier_;
  std::vector<RunObserver*> observers_;
  std::vector<BusWatch> watches_;  // one per bus of the bench
  SecondSender second_sender_;
  std::vector<int> descriptors_;
  std::vector<std::optional<bus::TimedFrame>>
      kept_;  // per interface: came after what was polled for

  TimeNs now_ns_ = 0;
  bool finished_ = false;
  std::string failure_;
  bool condition_met_ = false;
  TimeNs sample_ns_ = 0;
  TimeNs next_sample_ns_ = 0;
  TimeNs next_fault_ns_ = kNever;
  Ahead ahead_;
  std::vector<double> input_v_, reference_v_;
  std::vector<const profile::Fault*> in_force_;
  bool faults_applied_ = false;
  std::list<profile::Fault> by_hand_;
  std::uint64_t frames_ = 0;
  std::uint64_t replayed_left_out_ = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_RUNNER_H_
