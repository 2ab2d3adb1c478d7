// SPDX-License-Identifier: Apache-2.0
#include "run/second_sender.h"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>
#include <utility>

namespace drycrank::run {
namespace {

auto KeyOf(int bus, std::uint32_t id, bool extended) { return std::tuple(bus, id, extended); }

}  // namespace

SecondSender::SecondSender(const profile::Bench& bench, const std::vector<profile::Sender>& ours) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    for (const profile::Message& message : bench.buses[b].messages) {
      if (std::ranges::find(ours, message.sender) == ours.end()) continue;
      ours_.push_back(
          {static_cast<int>(b), message.id, message.extended, bench.buses[b].name, message.name});
    }
  }
  std::ranges::sort(ours_, {}, [](const Ours& o) { return KeyOf(o.bus, o.id, o.extended); });
}

std::string SecondSender::On(const bus::TimedFrame& frame) {
  if (frame.frame.error) return "";
  const auto key = KeyOf(frame.bus, frame.frame.id, frame.frame.extended);
  const auto key_of = [](const Ours& o) { return KeyOf(o.bus, o.id, o.extended); };
  const auto at = std::ranges::lower_bound(ours_, key, {}, key_of);
  if (at == ours_.end() || key_of(*at) != key) return "";
  ++at->since_note;
  if (frame.t_ns < at->next_note_ns) return "";
  at->next_note_ns = frame.t_ns + kNoteEveryNs;
  const std::uint64_t times = std::exchange(at->since_note, 0);
  return fmt::format(
      "bus {}: {} ({:X}) is sent by another node too{}: what is judged of it is of both. Is the "
      "real "
      "one connected, or is the program running twice? Let one of them send (--real, or end one)",
      at->bus_name, at->message, at->id, times > 1 ? fmt::format(", {} frames", times) : "");
}

}  // namespace drycrank::run
