// SPDX-License-Identifier: Apache-2.0
#include "tools/run_watch.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <utility>

#include "tools/commands.h"

namespace drycrank::tools {
namespace {

std::chrono::milliseconds SamplePeriod(const profile::Bench& bench) {
  const double ms = bench.controller ? bench.controller->sample_ms : 10;
  return std::chrono::milliseconds(static_cast<int>(std::ceil(ms)));
}

// A terminal that stands still must not keep the process alive.
void SayUnlessItWaits(const std::string& text) {
  if (!TakesText(STDERR_FILENO)) return;
  if (write(STDERR_FILENO, text.data(), text.size()) < 0) return;
}

}  // namespace

RunWatch::RunWatch(std::string program, const profile::Bench& bench,
                   std::function<void(TimeNs, const std::string&)> end_record,
                   std::chrono::milliseconds limit)
    : program_(std::move(program)),
      limit_(limit + SamplePeriod(bench)),
      end_record_(std::move(end_record)),
      watchdog_(limit_, [this] { LastWords(); }) {}

void RunWatch::OnClockStart(TimeNs /*origin_ns*/) { watchdog_.Beat(); }

void RunWatch::OnSample(TimeNs t_ns) {
  last_ns_.store(t_ns, std::memory_order_relaxed);
  watchdog_.Beat();
}

void RunWatch::OnEnd(const std::string& /*why*/, TimeNs /*t_ns*/) { watchdog_.Rest(); }

void RunWatch::LastWords() {
  const TimeNs last_ns = last_ns_.load(std::memory_order_relaxed);
  const TimeNs limit_ns = limit_.count() * kNsPerMs;
  const std::string why =
      fmt::format("watchdog: the run did not get on for {:.1f} s after {:.3f} s",
                  ToSeconds(limit_ns), ToSeconds(last_ns));
  SayUnlessItWaits(fmt::format("{}: {}; ended, so that nothing is driven by a program that hangs\n",
                               program_, why));
  if (end_record_) end_record_(last_ns + limit_ns, why);
}

}  // namespace drycrank::tools
