// SPDX-License-Identifier: Apache-2.0
#include "run/runner.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "bus/layout.h"
#include "standin/conversion.h"
#include "types/nth.h"

namespace drycrank::run {
namespace {

TimeNs SampleNs(const profile::Bench& bench) {
  return bench.controller ? FromMs(bench.controller->sample_ms) : 10 * kNsPerMs;
}

std::vector<profile::Sender> SendersOf(const profile::Bench& bench, const RunOptions& options) {
  std::vector<profile::Sender> senders = {profile::Sender::kSimulator};
  if (options.controller && bench.controller) senders.push_back(profile::Sender::kController);
  if (options.display && bench.display) senders.push_back(profile::Sender::kDisplay);
  return senders;
}

}  // namespace

Runner::Runner(const profile::Bench& bench, const profile::Scenario& scenario,
               const RunOptions& options)
    : bench_(bench),
      scenario_(scenario),
      options_(options),
      timeline_(bench, scenario),
      checker_(bench, scenario, timeline_),
      plant_(bench, timeline_, options.seed, *this),
      power_nodes_(bench,
                   [this](int stimulus, TimeNs t_ns) { return timeline_.Value(stimulus, t_ns); }),
      simulator_node_(
          bench, profile::Sender::kSimulator,
          [this](std::string_view name) { return SimulatorValueIndex(name); },
          [this](int index, TimeNs t_ns) { return SimulatorValue(index, t_ns); }),
      bus_faults_(bench),
      bus_wires_(bench),
      replays_(bench, scenario,
               [this](int stimulus, TimeNs t_ns) { return timeline_.Value(stimulus, t_ns); }),
      carrier_(bench, options.interfaces, options.clock),
      second_sender_(bench, SendersOf(bench, options)),
      sample_ns_(SampleNs(bench)),
      ahead_(bench) {
  if (options.edges_only && bench.controller) {
    plant_.HearOnly(standin::InputsThatCountEdges(*bench.controller));
  }
  if (scenario.capture) {
    capture_ = std::make_unique<CaptureFeed>(bench, *scenario.capture);
    plant_.Follow(*capture_);
  }
  if (options.controller && bench.controller) {
    controller_.emplace(bench);
    controller_node_.emplace(
        bench, profile::Sender::kController,
        [this](std::string_view name) { return controller_->ValueIndex(name); },
        [this](int index, TimeNs /*t_ns*/) { return controller_->Value(index); });
    talkers_.AddController(*bench.controller, *controller_);
  }
  if (options.display && bench.display) {
    display_.emplace(bench);
    display_node_.emplace(
        bench, profile::Sender::kDisplay,
        [this](std::string_view name) { return display_->ValueIndex(name); },
        [this](int index, TimeNs /*t_ns*/) { return display_->Value(index); });
  }
  talkers_.AddTester(bench, scenario);
  LeaveOutReplayed(simulator_node_);
  if (controller_node_) LeaveOutReplayed(*controller_node_);
  if (display_node_) LeaveOutReplayed(*display_node_);
  input_v_.resize(bench.controller ? bench.controller->inputs.size() : 0);
  reference_v_.resize(bench.controller ? bench.controller->references.size() : 0);
  options_.interfaces.resize(bench.buses.size(), nullptr);
  watches_.resize(bench.buses.size());
  descriptors_.resize(bench.buses.size(), -1);
  kept_.resize(bench.buses.size());
}

// Stimuli, and behind them what power nodes say.
int Runner::SimulatorValueIndex(std::string_view carries) const {
  const int stimulus = profile::IndexOf(bench_.stimuli, carries);
  const int power = stimulus < 0 ? power_nodes_.ValueIndex(carries) : -1;
  return power < 0 ? stimulus : static_cast<int>(bench_.stimuli.size()) + power;
}
double Runner::SimulatorValue(int index, TimeNs t_ns) {
  const int power = index - static_cast<int>(bench_.stimuli.size());
  return power < 0 ? timeline_.Value(index, t_ns) : power_nodes_.Value(power, t_ns);
}

// Who is silent while a recording plays its messages.
void Runner::LeaveOutReplayed(Node& node) {
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    for (std::size_t m = 0; m < bench_.buses[b].messages.size(); ++m) {
      if (!replays_.Covers(static_cast<int>(b), bench_.buses[b].messages[m])) continue;
      node.LeaveOut(static_cast<int>(b), static_cast<int>(m));
    }
  }
}

void Runner::Start() {
  if (capture_) BeginCapture();
  if (finished_) return;
  BeginStep(0, 0);
  for (const profile::Replay& replay : scenario_.replays) {
    Note(fmt::format("bus {} plays the recording {}", Nth(bench_.buses, replay.bus).name,
                     std::filesystem::path(replay.file).filename().string()),
         0);
  }
}

void Runner::StartClock(Clock& clock) {
  Prepare();
  clock.Start();
  for (RunObserver* observer : observers_) observer->OnClockStart(clock.OriginNs());
}

void Runner::OnWave(int input, const Wave& piece) {
  if (controller_) controller_->OnWave(input, piece);
  for (RunObserver* observer : observers_) observer->OnWave(input, piece);
}

void Runner::OnMotion(const CrankMotion& motion) {
  checker_.OnMotion(motion);
  for (RunObserver* observer : observers_) observer->OnMotion(motion);
}

void Runner::OnEmf(int trigger, const Wave& emf) {
  for (RunObserver* observer : observers_) observer->OnEmf(trigger, emf);
}

void Runner::OnAdvance(int trigger, double deg, TimeNs t_ns) {
  for (RunObserver* observer : observers_) observer->OnAdvance(trigger, deg, t_ns);
}

void Runner::BeginStep(std::size_t step, TimeNs t_ns) {
  condition_met_ = false;
  DrainBefore(t_ns);
  power_nodes_.LookBefore(t_ns);
  timeline_.BeginStep(step, t_ns);
  for (RunObserver* observer : observers_) observer->OnStep(step, t_ns);
  checker_.OnStep(step, t_ns);
  plant_.OnStep(t_ns);
  ApplyFaults(t_ns);
}

void Runner::EndStep(TimeNs t_ns) {
  const profile::Step& step = scenario_.steps[timeline_.step()];
  if (step.wait_for && !condition_met_) {
    Note(fmt::format("step {}: waited {:.3g} s in vain for {}", step.name, step.for_s,
                     step.wait_for->text),
         t_ns);
  }
  if (timeline_.step() + 1 < timeline_.step_count()) {
    BeginStep(timeline_.step() + 1, t_ns);
  } else {
    Finish(t_ns);
  }
}

void Runner::SetStandinFault(const profile::Fault& fault, bool in_force) {
  const auto* table = fault.As<profile::fault::Calibration>();
  if (table && controller_) controller_->SetCalibration(fault.at, *table, in_force);
  if (fault.Is<profile::fault::Told>() && controller_) controller_->SetTold(fault, in_force);
  const auto* layout = fault.As<profile::fault::Layout>();
  if (layout && display_) display_->SetLayout(fault.at, *layout, in_force);
}

void Runner::NoteBusFault(const profile::Fault& fault, bool in_force, TimeNs t_ns) {
  const int bus = profile::IndexOf(bench_.buses, fault.at);
  if (bus < 0) return;
  if (fault.Is<profile::fault::BusOff>()) {
    // As when the interface says so itself: nothing there can be judged until it is back.
    const bus::BusEvent event = in_force ? bus::BusEvent::kBusOff : bus::BusEvent::kUp;
    Note(fmt::format("bus {} (fault): {}", fault.at, bus::Name(event)), t_ns);
    const auto b = AsSize(bus);
    const BusWatch::Change change = watches_[b].On(event);
    if (change == BusWatch::Change::kLost) LoseBus(b);
    if (change == BusWatch::Change::kRegained) RegainBus(b);
  }
  if (fault.Is<profile::fault::ErrorFrames>() && in_force &&
      Nth(options_.interfaces, bus) != nullptr) {
    Note(fmt::format("bus {}: error frames are only reported here; no interface sends them on the "
                     "wire when told to",
                     fault.at),
         t_ns);
  }
}

void Runner::ApplyFaults(TimeNs t_ns) {
  std::vector<const profile::Fault*> now;
  for (const int index : timeline_.FaultsAt(t_ns)) {
    now.push_back(&Nth(scenario_.faults, index));
  }
  for (const profile::Fault& fault : by_hand_) now.push_back(&fault);
  next_fault_ns_ = timeline_.NextFaultChangeNs(t_ns);
  if (now == in_force_ && faults_applied_) return;
  faults_applied_ = true;
  const auto contains = [](const auto& list, const profile::Fault* f) {
    return std::find(list.begin(), list.end(), f) != list.end();
  };
  const auto tell = [&](const profile::Fault* fault, bool in_force) {
    SetStandinFault(*fault, in_force);
    NoteBusFault(*fault, in_force, t_ns);
    for (RunObserver* observer : observers_) observer->OnFault(fault->name, in_force, t_ns);
  };
  for (const profile::Fault* fault : in_force_) {
    if (!contains(now, fault)) tell(fault, false);
  }
  for (const profile::Fault* fault : now) {
    if (!contains(in_force_, fault)) tell(fault, true);
  }
  in_force_ = now;
  plant_.SetFaults(t_ns, in_force_);
  simulator_node_.SetFaults(in_force_);
  if (controller_node_) controller_node_->SetFaults(in_force_);
  if (display_node_) display_node_->SetFaults(in_force_);
  bus_faults_.SetFaults(in_force_, t_ns);
  bus_wires_.SetFaults(in_force_);
}

void Runner::DrainController() {
  for (const Edge& edge : controller_->TakeEdges()) {
    checker_.OnEdge(edge);
    for (RunObserver* observer : observers_) observer->OnEdge(edge);
  }
  for (const standin::OutputEvent& event : controller_->TakeOutputs()) {
    checker_.OnOutput(event);
    for (RunObserver* observer : observers_) observer->OnOutput(event);
  }
}

// What came before this instant belongs to what was driven before it.
void Runner::DrainBefore(TimeNs t_ns) {
  if (!controller_ || t_ns == 0) return;
  controller_->Advance(t_ns - 1);
  DrainController();
}

void Runner::Sample(TimeNs t_ns, Outlet& outlet) {
  plant_.Sample(t_ns, input_v_);
  if (controller_) {
    for (std::size_t i = 0; i < reference_v_.size(); ++i) {
      reference_v_[i] = plant_.ReferenceV(static_cast<int>(i));
    }
    controller_->Advance(t_ns);
    controller_->OnSample(t_ns, input_v_, plant_.SupplyV(), reference_v_);
    DrainController();
  }
  if (display_) display_->Advance(t_ns);
  if (capture_ && !capture_end_told_) WatchCapture(t_ns);
  for (RunObserver* observer : observers_) observer->OnSample(t_ns);
  next_sample_ns_ += sample_ns_;
  PutChanged(t_ns, outlet);
}

void Runner::WatchCondition(const bus::TimedFrame& frame) {
  const auto& condition = scenario_.steps[timeline_.step()].wait_for;
  if (!condition || condition_met_ || frame.bus != condition->signal.bus) return;
  const profile::Message& message =
      Nth(Nth(bench_.buses, frame.bus).messages, condition->signal.message);
  if (!bus::Matches(message, frame.frame)) return;
  const auto value = bus::Measured(message, condition->signal.signal, frame.frame);
  condition_met_ = value && timeline_.Observe(condition->signal, *value);
}

TimeNs Runner::NextBusDueNs() const {
  TimeNs due_ns = std::min(
      {simulator_node_.NextDue(), bus_faults_.NextDue(), talkers_.NextDue(), replays_.NextDue()});
  if (controller_node_) due_ns = std::min(due_ns, controller_node_->NextDue());
  if (display_node_) due_ns = std::min(due_ns, display_node_->NextDue());
  return due_ns;
}

TimeNs Runner::NextDueNs() const {
  if (finished_) return kNever;
  if (condition_met_) return PlayedNs();
  const TimeNs step_ns = options_.endless ? kNever : timeline_.StepEndNs();
  return std::min({step_ns, next_fault_ns_, next_sample_ns_, NextBusDueNs(), carrier_.NextDueNs(),
                   ahead_.due_ns()});
}

void Runner::PlayInstant(TimeNs t_ns, Outlet& outlet) {
  while (plant_.NextEventNs() <= t_ns) plant_.TakeEvent();
  if (next_sample_ns_ <= t_ns) Sample(t_ns, outlet);
  if (NextBusDueNs() <= t_ns) SendDue(t_ns, outlet);
}

void Runner::Prepare() {
  const TimeNs due_ns = NextDueNs();
  if (finished_ || condition_met_ || due_ns == kNever || ahead_.due_ns() != kNever) return;
  while (plant_.NextEventNs() < due_ns) {
    ahead_.PlayedTo(plant_.NextEventNs());
    plant_.TakeEvent();
  }
  const bool step_ends = !options_.endless && timeline_.StepEndNs() <= due_ns;
  if (step_ends || next_fault_ns_ <= due_ns || carrier_.NextDueNs() <= due_ns) return;
  ahead_.Begin(due_ns);
  PlayInstant(due_ns, ahead_);
}

void Runner::RunTo(TimeNs t_ns) {
  while (!finished_) {
    const TimeNs due_ns = std::min(NextDueNs(), t_ns);
    while (plant_.NextEventNs() < due_ns) {
      now_ns_ = plant_.NextEventNs();
      plant_.TakeEvent();
    }
    if (plant_.stuck_ns() != kNever) return EndStuck();
    now_ns_ = std::max(now_ns_, due_ns);
    if (NextDueNs() > t_ns) return;
    TakeArrivals(now_ns_);
    if (ahead_.due_ns() <= now_ns_) DeliverAhead(now_ns_);
    if (condition_met_ || (!options_.endless && timeline_.StepEndNs() <= now_ns_)) EndStep(now_ns_);
    if (finished_) return;
    if (next_fault_ns_ <= now_ns_) ApplyFaults(now_ns_);
    PlayInstant(now_ns_, *this);
    carrier_.Begin(now_ns_);
  }
}

// Crank and sensors came to no end: nothing that would follow is worth sending.
void Runner::EndStuck() {
  failure_ = fmt::format(
      "at {:.6f} s more than {} edges within one millisecond: no bench has so many. The run ends "
      "here",
      ToSeconds(plant_.stuck_ns()), plant::StepGuard::kMostPerMs);
  Note(failure_, now_ns_);
  Finish(now_ns_, "error: " + failure_);
}

void Runner::Note(const std::string& text, TimeNs t_ns) {
  for (RunObserver* observer : observers_) observer->OnNote(text, t_ns);
}

void Runner::Finish(TimeNs t_ns, const std::string& why) {
  if (finished_) return;
  finished_ = true;
  t_ns = std::max(t_ns, PlayedNs());
  if (controller_) {
    controller_->Advance(t_ns);
    DrainController();
  }
  if (replayed_left_out_ > 0) {
    Note(
        fmt::format("{} frames of recordings were left out: they would have left {:.0f} ms late or "
                    "more",
                    replayed_left_out_, ToMs(kReplayedLateNs)),
        t_ns);
  }
  if (talkers_.passed_over() > 0) {
    Note(fmt::format("{} questions to the controller were passed over: it still owed an answer",
                     talkers_.passed_over()),
         t_ns);
  }
  if (capture_) NoteCaptureAtEnd(t_ns);
  checker_.Finish(t_ns);
  if (const int unsettled = plant_.unsettled_count(); unsettled > 0) {
    Note(fmt::format("harness: {} times no steady state was found (a sensor that takes away its "
                     "own supply when it conducts?); the voltages then are an approximation",
                     unsettled),
         t_ns);
  }
  for (RunObserver* observer : observers_) observer->OnEnd(why, t_ns);
  for (RunObserver* observer : observers_) observer->OnFinish(t_ns);
}

std::uint64_t Runner::skipped_slots() const {
  std::uint64_t sum = simulator_node_.skipped();
  if (controller_node_) sum += controller_node_->skipped();
  if (display_node_) sum += display_node_->skipped();
  return sum;
}

std::uint64_t Runner::skipped_slots(int bus, int message) const {
  std::uint64_t sum = simulator_node_.skipped(bus, message);
  if (controller_node_) sum += controller_node_->skipped(bus, message);
  if (display_node_) sum += display_node_->skipped(bus, message);
  return sum;
}

}  // namespace drycrank::run
