// SPDX-License-Identifier: Apache-2.0
#include "io/bench_meter.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <optional>
#include <system_error>
#include <utility>

#include "protocol/scpi.h"
#include "types/plain_text.h"

namespace drycrank::io {

using protocol::MeterAnswer;
using protocol::MeterQuantity;

std::string BenchMeter::SetAddress(std::string_view text) {
  const auto colon = text.rfind(':');
  host_ = text.substr(0, colon);
  port_ = kPort;
  if (colon != std::string_view::npos) {
    const std::string_view port = text.substr(colon + 1);
    const auto read = std::from_chars(port.data(), port.data() + port.size(), port_);
    if (read.ec != std::errc() || read.ptr != port.data() + port.size() || port_ < 1 || port_ > 65'535) {
      host_.clear();
    }
  }
  if (!host_.empty()) return "";
  return fmt::format("'{}' is no address of a meter; write HOST:PORT, as 192.168.1.30:{}", OneLine(text),
                     kPort);
}

std::string BenchMeter::Open() {
  line_.Close();
  if (std::string why = line_.Connect(host_, port_, patience_); !why.empty()) return why;
  const TextLine::Answer who = line_.Ask("*IDN?");
  if (!who.error.empty()) return who.error;
  identity_ = OneLine(who.line);
  return line_.Say("*CLS");  // errors that somebody left
}

// Empty: it has none.
std::string BenchMeter::NextError() {
  const TextLine::Answer asked = line_.Ask(protocol::kAskError);
  if (!asked.error.empty()) return asked.error;
  const std::optional<protocol::ScpiError> error = protocol::ParseScpiError(asked.line);
  return error && error->code == 0 ? "" : OneLine(asked.line);
}

// Why it was silent its list of errors may say, on a line of its own: the first is closed.
BenchMeter::Reading BenchMeter::Silent(const std::string& why) {
  if (!line_.Connect(host_, port_, patience_).empty()) return {.problem = why};
  const std::string error = NextError();
  line_.Close();
  if (error.empty() || error.find("no answer") != std::string::npos) return {.problem = why};
  return {.problem = fmt::format("{}; its error: {}", why, error)};
}

BenchMeter::Reading BenchMeter::Ask(MeterQuantity quantity) {
  const std::string_view question = protocol::MeterQuestion(quantity);
  const TextLine::Answer told = line_.Ask(question);
  if (!told.error.empty()) return Silent(told.error);
  const MeterAnswer answer = protocol::ParseMeterAnswer(told.line);
  if (const std::string error = NextError(); !error.empty()) {
    return {.problem = fmt::format("the meter answers {} with an error: {}", question, error)};
  }
  if (answer.kind == MeterAnswer::Kind::kNone) {
    return {.problem = fmt::format("the meter answers {} to {}: that is no reading", OneLine(told.line), question)};
  }
  return {answer.value, answer.kind == MeterAnswer::Kind::kOverload, ""};
}

BenchMeter::Reading BenchMeter::Read(MeterQuantity quantity) {
  if (!line_.is_open()) {
    if (std::string why = Open(); !why.empty()) return {.problem = std::move(why)};
  }
  if (quantity != MeterQuantity::kOhms) return Ask(quantity);
  const Reading volts = Ask(MeterQuantity::kVolts);
  if (!volts.problem.empty()) return volts;
  if (volts.overload || std::abs(volts.value) > kMostVoltsOnOhms) {
    const std::string much = volts.overload ? "more volts than it shows" : fmt::format("{:.3g} V", volts.value);
    return {.problem = fmt::format("there are {} between the probes: ohms only with the key off and the "
                                   "battery's plus off", much)};
  }
  return Ask(quantity);
}

}  // namespace drycrank::io
