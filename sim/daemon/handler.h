// SPDX-License-Identifier: Apache-2.0
//
// Requests to replies: changes the running bench, or tells about it. Every reply is one line of JSON
// with "ok" (true or false); "problem" says what was wrong and what would be right.
#ifndef DRYCRANK_DAEMON_HANDLER_H_
#define DRYCRANK_DAEMON_HANDLER_H_

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "daemon/engine_view.h"
#include "daemon/live_outputs.h"
#include "daemon/request.h"
#include "profile/bench.h"
#include "run/runner.h"
#include "types/time.h"

namespace drycrank::daemon {

// What is written while the bench runs.
struct Kept {
  std::string record, recording;  // folder and file; empty: none
  std::string trouble;            // what of them cannot be written any more
  std::string ended;              // why the record has ended already
  std::string low;                // the disk is nearly full
  std::uint64_t bytes = 0, bytes_per_hour = 0, disk_left_bytes = 0;
};

// Put in by hand and not cleared: each costs time with every change of another.
inline constexpr std::size_t kMostFaults = 100;

class Handler {
 public:
  // All must outlive it. `stop` is called for the request "stop"; `kept` says how record
  // and recording are. A drive that was left behind ends after longest_drive_ns.
  Handler(const profile::Bench& bench, run::Runner& runner,
          const std::vector<bus::CanBus*>& interfaces, std::function<void()> stop,
          std::function<Kept()> kept = {}, TimeNs longest_drive_ns = kNever)
      : bench_(bench),
        runner_(runner),
        interfaces_(interfaces),
        stop_(std::move(stop)),
        kept_(std::move(kept)),
        longest_drive_ns_(longest_drive_ns),
        drives_(bench.stimuli.size()) {}
  // What it knows is said by status and watch; it must outlive the handler.
  void Show(const EngineView& engine) { engine_ = &engine; }
  // The bench has outputs, too; they must outlive it.
  void Drive(LiveOutputs& outputs) { outputs_ = &outputs; }
  // Called with what somebody has armed; it must not wait for a disk.
  using WhenArmed = std::function<void(const std::vector<bus::Driven>& what, const std::string& by)>;
  void KeepArmed(WhenArmed keep) { keep_armed_ = std::move(keep); }
  // From now on it is not the clients who go.
  void BeginToEnd() { is_ending_ = true; }

  // `client` has its own number as long as it is connected.
  std::string Reply(const Request& request, std::uint64_t client);
  // The next line of a watch, and how long after the one before; nothing: the request is none, or wrong.
  std::string Watched() const;
  static std::optional<std::chrono::milliseconds> EveryOf(const Request& request);
  // It is gone, and with it whatever it drove.
  void Gone(std::uint64_t client);
  // A request of somebody who was gone before it could be done; it is noted.
  void TooLate(const std::string& line);
  // How far the bench is behind real time, for the status.
  void SetBehind(TimeNs behind_ns) { behind_ns_ = behind_ns; }
  // Ends the drives whose time is over.
  void EndOverdue();

 private:
  // A stimulus that was set by hand: by whom, and until when if nobody holds it.
  struct Driven {
    std::uint64_t client = kNobody;
    TimeNs until_ns = kNever;
  };
  static constexpr std::uint64_t kNobody = ~std::uint64_t{0};

  void End(std::size_t stimulus);
  std::string WhyCaptured(int stimulus) const;
  std::string Set(const Request& request, std::uint64_t client);
  std::string AddFault(const Request& request);
  std::string WhyTooMuch(const profile::Fault& fault) const;
  std::string Clear(const Request& request);
  std::string Arm(const Request& request, std::uint64_t client);
  std::string ArmOutputs(const std::string& by, std::uint64_t client);
  std::vector<std::size_t> WaitingBuses() const;
  std::vector<bus::Driven> ArmableHardware() const;
  void Keep(const std::string& where, const std::vector<bus::Driven>& what, const std::string& by);
  std::string WhyNotGiven(const Request& request, int stimulus, double value, double over_s) const;
  std::string Status() const;
  std::string Watch(const Request& request) const;

  const profile::Bench& bench_;
  run::Runner& runner_;
  const std::vector<bus::CanBus*>& interfaces_;
  std::function<void()> stop_;
  std::function<Kept()> kept_;
  TimeNs longest_drive_ns_;
  std::vector<Driven> drives_;  // per stimulus
  const EngineView* engine_ = nullptr;
  LiveOutputs* outputs_ = nullptr;
  bool is_ending_ = false;
  WhenArmed keep_armed_;
  std::uint64_t armer_ = kNobody;  // who armed the outputs, as long as they are
  TimeNs behind_ns_ = 0;
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_HANDLER_H_
