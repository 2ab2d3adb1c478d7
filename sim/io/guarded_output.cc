// SPDX-License-Identifier: Apache-2.0
#include "io/guarded_output.h"

#include <utility>

#include "io/go_first.h"

namespace drycrank::io {

GuardedOutput::GuardedOutput(std::unique_ptr<output::HoldingOutput> held, std::string program,
                             std::chrono::milliseconds limit)
    : held_(std::move(held)), program_(std::move(program)), limit_(limit) {}

GuardedOutput::~GuardedOutput() { Disarm(); }

// Of an owner that was killed each thread waits for its turn to end, and its guard hears it of the last: whatever
// niceness it was given, its threads may not wait long. Those that are made from here on have it from this one.
std::string GuardedOutput::Open() {
  if (std::string why = held_->Open(); !why.empty()) return why;
  GoSooner();
  Guard::Started started = Guard::Start(program_, limit_);
  if (!started.error.empty()) return started.error;
  guard_ = std::move(started.guard);
  for (const output::SafeSetting& setting : held_->SafeSettings()) {
    if (const std::string why = guard_->Hold(setting); !why.empty()) {
      return "its guard cannot make it safe: " + why;
    }
  }
  return "";
}

// The guard first: what moves is guarded from the first moment on.
std::string GuardedOutput::Arm() {
  if (guard_ == nullptr) return "it has no guard; open it first";
  if (const std::string why = guard_->Arm(); !why.empty()) return why;
  armed_ = true;
  const std::string why = held_->Arm();
  if (why.empty()) return "";
  Disarm();
  return failure_.starts_with(why) ? failure_ : failure_.empty() ? why : why + "; " + failure_;
}

void GuardedOutput::Give(const output::Given& given) {
  if (armed_) held_->Give(given);
}

void GuardedOutput::Beat(TimeNs now_ns) {
  if (!armed_) return;
  if (guard_->Beat()) return held_->Beat(now_ns);
  failure_ = "its guard is gone; without it nothing is driven";
  armed_ = false;
  held_->Disarm();
}

// What could not make itself safe is left to the guard. If that cannot either, a person has to.
void GuardedOutput::Disarm() {
  if (!std::exchange(armed_, false)) return;
  held_->Disarm();
  const std::string failed = held_->failure();
  const std::string why = failed.empty() ? guard_->Disarm() : guard_->Safe();
  if (why.empty() || !failure_.empty()) return;
  failure_ = failed.empty() ? why : failed + "; NOT SAFE: " + why;
}

std::string GuardedOutput::failure() const {
  return failure_.empty() ? held_->failure() : failure_;
}

}  // namespace drycrank::io
