// SPDX-License-Identifier: Apache-2.0
//
// What goes out: frames that fall due, on their way to the wire or to an interface, and to all who
// listen.
#include <fmt/format.h>

#include "run/runner.h"
#include "types/nth.h"

namespace drycrank::run {

void Runner::PutFrom(Node& node, Origin origin, TimeNs t_ns, Outlet& outlet) {
  const std::span<const TimeNs> late_ns = outlet.LateNs(t_ns);
  bus::TimedFrame frame;
  while (!finished_) {
    const int message = node.TakeDue(t_ns, late_ns, frame);
    if (message < 0) break;
    Put(frame, origin, message, outlet);
  }
}

void Runner::PutReplayed(TimeNs t_ns, Outlet& outlet) {
  bus::TimedFrame frame;
  int message = -1;
  while (!finished_ && replays_.TakeDue(t_ns, frame, message)) {
    // Its time is that of its arrival; a wire of ours would delay it once more.
    if (IsOutside(frame)) {
      outlet.SendReplayed(frame, message);
    } else {
      outlet.Tell(frame, Origin::kSimulator);
    }
  }
  for (std::string note = replays_.TakeNote(); !note.empty(); note = replays_.TakeNote()) {
    outlet.Note(note, t_ns);
  }
}

void Runner::SendDue(TimeNs t_ns, Outlet& outlet) {
  bus::TimedFrame strange;
  while (!finished_ && bus_faults_.TakeDue(t_ns, strange)) {
    Put(strange, Origin::kSimulator, -1, outlet);
  }
  PutReplayed(t_ns, outlet);
  PutFrom(simulator_node_, Origin::kSimulator, t_ns, outlet);
  if (controller_node_ && controller_node_->NextDue() <= t_ns) {
    controller_->Advance(t_ns);
    PutFrom(*controller_node_, Origin::kController, t_ns, outlet);
  }
  if (display_node_ && display_node_->NextDue() <= t_ns) {
    display_->Advance(t_ns);
    PutFrom(*display_node_, Origin::kDisplay, t_ns, outlet);
  }
  if (controller_ && talkers_.NextDue() <= t_ns) controller_->Advance(t_ns);
  bus::TimedFrame frame;
  Origin origin = Origin::kSimulator;
  while (!finished_ && talkers_.TakeDue(t_ns, frame, origin)) {
    if (origin == Origin::kController && bus_faults_.IsAbsent(profile::Sender::kController))
      continue;
    Put(frame, origin, -1, outlet);
  }
}

void Runner::PutChanged(TimeNs t_ns, Outlet& outlet) {
  bus::TimedFrame frame;
  while (simulator_node_.TakeChanged(t_ns, frame)) Put(frame, Origin::kSimulator, -1, outlet);
  while (controller_node_ && controller_node_->TakeChanged(t_ns, frame)) {
    Put(frame, Origin::kController, -1, outlet);
  }
  while (display_node_ && display_node_->TakeChanged(t_ns, frame)) {
    Put(frame, Origin::kDisplay, -1, outlet);
  }
}

void Runner::Put(const bus::TimedFrame& frame, Origin origin, int message, Outlet& outlet) {
  if (bus_faults_.IsOff(frame.bus)) return;
  if (origin == Origin::kController && !controller_->powered()) return;
  if (!frame.frame.error && !IsOutside(frame)) NoteErrorState(frame, origin, outlet);
  if (frame.frame.error) {
    outlet.Tell(frame, origin);
  } else if (IsOutside(frame) || bus_wires_.IsAnswered(frame.bus, origin)) {
    outlet.Send(frame, origin, message);
  }
}

// With its first frame that fails, and the first that does not any more: the tries of a frame that
// fails take milliseconds (harness/error_state.h).
void Runner::NoteErrorState(const bus::TimedFrame& frame, Origin origin, Outlet& outlet) {
  if (origin != Origin::kController && origin != Origin::kDisplay) return;
  const auto news = bus_wires_.TakeNews(frame.bus, origin);
  if (!news) return;
  outlet.Note(fmt::format("{} on bus {}: {}", origin == Origin::kController ? "controller" : "display",
                          Nth(bench_.buses, frame.bus).name, plant::InWords(*news)),
              frame.t_ns);
}

std::span<const TimeNs> Runner::LateNs(TimeNs t_ns) { return carrier_.LateNs(t_ns); }

void Runner::Send(const bus::TimedFrame& frame, Origin origin, int message) {
  if (carrier_.Send(frame, static_cast<int>(origin), message)) Deliver(frame, origin);
}

void Runner::SendReplayed(const bus::TimedFrame& frame, int message) {
  if (!IsTooLate(frame)) Put(frame, Origin::kSimulator, message, *this);
}

void Runner::Tell(const bus::TimedFrame& frame, Origin origin) { Deliver(frame, origin); }

// After the machine stood still: what a recording has of that time would come in a burst.
bool Runner::IsTooLate(const bus::TimedFrame& replayed) {
  const TimeNs late_ns = Nth(carrier_.LateNs(replayed.t_ns), replayed.bus);
  if (late_ns < kReplayedLateNs) return false;
  ++replayed_left_out_;
  return true;
}

bool Runner::IsOutside(const bus::TimedFrame& frame) const {
  return Nth(options_.interfaces, frame.bus) != nullptr;
}

Node& Runner::NodeOf(Origin origin) {
  if (origin == Origin::kController) return *controller_node_;
  return origin == Origin::kDisplay ? *display_node_ : simulator_node_;
}

// To the interfaces first: whoever listens here can wait, the wire cannot.
void Runner::HandOverAhead() {
  if (!ahead_.TakeHandOver()) return;
  const std::span<const TimeNs> late_ns = carrier_.LateNs(ahead_.due_ns());
  ahead_.LeaveOut([&](const Ahead::Made& made) {
    if (made.way == Ahead::Way::kReplayed) return IsTooLate(made.frame);
    if (made.message < 0) return false;
    const profile::Bus& bus = Nth(bench_.buses, made.frame.bus);
    const TimeNs period_ns = FromMs(Nth(bus.messages, made.message).period_ms);
    if (Nth(late_ns, made.frame.bus) < period_ns) return false;
    NodeOf(made.origin).TakeBack(made.frame.bus, made.message);
    return true;
  });
  for (const Ahead::Made& made : ahead_.frames()) {
    if (made.way == Ahead::Way::kTold || !IsOutside(made.frame)) continue;
    carrier_.Send(made.frame, static_cast<int>(made.origin), made.message);
  }
}

void Runner::DeliverAhead(TimeNs t_ns) {
  HandOverAhead();
  for (const std::string& note : ahead_.notes()) Note(note, t_ns);
  for (const Ahead::Made& made : ahead_.frames()) {
    if (made.way == Ahead::Way::kTold || IsOutside(made.frame)) {
      if (!finished_) Deliver(made.frame, made.origin);
    } else {
      carrier_.Send(made.frame, static_cast<int>(made.origin), made.message);
    }
  }
  ahead_.End();
}

void Runner::TakeArrivals(TimeNs t_ns) {
  Carrier::Arrival arrival;
  while (!finished_ && carrier_.TakeArrival(t_ns, arrival)) {
    Deliver(arrival.frame, static_cast<Origin>(arrival.sender));
  }
}

void Runner::Deliver(const bus::TimedFrame& frame, Origin origin) {
  if (bus_faults_.IsOff(frame.bus)) return;
  const bool by_computer = IsHeard(frame, origin, plant::Party::kComputer);
  if (by_computer) {
    ++frames_;
    for (RunObserver* observer : observers_) observer->OnFrame(frame);
    checker_.OnFrame(frame);
  }
  const bool by_display = display_ && origin != Origin::kDisplay &&
                          !bus_faults_.IsAbsent(profile::Sender::kDisplay) &&
                          IsHeard(frame, origin, plant::Party::kDisplay);
  if (by_display) display_->OnFrame(frame);
  // The controller's talkers, or the tester beside the computer.
  const plant::Party talker =
      origin == Origin::kController ? plant::Party::kComputer : plant::Party::kController;
  if (IsHeard(frame, origin, talker)) talkers_.OnFrame(frame, origin);
  if (by_computer) WatchCondition(frame);
}

// An error report is the computer's own.
bool Runner::IsHeard(const bus::TimedFrame& frame, Origin origin, plant::Party by) const {
  return frame.frame.error || IsOutside(frame) || bus_wires_.IsHeard(frame.bus, origin, by);
}

}  // namespace drycrank::run
