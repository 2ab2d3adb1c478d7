// SPDX-License-Identifier: Apache-2.0
//
// The owner's side of the guard (io/guard_process.h): whoever drives outputs starts it, hands over what
// makes each of them safe, arms it before the first is driven, and beats.
#ifndef DRYCRANK_IO_GUARD_H_
#define DRYCRANK_IO_GUARD_H_

#include <chrono>
#include <memory>
#include <string>
#include <string_view>

#include "io/socket.h"
#include "output/safe_setting.h"

namespace drycrank::io {

class Guard {
 public:
  // A beat that stays away for so long, and the outputs are made safe: within 200 ms of the last one.
  static constexpr std::chrono::milliseconds kLimit{120};

  // One of the two is empty. REQUIRES: 10 ms or more.
  struct [[nodiscard]] Started;
  static Started Start(const std::string& program, std::chrono::milliseconds limit = kLimit);
  // The guard's program as it was built or installed: beside this one, or in ../libexec/drycrank.
  static std::string Program();

  // Still armed: as Safe.
  ~Guard();
  Guard(const Guard&) = delete;
  Guard& operator=(const Guard&) = delete;

  // These wait for the guard's answer, which is empty, or why it cannot.
  [[nodiscard]] std::string Hold(const output::SafeSetting& setting);
  [[nodiscard]] std::string Arm();
  // The owner has made everything safe by itself; the guard does nothing any more.
  [[nodiscard]] std::string Disarm();
  // Acts now. A line of a chip is free only when its owner has closed it, or is gone.
  [[nodiscard]] std::string Safe();

  // Allocates nothing and does not wait. False: there is no guard any more, nothing may be driven.
  bool Beat();
  // Safe without an answer, for a second thread while the first one hangs. Nothing may be asked then.
  bool BeSafe();

 private:
  Guard(Socket line, int process) : line_(std::move(line)), process_(process) {}
  bool Tell(std::string_view message);
  std::string Ask(std::string_view message, std::string_view wanted);

  Socket line_;
  int process_;
  bool armed_ = false;
};
struct Guard::Started {
  std::unique_ptr<Guard> guard;
  std::string error;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_GUARD_H_
