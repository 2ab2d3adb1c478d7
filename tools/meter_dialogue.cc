// SPDX-License-Identifier: Apache-2.0
#include "tools/meter_dialogue.h"

#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <limits>

#include "report/text.h"

namespace drycrank::tools {
namespace {

using protocol::MeterQuantity;

constexpr double kLeastRead = 1e-6;  // V, ohm, A: smaller digits of a bench meter are noise

}  // namespace

void MeterDialogue::SayWrapped(const std::string& text) const {
  for (const std::string& line : report::Wrap(text, columns_)) fmt::print("{}\n", line);
  std::fflush(stdout);
}

void MeterDialogue::Reach() const {
  if (meter_ == nullptr) return;
  const std::string why = meter_->Open();
  SayWrapped(why.empty()
                 ? fmt::format("Readings come from {}: put the probes, then Enter.", meter_->identity())
                 : fmt::format("The meter is not there: {}. Enter tries it again; or type what it shows.", why));
}

std::string MeterDialogue::EnterReads(MeterQuantity quantity) const {
  if (meter_ == nullptr) return "";
  if (quantity != MeterQuantity::kAmperes && in_series_) {
    return "leads back in the V and ohm sockets, then Enter reads the meter; or ";
  }
  return "Enter reads the meter; or ";
}

std::optional<double> MeterDialogue::Read(MeterQuantity quantity) {
  if (meter_ == nullptr) return std::nullopt;
  in_series_ = quantity == MeterQuantity::kAmperes;
  const io::BenchMeter::Reading reading = meter_->Read(quantity);
  if (!reading.problem.empty()) {
    SayWrapped(fmt::format("  not read: {}. Enter tries again; or type what it shows", reading.problem));
    return std::nullopt;
  }
  if (reading.overload && quantity != MeterQuantity::kOhms) {
    SayWrapped("  not read: overload, more than the meter's highest range shows. Look where the probes are");
    return std::nullopt;
  }
  return reading.overload ? std::numeric_limits<double>::infinity()
                          : std::round(reading.value / kLeastRead) * kLeastRead;
}

}  // namespace drycrank::tools
