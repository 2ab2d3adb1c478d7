// SPDX-License-Identifier: Apache-2.0
#include "diagnose/strange.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kUnexplained = 12;  // nats, as a glitch (weigh.h)
constexpr int kMostUnexplained = 2;
constexpr double kFull = 0.8;        // of a bus, without stuff bits
constexpr double kSamePeriod = 0.2;  // share

fault::BabblingNode NodeOf(const Stranger& stranger) {
  fault::BabblingNode node;
  node.id = stranger.id;
  node.extended = stranger.extended;
  node.length_bytes = stranger.length_bytes;
  node.period_ms = stranger.period_ms;
  return node;
}

}  // namespace

std::vector<Hypothesis> Strange::Nodes(double prior) const {
  std::vector<Hypothesis> nodes;
  for (const Stranger& stranger : heard_) {
    profile::Fault node;
    node.kind = NodeOf(stranger);
    node.at = Nth(bench_.buses, stranger.bus).name;
    node.name = fmt::format("babbling node 0x{:X}", stranger.id);
    nodes.push_back({{node}, kStrangeNode, prior, Quantity::kNone, 0, 0, 0});
  }
  return nodes;
}

// A data frame has 47 bits, an extended one 67, and 8 for each byte (ISO 11898-1), without stuff bits.
bool Strange::FillsBus(const profile::Fault& f) const {
  const auto* node = f.As<fault::BabblingNode>();
  const int bus = node == nullptr ? -1 : profile::IndexOf(bench_.buses, f.at);
  if (bus < 0 || node->period_ms <= 0) return false;
  const double bits = (node->extended ? 67 : 47) + 8.0 * node->length_bytes;
  return bits / node->period_ms * 1e3 > kFull * Nth(bench_.buses, bus).bitrate_bps;
}

bool Strange::Explains(const profile::Fault& f, const Stranger& stranger) const {
  const profile::Bus& bus = Nth(bench_.buses, stranger.bus);
  if (const auto* node = f.As<fault::BabblingNode>()) {
    return f.at == bus.name && node->id == stranger.id && node->extended == stranger.extended;
  }
  const int message = f.Is<fault::MessageMissing>() ? profile::IndexOf(bus.messages, f.at) : -1;
  if (message < 0) return false;
  const double period_ms = Nth(bus.messages, message).period_ms;
  return std::abs(stranger.period_ms - period_ms) < kSamePeriod * period_ms;
}

int Strange::Unexplained(std::span<const profile::Fault> faults) const {
  return static_cast<int>(std::ranges::count_if(heard_, [&](const Stranger& stranger) {
    return std::ranges::none_of(faults, [&](const auto& f) { return Explains(f, stranger); });
  }));
}

double Strange::LogLike(std::span<const profile::Fault> faults) const {
  return -kUnexplained * std::min(kMostUnexplained, Unexplained(faults));
}

}  // namespace drycrank::diagnose
