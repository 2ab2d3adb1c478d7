// SPDX-License-Identifier: Apache-2.0
#include "io/output_thread.h"

#include <fmt/format.h>

#include <chrono>
#include <utility>

namespace drycrank::io {
namespace {

TimeNs Monotonic() {
  return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace

OutputThread::OutputThread(output::Output& output, output::Handover& handover)
    : output_(output), handover_(handover), thread_([this] { Run(); }) {}

OutputThread::~OutputThread() { Stop(); }

void OutputThread::StartClock(TimeNs now_ns) {
  alive_.store(true, std::memory_order_relaxed);
  origin_ns_.store(Monotonic() - now_ns, std::memory_order_release);
}

void OutputThread::AskToStop() { stopping_.store(true, std::memory_order_release); }

void OutputThread::Stop() {
  AskToStop();
  if (thread_.joinable()) thread_.join();
}

std::string OutputThread::failure() const {
  const std::lock_guard lock(mutex_);
  return failure_;
}

void OutputThread::Run() {
  std::string why;
  while (why.empty() && !is_stopping()) {
    const TimeNs origin_ns = origin_ns_.load(std::memory_order_acquire);
    why = Once(origin_ns == kNever ? -1 : Monotonic() - origin_ns);
    if (why.empty()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  output_.Disarm();
  if (why.empty()) why = output_.failure();
  if (why.empty()) return;
  {
    const std::lock_guard lock(mutex_);
    failure_ = std::move(why);
  }
  has_failed_.store(true, std::memory_order_release);
}

// Before time 0 nothing is due but the sign of life.
std::string OutputThread::Once(TimeNs now_ns) {
  const TimeNs until_ns = now_ns + output_.WantsAheadNs();
  for (const output::Given* given = handover_.Front();
       !is_stopping() && now_ns >= 0 && given != nullptr && given->t_ns <= until_ns; given = handover_.Front()) {
    if (IsOvertaken(*given, until_ns)) {
      overtaken_.fetch_add(1, std::memory_order_relaxed);
    } else {
      output_.Give(*given);
    }
    handover_.Pop();
    if (std::string why = output_.failure(); !why.empty()) return why;
  }
  output_.Beat(now_ns);
  if (std::string why = output_.failure(); !why.empty()) return why;
  return now_ns >= 0 ? Watch(now_ns) : "";
}

// By one of the same channel and kind that is due as well.
bool OutputThread::IsOvertaken(const output::Given& given, TimeNs until_ns) const {
  if (output_.NeedsEach()) return false;
  std::uint64_t behind = 1;
  for (const output::Given* next = handover_.Waiting(behind);
       next != nullptr && next->t_ns <= until_ns; next = handover_.Waiting(++behind)) {
    if (next->channel == given.channel && next->state.index() == given.state.index()) return true;
  }
  return false;
}

std::string OutputThread::Watch(TimeNs now_ns) {
  if (handover_.lost() > 0) {
    return fmt::format("{}: it is too slow, {} states found no room; end what else keeps this computer "
                       "busy, or drive slower",
                       output_.Description(), handover_.lost());
  }
  if (alive_.exchange(false, std::memory_order_relaxed)) alive_ns_ = now_ns;
  if (now_ns - alive_ns_ <= kSilentRun) return "";
  return fmt::format("{}: the run has stood still for {:g} s", output_.Description(),
                     ToSeconds(kSilentRun));
}

}  // namespace drycrank::io
