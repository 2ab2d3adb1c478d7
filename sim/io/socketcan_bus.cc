// SPDX-License-Identifier: Apache-2.0
#include "io/socketcan_bus.h"

#include <fmt/format.h>
#include <net/if.h>
#include <sys/socket.h>

#include <cerrno>
#include <span>
#include <system_error>
#include <utility>

#include "io/can_error.h"
#include "io/can_wire.h"
#include "io/driven_reader.h"
#include "io/link_reader.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;

constexpr TimeNs kTryAgainNs = 100 * kNsPerMs;
constexpr TimeNs kLookEveryNs = 100 * kNsPerMs;
// So long must all be well with sending before we say so: a queue that is full now and then is not
// a new trouble each time.
constexpr TimeNs kCalmNs = 100 * kNsPerMs;
constexpr int kMaxReadsPerCall = 256;

}  // namespace

SocketCanBus::SocketCanBus(Clock& clock, int bus, const std::string& interface)
    : clock_(clock),
      bus_(bus),
      interface_(interface),
      reception_time_(clock),
      confirmations_(counters_) {
  OpenedCan opened = OpenCan(interface);
  if (opened.step.empty() && !opened.facts.up) {
    opened.error = ENETDOWN;
    opened.step = fmt::format(
        "{0} is down; for hardware: ip link set {0} up type can bitrate 500000, for vcan: ip link "
        "set {0} up",
        interface);
  }
  if (!opened.step.empty()) {
    throw std::system_error(opened.error, std::generic_category(),
                            "socketcan:" + interface_ + ": " + opened.step);
  }
  Take(std::move(opened));
  drives_ = Driven();
  may_send_ = drives_.empty();
  WaitForStamps();
}

void SocketCanBus::Take(OpenedCan opened) {
  facts_ = std::move(opened.facts);
  socket_ = std::move(opened.socket);
  lost_ = 0;
}

void SocketCanBus::Arm() {
  if (!socket_.is_open()) return;
  armed_ = drives_;
  if (!may_send_) events_.Push(BusEvent::kArmed);
  may_send_ = true;
}

// What cannot be looked at may be anything.
std::vector<bus::Driven> SocketCanBus::Driven() const {
  if (auto driven = ReadDriven(facts_.index)) return std::move(*driven);
  return {{facts_.index, facts_.name, facts_.kind, "the kernel does not tell what is behind it"}};
}

// What was armed once is not armed any more when anything else is driven beside it.
void SocketCanBus::TakeDriven(std::vector<bus::Driven> drives) {
  drives_ = std::move(drives);
  const bool may_send = bus::IsWithin(drives_, armed_);
  if (!may_send) armed_.clear();
  if (may_send != may_send_) {
    events_.Push(may_send ? BusEvent::kArmed : BusEvent::kNotArmed);
  }
  may_send_ = may_send;
}

void SocketCanBus::WatchDriven() {
  const TimeNs now_ns = clock_.Now();
  if (now_ns < next_look_ns_ || !up_) return;
  next_look_ns_ = now_ns + kLookEveryNs;
  char name[IF_NAMESIZE] = {};
  const bool told = if_indextoname(static_cast<unsigned>(facts_.index), name) != nullptr;
  if (told ? interface_ != name : errno == ENXIO) {
    return SocketFailed(ENODEV);  // another may have its name now
  }
  if (auto driven = ReadDriven(facts_.index)) TakeDriven(std::move(*driven));
}

bool SocketCanBus::Refuse(BusEvent event) {
  ++counters_.send_refused;
  if (event == BusEvent::kFdRefused || event == BusEvent::kNotArmed) {
    events_.Push(event);
  } else {
    SendTrouble(event);
  }
  return false;
}

void SocketCanBus::SendTrouble(BusEvent event) {
  last_mute_ns_ = clock_.Now();
  mute_ = true;
  events_.Push(event);
}

bool SocketCanBus::Send(const bus::Frame& frame) {
  Tend();
  if (!up_ || off_ || !bus::IsValid(frame)) {
    ++counters_.send_refused;
    return false;
  }
  if (!may_send_) return Refuse(BusEvent::kNotArmed);
  if (frame.fd && !facts_.CarriesFd()) return Refuse(BusEvent::kFdRefused);
  if (facts_.controller && facts_.controller->listen_only) return Refuse(BusEvent::kListenOnly);
  const WireFrame wire = ToWire(frame);
  const ssize_t sent = send(socket_.get(), &wire.frame, wire.size, MSG_DONTWAIT | MSG_NOSIGNAL);
  if (sent == static_cast<ssize_t>(wire.size)) {
    ++counters_.sent;
    confirmations_.OnSent(frame, clock_.Now());
    return true;
  }
  if (errno == EAGAIN || errno == ENOBUFS) return Refuse(BusEvent::kSendQueueFull);
  SocketFailed(errno);
  ++counters_.send_refused;
  return false;
}

void SocketCanBus::WentDown() {
  if (up_) events_.Push(BusEvent::kDown);
  up_ = off_ = false;  // brought up again, a controller is on the bus again
}

void SocketCanBus::SocketFailed(int error) {
  if (error == ENODEV || error == ENXIO) {
    // Binding this socket again would let us send but never receive: the kernel has dropped its
    // filters.
    socket_.Close();
    confirmations_.GiveUp();
    armed_.clear();  // what comes under its name may be another
  }
  WentDown();
}

// The kernel tells when an interface goes, not when it comes, and when a controller goes off the
// bus, but its coming back may be in a report that was lost: look now and then.
void SocketCanBus::Tend() {
  if (!up_ || off_) ComeBack();
  if (confirmations_.Expire(clock_.Now())) SendTrouble(BusEvent::kUnconfirmed);
}

void SocketCanBus::ComeBack() {
  const TimeNs now_ns = clock_.Now();
  if (now_ns < next_try_ns_) return;
  next_try_ns_ = now_ns + kTryAgainNs;
  if (!IsBack()) return;
  up_ = true;
  off_ = mute_ = false;
  events_.Push(BusEvent::kUp);
  TakeDriven(Driven());
}

bool SocketCanBus::IsBack() {
  if (!socket_.is_open()) {
    OpenedCan opened = OpenCan(interface_);
    if (!opened.step.empty() || !opened.facts.up) return false;
    Take(std::move(opened));
    return true;
  }
  const auto facts = ReadLink(facts_.index);
  if (!facts) return false;
  if (facts->name != interface_) {  // another may have its name now
    SocketFailed(ENODEV);
    return false;
  }
  if (!facts->up) return false;
  // Only a controller can be off the bus; of a report that somebody put on a vcan we cannot ask.
  if (off_ && (facts->IsVirtual() || !facts->running)) return false;
  facts_ = *facts;
  CarryFd(socket_, facts_.CarriesFd());
  return true;
}

std::optional<BusEvent> SocketCanBus::NextEvent() {
  Tend();
  WatchDriven();
  return events_.Pop();
}

void SocketCanBus::OnEcho(const bus::Frame& frame) {
  if (!confirmations_.OnEcho(frame)) return;
  if (!mute_ || clock_.Now() - last_mute_ns_ < kCalmNs) return;
  mute_ = false;
  events_.Push(BusEvent::kSending);
}

void SocketCanBus::OnErrorReport(const bus::Frame& report) {
  ++counters_.error_reports;
  for (const BusEvent event : ErrorEvents(report).events()) {
    events_.Push(event);
    if (event == BusEvent::kBusOff) {
      off_ = true;
      next_try_ns_ = clock_.Now() + kTryAgainNs;
    }
    if (event == BusEvent::kUp) off_ = mute_ = false;
  }
}

void SocketCanBus::CountLost(std::uint32_t lost) {
  if (lost == lost_) return;
  counters_.receive_lost += lost - lost_;
  lost_ = lost;
  events_.Push(BusEvent::kOverrun);
}

TimeNs SocketCanBus::ReceivedAt(const Datagram& datagram) {
  TimeNs age_ns = datagram.age_ns;
  if (datagram.hardware_ns != 0 && datagram.kernel_ns != 0) {
    age_ns += hardware_time_.EarlierBy(datagram.kernel_ns, datagram.hardware_ns);
  }
  return reception_time_.Of(age_ns);
}

std::optional<bus::TimedFrame> SocketCanBus::Receive() {
  Tend();
  for (int i = 0; i < kMaxReadsPerCall && socket_.is_open(); ++i) {
    canfd_frame wire{};
    const Datagram datagram =
        Read(socket_, std::span(reinterpret_cast<std::uint8_t*>(&wire), sizeof(wire)));
    if (datagram.error == EAGAIN) {
      reception_time_.FoundNothing();
      return std::nullopt;
    }
    if (datagram.error != 0) {
      SocketFailed(datagram.error);
      return std::nullopt;
    }
    CountLost(datagram.lost);
    const std::optional<bus::Frame> frame = FromWire(wire, datagram.size);
    if (!frame) {
      ++counters_.malformed;
      continue;
    }
    if (datagram.own) {
      OnEcho(*frame);
      continue;
    }
    if (frame->error) {
      OnErrorReport(*frame);
    } else {
      ++counters_.received;
    }
    return bus::TimedFrame{ReceivedAt(datagram), bus_, false, *frame};
  }
  return std::nullopt;
}

std::string SocketCanBus::Properties() const {
  std::string text = facts_.hardware_stamps
                         ? "receive stamps of the hardware"
                         : "receive stamps of the kernel, the hardware gives none";
  text += facts_.CarriesFd() ? "; carries FD" : "; classical";
  if (facts_.controller) {
    text += fmt::format(
        "; {} bit/s; {}", facts_.controller->bitrate_bps,
        facts_.controller->restart_ms == 0
            ? "does not restart by itself after bus-off"
            : fmt::format("restarts {} ms after bus-off", facts_.controller->restart_ms));
  }
  for (const bus::Driven& driven : drives_) {
    if (!driven.way.empty()) text += "; drives " + driven.way;
  }
  return text + fmt::format("; {} of {} frames", facts_.qdisc, facts_.send_queue_frames);
}

std::string SocketCanBus::Describe(BusEvent event) const {
  std::string text = bus::Name(event);
  if (event == BusEvent::kBusOff && facts_.controller) {
    text += facts_.controller->restart_ms > 0
                ? fmt::format("; restarts by itself after {} ms", facts_.controller->restart_ms)
                : fmt::format("; does not restart by itself: ip link set {} type can restart",
                              interface_);
  } else if (event == BusEvent::kSendQueueFull) {
    text += fmt::format("; {} of {} frames", facts_.qdisc, facts_.send_queue_frames);
  } else if (event == BusEvent::kUnconfirmed) {
    text += fmt::format("; does anybody acknowledge, and does the queueing discipline {} drop?",
                        facts_.qdisc);
  } else if (event == BusEvent::kNotArmed) {
    text += fmt::format(
        "; what is sent reaches {0}, which nobody has armed: nothing is sent; drycrank tell arm "
        "{0} by "
        "NAME, or start anew",
        bus::NamesOf(drives_, ","));
  } else if (event == BusEvent::kListenOnly) {
    text += fmt::format(
        "; the frame was not sent: ip link set {0} down; ip link set {0} type can "
        "listen-only off; ip link set {0} up",
        interface_);
  }
  return text;
}

}  // namespace drycrank::io
