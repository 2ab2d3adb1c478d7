// SPDX-License-Identifier: Apache-2.0
#include "io/supply_output.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "protocol/scpi.h"
#include "types/plain_text.h"

namespace drycrank::io {

SupplyOutput::SupplyOutput(SupplyAddress address, double first_v, double limit_a,
                           std::chrono::milliseconds patience)
    : address_(std::move(address)), volts_(first_v), limit_a_(limit_a), patience_(patience) {}

std::string SupplyOutput::Description() const {
  return fmt::format("supply {}{}at {}:{}", identity_, identity_.empty() ? "" : " ", address_.host,
                     address_.port);
}

std::vector<output::SafeSetting> SupplyOutput::SafeSettings() const {
  return {output::SafeRequest{address_.host, address_.port, std::string(protocol::kOutputOff),
                              std::string(protocol::kAskOutput)}};
}

std::string SupplyOutput::Open() {
  if (std::string why = line_.Connect(address_.host, address_.port, patience_); !why.empty()) {
    return why;
  }
  const TextLine::Answer identity = line_.Ask("*IDN?");
  if (!identity.error.empty()) return identity.error;
  identity_ = OneLine(identity.line);
  const TextLine::Answer on = line_.Ask(protocol::kAskOutput);
  if (!on.error.empty()) return on.error;
  if (protocol::SaysOff(on.line)) return "";
  return fmt::format("{} is on already; switch its output off by hand, so that nobody is surprised",
                     Description());
}

// A command has no answer: whether it was taken, its list of errors says.
std::string SupplyOutput::Order(const std::string& command) {
  if (std::string why = line_.Say(command); !why.empty()) return why;
  const TextLine::Answer asked = line_.Ask(protocol::kAskError);
  if (!asked.error.empty()) return asked.error;
  const std::optional<protocol::ScpiError> error = protocol::ParseScpiError(asked.line);
  if (error && error->code == 0) return "";
  return fmt::format("{} does not take {}: {}", Description(), command, OneLine(asked.line));
}

std::string SupplyOutput::Arm() {
  failure_.clear();
  if (!line_.is_open()) return "it is not open";
  armed_ = true;
  for (const std::string& command : {std::string("*CLS"), fmt::format("CURR {:.6g}", limit_a_),
                                     fmt::format("VOLT {:.6g}", volts_), std::string("OUTP ON")}) {
    if (std::string why = Order(command); !why.empty()) {
      Fail(std::move(why));
      return failure_;
    }
  }
  return "";
}

void SupplyOutput::Give(const output::Given& given) {
  const auto* supply = std::get_if<output::SupplyVolts>(&given.state);
  if (!armed_ || supply == nullptr) return;
  if (std::string why = Order(fmt::format("VOLT {:.6g}", supply->volts)); !why.empty()) {
    Fail(std::move(why));
  }
}

void SupplyOutput::Beat(TimeNs now_ns) {
  if (!armed_ || (measured_ && now_ns - looked_ns_ < kLookNs)) return;
  looked_ns_ = now_ns;
  if (std::string why = LookAtCurrent(); !why.empty()) Fail(std::move(why));
}

std::string SupplyOutput::LookAtCurrent() {
  for (const auto& [question, value] :
       {std::pair{"MEAS:VOLT?", &measured_v_}, std::pair{"MEAS:CURR?", &measured_a_}}) {
    const TextLine::Answer answer = line_.Ask(question);
    if (!answer.error.empty()) return answer.error;
    const std::optional<double> number = protocol::ScpiNumber(answer.line);
    if (!number) {
      return fmt::format("{} answers {} to {}", Description(), OneLine(answer.line), question);
    }
    *value = *number;
  }
  measured_ = true;
  most_a_ = std::max(most_a_, measured_a_);
  return "";
}

// A line that does not answer cannot switch it off: then its guard does.
void SupplyOutput::Disarm() {
  if (!std::exchange(armed_, false)) return;
  std::string why = line_.is_open() ? SwitchOff() : "not connected";
  line_.Close();
  if (!why.empty() && failure_.empty()) failure_ = std::move(why);
}

// A command that nobody refused may have done nothing.
std::string SupplyOutput::SwitchOff() {
  if (std::string why = Order(std::string(protocol::kOutputOff)); !why.empty()) return why;
  const TextLine::Answer on = line_.Ask(protocol::kAskOutput);
  if (!on.error.empty() || protocol::SaysOff(on.line)) return on.error;
  return fmt::format("{} answers {} to {} after {}", Description(), OneLine(on.line),
                     protocol::kAskOutput, protocol::kOutputOff);
}

void SupplyOutput::Fail(std::string why) {
  failure_ = std::move(why);
  Disarm();
}

std::string SupplyOutput::Measured() const {
  if (!measured_) return "";
  return fmt::format("{:.4g} V, {:.3g} A (most {:.3g} A)", measured_v_, measured_a_, most_a_);
}

}  // namespace drycrank::io
