// SPDX-License-Identifier: Apache-2.0
//
// A meter in a conversation at the terminal: a hand puts the probes, Enter reads it, and what it does not give is
// said and may be typed.
#ifndef DRYCRANK_TOOLS_METER_DIALOGUE_H_
#define DRYCRANK_TOOLS_METER_DIALOGUE_H_

#include <optional>
#include <string>

#include "io/bench_meter.h"

namespace drycrank::tools {

class MeterDialogue {
 public:
  // `meter` may be nullptr: there is none to be read.
  MeterDialogue(io::BenchMeter* meter, int columns) : meter_(meter), columns_(columns) {}

  // Says who it is, or why it is not there.
  void Reach() const;
  // Before the question, with what a hand must do to the leads.
  std::string EnterReads(protocol::MeterQuantity quantity) const;
  // Ohms that are open are infinite. Nothing: it has been said why, ask again.
  std::optional<double> Read(protocol::MeterQuantity quantity);
  // As it calls itself; empty: it has never answered.
  std::string identity() const { return meter_ != nullptr ? meter_->identity() : ""; }

 private:
  void SayWrapped(const std::string& text) const;

  io::BenchMeter* meter_;
  int columns_;
  bool in_series_ = false;  // its leads are in the sockets for amperes
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_METER_DIALOGUE_H_
