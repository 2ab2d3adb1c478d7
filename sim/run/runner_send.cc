// SPDX-License-Identifier: Apache-2.0
//
// What goes out: frames that fall due, on their way to the wire or to an interface, and to all who
// listen.
#include "run/runner.h"
#include "types/nth.h"

namespace drycrank::run {

void Runner::SendFrom(Node& node, Origin origin, TimeNs t_ns) {
  // What is made ahead is judged when it is handed over.
  const std::span<const TimeNs> late_ns = making_ahead_ ? on_time_ : carrier_.LateNs(t_ns);
  bus::TimedFrame frame;
  while (!finished_) {
    const int message = node.TakeDue(t_ns, late_ns, frame);
    if (message < 0) break;
    Send(frame, origin, message);
  }
}

void Runner::SendReplayed(TimeNs t_ns) {
  bus::TimedFrame frame;
  int message = -1;
  while (!finished_ && replays_.TakeDue(t_ns, frame, message)) {
    // Its time is that of its arrival; a wire of ours would delay it once more.
    if (!IsOutside(frame)) {
      Tell(frame, Origin::kSimulator);
    } else if (making_ahead_) {
      ahead_.push_back({frame, Origin::kSimulator, message, Way::kReplayed});
    } else if (!IsTooLate(frame)) {
      Send(frame, Origin::kSimulator, message);
    }
  }
  for (std::string note = replays_.TakeNote(); !note.empty(); note = replays_.TakeNote()) {
    Note(note, t_ns);
  }
}

void Runner::SendDue(TimeNs t_ns) {
  bus::TimedFrame strange;
  while (!finished_ && bus_faults_.TakeDue(t_ns, strange)) {
    Send(strange, Origin::kSimulator, -1);
  }
  SendReplayed(t_ns);
  SendFrom(simulator_node_, Origin::kSimulator, t_ns);
  if (controller_node_ && controller_node_->NextDue() <= t_ns) {
    controller_->Advance(t_ns);
    SendFrom(*controller_node_, Origin::kController, t_ns);
  }
  if (display_node_ && display_node_->NextDue() <= t_ns) {
    display_->Advance(t_ns);
    SendFrom(*display_node_, Origin::kDisplay, t_ns);
  }
  if (controller_ && talkers_.NextDue() <= t_ns) controller_->Advance(t_ns);
  bus::TimedFrame frame;
  Origin origin = Origin::kSimulator;
  while (!finished_ && talkers_.TakeDue(t_ns, frame, origin)) {
    if (origin == Origin::kController && bus_faults_.IsAbsent(profile::Sender::kController))
      continue;
    Send(frame, origin, -1);
  }
}

void Runner::SendChanged(TimeNs t_ns) {
  bus::TimedFrame frame;
  while (simulator_node_.TakeChanged(t_ns, frame)) Send(frame, Origin::kSimulator, -1);
  while (controller_node_ && controller_node_->TakeChanged(t_ns, frame)) {
    Send(frame, Origin::kController, -1);
  }
  while (display_node_ && display_node_->TakeChanged(t_ns, frame)) {
    Send(frame, Origin::kDisplay, -1);
  }
}

void Runner::Send(const bus::TimedFrame& frame, Origin origin, int message) {
  if (bus_faults_.IsOff(frame.bus)) return;
  if (origin == Origin::kController && !controller_->powered()) return;
  if (frame.frame.error) {
    Tell(frame, origin);
  } else if (making_ahead_) {
    ahead_.push_back({frame, origin, message, Way::kSent});
  } else if (carrier_.Send(frame, static_cast<int>(origin), message)) {
    Deliver(frame, origin);
  }
}

// Without a wire: an error report, or what a recording has as arrived.
void Runner::Tell(const bus::TimedFrame& frame, Origin origin) {
  if (making_ahead_) {
    ahead_.push_back({frame, origin, -1, Way::kTold});
  } else {
    Deliver(frame, origin);
  }
}

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
  if (handed_over_) return;
  handed_over_ = true;
  const std::span<const TimeNs> late_ns = carrier_.LateNs(ahead_ns_);
  const auto is_too_late = [&](const MadeFrame& made) {
    if (made.way == Way::kReplayed) return IsTooLate(made.frame);
    if (made.message < 0) return false;
    const profile::Bus& bus = Nth(bench_.buses, made.frame.bus);
    const TimeNs period_ns = FromMs(Nth(bus.messages, made.message).period_ms);
    if (Nth(late_ns, made.frame.bus) < period_ns) return false;
    NodeOf(made.origin).TakeBack(made.frame.bus, made.message);
    return true;
  };
  std::erase_if(ahead_, is_too_late);
  for (const MadeFrame& made : ahead_) {
    if (made.way == Way::kTold || !IsOutside(made.frame)) continue;
    carrier_.Send(made.frame, static_cast<int>(made.origin), made.message);
  }
}

void Runner::DeliverAhead(TimeNs t_ns) {
  HandOverAhead();
  handed_over_ = false;
  ahead_ns_ = kNever;
  for (const std::string& note : ahead_notes_) Note(note, t_ns);
  ahead_notes_.clear();
  for (const MadeFrame& made : ahead_) {
    if (made.way == Way::kTold || IsOutside(made.frame)) {
      if (!finished_) Deliver(made.frame, made.origin);
    } else {
      carrier_.Send(made.frame, static_cast<int>(made.origin), made.message);
    }
  }
  ahead_.clear();
}

void Runner::TakeArrivals(TimeNs t_ns) {
  Carrier::Arrival arrival;
  while (!finished_ && carrier_.TakeArrival(t_ns, arrival)) {
    Deliver(arrival.frame, static_cast<Origin>(arrival.sender));
  }
}

void Runner::Deliver(const bus::TimedFrame& frame, Origin origin) {
  if (bus_faults_.IsOff(frame.bus)) return;
  ++frames_;
  for (RunObserver* observer : observers_) observer->OnFrame(frame);
  checker_.OnFrame(frame);
  if (display_ && origin != Origin::kDisplay && !bus_faults_.IsAbsent(profile::Sender::kDisplay)) {
    display_->OnFrame(frame);
  }
  talkers_.OnFrame(frame, origin);
  WatchCondition(frame);
}

}  // namespace drycrank::run
