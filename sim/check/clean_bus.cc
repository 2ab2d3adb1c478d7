// SPDX-License-Identifier: Apache-2.0
//
// only_known_messages: no frame of the bus has an identifier that is neither a message of the bench
//   nor listed in `also`. no_error_frames: the interface reports no error on the bus.
// Margin in frames: less the number of wrong ones, or all those judged when none was. A bus on
// which nothing at all was seen proves nothing.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <utility>
#include <vector>

#include "check/evidence.h"
#include "check/judge.h"

namespace drycrank::check {
namespace {

class CleanBus : public Judge {
 public:
  // Judges errors, or strangers: identifiers that are neither known nor in `also`.
  CleanBus(int bus, std::string bus_text, bool errors, std::vector<std::uint32_t> also)
      : bus_(bus), bus_text_(std::move(bus_text)), errors_(errors), also_(std::move(also)) {}

  std::vector<profile::MessageRef> Messages() const override { return {}; }
  int Bus() const override { return bus_; }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& /*f*/) override {}
  void OnBusFrame(const bus::TimedFrame& frame, bool known) override {
    const bool wrong = errors_ ? frame.frame.error : IsStranger(frame.frame, known);
    if (!errors_ && frame.frame.error) return;
    if (wrong) Note(frame);
    trace_.Add({frame.t_ns, wrong ? 1.0 : 0.0, 0, 0}, wrong ? -1 : 0);
  }
  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(
        trace_, fmt::format("{} {}", bus_text_, errors_ ? "errors" : "unknown identifiers"), "");
    verdict.margin_unit = "frames";
    verdict.margin =
        wrong_ > 0 ? 0 - static_cast<double>(wrong_) : static_cast<double>(trace_.count());
    verdict.detail = Detail();
    return verdict;
  }

 private:
  static constexpr std::size_t kNamed = 4;

  bool IsStranger(const bus::Frame& frame, bool known) const {
    return !known && !frame.error && std::ranges::count(also_, frame.id) == 0;
  }
  void Note(const bus::TimedFrame& frame) {
    if (wrong_++ == 0) first_ns_ = frame.t_ns;
    const auto end = ids_.begin() + static_cast<std::ptrdiff_t>(id_count_);
    if (std::find(ids_.begin(), end, frame.frame.id) != end) return;
    if (id_count_ < kNamed) {
      ids_[id_count_++] = frame.frame.id;
    } else {
      more_ = true;
    }
  }
  std::string StrangersText() const {
    std::string text;
    for (std::size_t i = 0; i < id_count_; ++i) {
      text += fmt::format("{}0x{:X}", i == 0 ? "" : ", ", ids_[i]);
    }
    return text + (more_ ? " and others" : "");
  }
  std::string Detail() const {
    const std::uint64_t judged = trace_.count();
    if (judged == 0) return fmt::format("nothing was seen on bus {}", bus_text_);
    if (wrong_ == 0) {
      return fmt::format("{} in {} frames of bus {}",
                         errors_ ? "no error" : "no unknown identifier", judged, bus_text_);
    }
    if (errors_) {
      return fmt::format("{} errors reported on bus {}, the first at {:.3f} s", wrong_, bus_text_,
                         ToSeconds(first_ns_));
    }
    return fmt::format(
        "{} of {} frames of bus {} with an identifier that the bench does not know: "
        "{}; the first at {:.3f} s",
        wrong_, judged, bus_text_, StrangersText(), ToSeconds(first_ns_));
  }

  const int bus_;
  const std::string bus_text_;
  const bool errors_;
  const std::vector<std::uint32_t> also_;
  Trace trace_;
  std::uint64_t wrong_ = 0;
  TimeNs first_ns_ = 0;
  std::array<std::uint32_t, kNamed> ids_{};
  std::size_t id_count_ = 0;
  bool more_ = false;
};

}  // namespace

JudgePtr MakeJudge(const Subject& /*subject*/, const expect::OnlyKnownMessages& kind) {
  return std::make_unique<CleanBus>(kind.bus, kind.bus_text, false, kind.also);
}
JudgePtr MakeJudge(const Subject& /*subject*/, const expect::NoErrorFrames& kind) {
  return std::make_unique<CleanBus>(kind.bus, kind.bus_text, true, std::vector<std::uint32_t>{});
}

}  // namespace drycrank::check
