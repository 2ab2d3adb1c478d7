// SPDX-License-Identifier: Apache-2.0
//
// A capture in the place of crank and cams: what is said of it.
#include <fmt/format.h>

#include "run/runner.h"

namespace drycrank::run {

void Runner::BeginCapture() {
  if (const Diagnostics& problems = capture_->problems(); !problems.empty()) {
    failure_ = fmt::format("the capture cannot be played: {}", Format(problems.front()));
    Note(failure_, 0);
    return Finish(0, "error: " + failure_);
  }
  capture_->Begin();
  for (const std::string& words : capture_->InWords()) Note(words, 0);
}

void Runner::WatchCapture(TimeNs t_ns) {
  if (!capture_->ended()) return;
  capture_end_told_ = true;
  const std::string trouble = capture_->Trouble();
  Note(trouble.empty()
           ? fmt::format("the capture ended at {:.3f} s; crank and cams stand still from there on",
                         ToSeconds(capture_->end_ns()))
           : fmt::format("the capture ends here, crank and cams stand still from now on: {}",
                         trouble),
       t_ns);
}

void Runner::NoteCaptureAtEnd(TimeNs t_ns) {
  if (options_.clock == nullptr || !options_.clock->IsReal() || capture_->waits() == 0) return;
  Note(fmt::format("the capture's file was read too slowly {} times: crank and cams were late then",
                   capture_->waits()),
       t_ns);
}

}  // namespace drycrank::run
