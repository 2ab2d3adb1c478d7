// SPDX-License-Identifier: Apache-2.0
#include "bus/link_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace drycrank::bus {
namespace {

constexpr std::int64_t kWantedReceiveBufferBytes = 8 << 20;
constexpr int kPassive = 128;  // ISO 11898-1: error-passive from this count on

// Queueing disciplines that drop a frame and report success.
constexpr std::array<std::string_view, 11> kDroppingQdiscs = {
    "fq_codel", "codel", "fq", "fq_pie", "pie", "cake", "sfq", "netem", "red", "choke", "hhf"};

class Findings {
 public:
  void LookAt(const HostFacts& host, const std::vector<BusFacts>& buses) {
    const bool only_multicast = !buses.empty() && std::ranges::all_of(buses, [](const BusFacts& b) {
      return b.multicast.has_value();
    });
    LookAtKernel(host, buses.empty(), only_multicast);
    LookAtRights(host);
    for (const BusFacts& bus : buses) {
      if (bus.multicast) LookAtMulticast(bus);
      if (!bus.multicast && host.has_can) LookAtInterface(bus, host);
      LookAtProbe(bus);
    }
  }
  std::vector<Finding> Take() {
    const auto order = [](const Finding& f) {
      return std::pair(!f.trouble, std::ranges::find(kCauses, f.cause) - kCauses.begin());
    };
    std::ranges::stable_sort(all_, {}, order);
    return std::move(all_);
  }

 private:
  void Trouble(std::string_view cause, const std::string& where, std::string what,
               std::string command = "") {
    all_.push_back({cause, true, where, std::move(what), std::move(command)});
  }
  void Notice(std::string_view cause, const std::string& where, std::string what,
              std::string command = "") {
    all_.push_back({cause, false, where, std::move(what), std::move(command)});
  }
  bool Has(std::string_view cause, const std::string& where) const {
    return std::ranges::any_of(
        all_, [&](const Finding& f) { return f.cause == cause && f.where == where; });
  }
  static std::string Where(const BusFacts& bus) {
    if (bus.multicast) {
      return fmt::format("{} (multicast {}:{})", bus.bus, bus.multicast->group,
                         bus.multicast->port);
    }
    return bus.bus == bus.interface ? bus.bus : fmt::format("{} ({})", bus.bus, bus.interface);
  }
  // Most settings of a controller can be changed only while it is down.
  static std::string SetWhileDown(const std::string& interface, const std::string& words) {
    return fmt::format("ip link set {0} down; ip link set {0} type can {1}; ip link set {0} up",
                       interface, words);
  }
  static std::string RateWords(const BusFacts& bus) {
    const double rate = bus.wanted_bitrate_bps > 0 ? bus.wanted_bitrate_bps : 500'000;
    std::string words = fmt::format("bitrate {:.0f}", rate);
    if (bus.wants_fd) words += fmt::format(" dbitrate {:.0f} fd on", bus.wanted_data_bitrate_bps);
    return words;
  }

  void LookAtKernel(const HostFacts& host, bool nothing_named, bool only_multicast);
  void LookAtRights(const HostFacts& host);
  void LookAtMulticast(const BusFacts& bus);
  void LookAtInterface(const BusFacts& bus, const HostFacts& host);
  void LookAtWays(const BusFacts& bus);
  void LookAtController(const BusFacts& bus, const ControllerFacts& controller);
  void LookAtErrors(const BusFacts& bus, const ControllerFacts& controller);
  void LookAtQueues(const BusFacts& bus, const LinkFacts& link);
  void LookAtProbe(const BusFacts& bus);

  std::vector<Finding> all_;
};

void Findings::LookAtKernel(const HostFacts& host, bool nothing_named, bool only_multicast) {
  if (only_multicast) return;
  const std::string where = "this computer";
  if (!host.has_can) {
    Trouble("no-can-in-kernel", where,
            "The kernel gives no CAN sockets. A multicast bus works without.", "modprobe can-raw");
  } else if (nothing_named && host.can_interfaces.empty()) {
    Trouble("no-interface", where,
            "There is no CAN interface, real or virtual. Is the adapter plugged in?",
            "dmesg | tail; for a virtual one: ip link add vcan0 type vcan; ip link set vcan0 up");
  }
}

void Findings::LookAtRights(const HostFacts& host) {
  const std::string where = "this computer";
  if (!host.may_raise_buffers && host.receive_buffer_max_bytes < kWantedReceiveBufferBytes) {
    Notice("small-receive-buffer", where,
           fmt::format("A receive buffer may have {} KiB at most; 8192 KiB ride out a second "
                       "without reading.",
                       host.receive_buffer_max_bytes / 1024),
           fmt::format("sysctl -w net.core.rmem_max={}", kWantedReceiveBufferBytes));
  }
  const bool memory = host.locked_memory_max_bytes < 0 || host.locked_memory_max_bytes >= 256 << 20;
  if (host.realtime_priority_max < 1 || !memory) {
    Notice("no-realtime-rights", where,
           fmt::format("This user may {}: under load frames leave late.",
                       memory ? "not have real-time priority"
                       : host.realtime_priority_max < 1
                           ? "neither have real-time priority nor lock its memory"
                           : "not lock its memory"),
           "in /etc/security/limits.d/drycrank.conf: \"@dialout - rtprio 80\" and \"@dialout - "
           "memlock unlimited\"; then log in anew");
  }
}

void Findings::LookAtMulticast(const BusFacts& bus) {
  const MulticastFacts& facts = *bus.multicast;
  if (facts.port_taken) {
    Trouble("multicast-port", Where(bus),
            fmt::format("Another program holds UDP port {} and does not share it.", facts.port),
            fmt::format("ss -ulpn 'sport = :{}'", facts.port));
  }
  if (facts.route_interface == "lo") return;
  Trouble(
      "multicast-route", Where(bus),
      facts.route_interface.empty()
          ? "There is no route for the group: other programs cannot join this bus."
          : fmt::format("What other programs send to the group leaves by {}, off this computer.",
                        facts.route_interface),
      fmt::format("ip route replace {}/32 dev lo", facts.group));
}

void Findings::LookAtInterface(const BusFacts& bus, const HostFacts& host) {
  const std::string where = Where(bus);
  if (!bus.link) {
    std::string there = "there is none";
    if (!host.can_interfaces.empty()) {
      there = fmt::format("there is {}", fmt::join(host.can_interfaces, ", "));
    }
    Trouble("no-interface", where,
            fmt::format("No interface is named {}; {}. An adapter that was pulled out takes its "
                        "interface with it.",
                        bus.interface, there),
            "ip -brief link; dmesg | tail");
    return;
  }
  const LinkFacts& link = *bus.link;
  if (!link.is_can) {
    Trouble("not-a-can-interface", where,
            bus.interface + " is a network interface, but not a CAN one.",
            "ip -details link show type can; ip -details link show type vcan");
    return;
  }
  if (!link.up) {
    Trouble("interface-down", where, bus.interface + " is down: it neither sends nor receives.",
            link.IsVirtual()
                ? fmt::format("ip link set {} up", bus.interface)
                : fmt::format("ip link set {} up type can {}", bus.interface, RateWords(bus)));
  }
  if (bus.wants_fd && !link.CarriesFd()) {
    Trouble("classical-for-fd", where,
            bus.interface + " carries classical frames only, and the bench has FD messages on it.",
            link.IsVirtual() ? fmt::format("ip link set {0} down; ip link set {0} mtu 72; ip link "
                                           "set {0} up",
                                           bus.interface)
                             : SetWhileDown(bus.interface, RateWords(bus)));
  }
  LookAtWays(bus);
  if (link.controller) LookAtController(bus, *link.controller);
  LookAtQueues(bus, link);
}

// What is sent there leaves by other hardware as well.
void Findings::LookAtWays(const BusFacts& bus) {
  for (const Driven& driven : bus.drives) {
    if (driven.way.empty()) continue;
    Notice("leads-to-hardware", Where(bus),
           fmt::format("What is sent there reaches hardware: {}. It is sent only with --arm {}.",
                       driven.way, driven.name),
           "cangw -L; ip -details link show type vxcan");
  }
}

void Findings::LookAtController(const BusFacts& bus, const ControllerFacts& controller) {
  const std::string where = Where(bus);
  const auto differs = [](double wanted, double is) {
    return wanted > 0 && std::fabs(wanted - is) > 0.005 * wanted;
  };
  if (bus.link->up && differs(bus.wanted_bitrate_bps, controller.bitrate_bps)) {
    Trouble("wrong-bit-rate", where,
            fmt::format("It runs at {} bit/s; the bench has {:.0f} bit/s. It destroys every frame "
                        "of the others.",
                        controller.bitrate_bps, bus.wanted_bitrate_bps),
            SetWhileDown(bus.interface, RateWords(bus)));
  } else if (bus.link->up && bus.wants_fd && controller.fd &&
             differs(bus.wanted_data_bitrate_bps, controller.data_bitrate_bps)) {
    Trouble("wrong-bit-rate", where,
            fmt::format("Its data phase runs at {} bit/s; the bench has {:.0f} bit/s.",
                        controller.data_bitrate_bps, bus.wanted_data_bitrate_bps),
            SetWhileDown(bus.interface, RateWords(bus)));
  }
  if (controller.listen_only) {
    Trouble("listen-only", where,
            "It listens only: what is sent is swallowed, and it acknowledges nobody.",
            SetWhileDown(bus.interface, "listen-only off"));
  }
  if (controller.loopback) {
    Trouble("loopback", where, "It is in loopback: it hears itself, and nothing reaches the wires.",
            SetWhileDown(bus.interface, "loopback off"));
  }
  if (controller.one_shot) {
    Notice("one-shot", where,
           "It is in one-shot mode: a frame that loses arbitration is not sent again.",
           SetWhileDown(bus.interface, "one-shot off"));
  }
  if (controller.restart_ms == 0) {
    Notice("no-automatic-restart", where, "After bus-off it stays off until somebody restarts it.",
           SetWhileDown(bus.interface, "restart-ms 100"));
  }
  if (controller.termination_ohm && *controller.termination_ohm == 0) {
    Notice("termination", where,
           "Its own terminating resistor is switched off. Whether the bus has two others cannot be "
           "told from here: measure 60 Ω between CANH and CANL, all off.",
           fmt::format("if it sits at an end of the line: ip link set {} type can termination 120",
                       bus.interface));
  }
  if (bus.link->up) LookAtErrors(bus, controller);
}

void Findings::LookAtErrors(const BusFacts& bus, const ControllerFacts& controller) {
  const std::string where = Where(bus);
  const ErrorCounts errors = controller.errors.value_or(ErrorCounts{});
  const std::string counts = controller.errors ? fmt::format("error counts: send {}, receive {}",
                                                             errors.transmit, errors.receive)
                                               : "it does not tell its error counts";
  if (controller.state == ControllerState::kBusOff) {
    Trouble("bus-off", where,
            fmt::format("The controller has taken itself off the bus after too many errors ({}).",
                        counts),
            fmt::format("mend the cause, then: ip link set {} type can restart", bus.interface));
    return;
  }
  const bool ill = controller.state == ControllerState::kWarning ||
                   controller.state == ControllerState::kPassive;
  // ISO 11898-1: an error-passive sender does not count a missing acknowledge up any more. So
  // alone on a bus it stands at 128 and never goes off the bus.
  if (ill && errors.transmit == kPassive && errors.receive == 0) {
    Trouble(
        "no-acknowledge", where,
        "Nobody acknowledges: its send error count stands at 128 and its receive count at 0, as "
        "with no other node on the bus.");
    return;
  }
  if (ill) {
    Trouble("error-passive", where,
            fmt::format("The controller is {} ({}).",
                        controller.state == ControllerState::kPassive ? "error-passive"
                                                                      : "close to error-passive",
                        counts));
  } else if (controller.bus_errors > 0 || errors.receive > 0 || errors.transmit > 0) {
    Notice("bus-errors", where,
           fmt::format("Errors on the bus: {} since the interface was made; {}. Termination, bit "
                       "rate, wiring: the counters do not tell which.",
                       controller.bus_errors, counts));
  }
}

void Findings::LookAtQueues(const BusFacts& bus, const LinkFacts& link) {
  const std::string where = Where(bus);
  if (std::ranges::count(kDroppingQdiscs, link.qdisc) > 0) {
    Trouble("dropping-queue", where,
            fmt::format("Its queueing discipline {} drops frames and reports success.", link.qdisc),
            fmt::format("tc qdisc replace dev {} root pfifo_fast", bus.interface));
  }
  const bool queues = link.qdisc != "noqueue" && link.qdisc != "noop";
  if (queues && !link.IsVirtual() && link.send_queue_frames < bus.messages_sent_by_us) {
    Notice(
        "short-send-queue", where,
        fmt::format("Its send queue has room for {} frames, and the bench may have {} to send at "
                    "once.",
                    link.send_queue_frames, bus.messages_sent_by_us),
        fmt::format("ip link set {} txqueuelen {}", bus.interface,
                    std::max(100, 2 * bus.messages_sent_by_us)));
  }
  if (link.receive_dropped + link.receive_overruns + link.send_dropped > 0) {
    Notice("frames-lost", where,
           fmt::format("Lost since the interface was made: {} on reception, {} for a full "
                       "controller, {} on sending.",
                       link.receive_dropped, link.receive_overruns, link.send_dropped),
           fmt::format("ip -statistics -details link show {}", bus.interface));
  }
}

void Findings::LookAtProbe(const BusFacts& bus) {
  if (!bus.probe) return;
  const ProbeFacts& probe = *bus.probe;
  const std::string where = Where(bus);
  if (!probe.problem.empty()) {
    const bool explained =
        std::ranges::any_of(all_, [&](const Finding& f) { return f.trouble && f.where == where; });
    if (!explained) Trouble("silent-bus", where, "It cannot be opened: " + probe.problem);
    return;
  }
  const bool unheard = probe.sent > 0 && probe.confirmed == 0 && !bus.multicast;
  if ((probe.no_acknowledge || unheard) && !Has("no-acknowledge", where)) {
    Trouble("no-acknowledge", where,
            unheard
                ? "The frame sent for a trial was never confirmed: nobody acknowledges, or it is "
                  "dropped on the way."
                : "The controller reports frames without acknowledge.");
  }
  if (probe.received == 0) {
    Trouble("silent-bus", where,
            fmt::format("Nothing was received in {:.1f} s, {} error reports.", probe.listened_s,
                        probe.error_reports));
  }
}

}  // namespace

std::string PageOf(const Finding& finding) {
  return fmt::format("hw-notes/doctor/{}.md", finding.cause);
}

std::vector<Finding> FindTrouble(const HostFacts& host, const std::vector<BusFacts>& buses) {
  Findings findings;
  findings.LookAt(host, buses);
  return findings.Take();
}

}  // namespace drycrank::bus
