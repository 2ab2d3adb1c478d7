// SPDX-License-Identifier: Apache-2.0
#include "sweep/value_sweep.h"

#include <fmt/format.h>

#include <cstdlib>
#include <utility>

namespace drycrank::sweep {
namespace {

constexpr int kQuietTries = 8;  // where a readout warns that should be quiet

}  // namespace

// ---- one look after another ---------------------------------------------------------------------

struct ValueSweep::Look {
  ValueSweep& sweep;
  std::int64_t number;
  std::optional<bool> until = {};  // only whether it warns counts

  bool await_ready() const noexcept { return false; }
  void await_suspend(std::coroutine_handle<> waits) {
    sweep.screen_.Send(sweep.at_, sweep.range_.At(number));
    sweep.wanted_ = Screen::Wanted{&sweep.readout_, until};
    sweep.waits_ = waits;
  }
  Shown await_resume() const { return *sweep.seen_; }
};

ValueSweep::ValueSweep(const profile::Bench& bench, const profile::Readout& readout, Screen& screen,
                       Swept& out, Keys keys)
    : readout_(readout),
      at_(SignalOf(bench, readout)),
      range_(SentRangeOf(SignalAt(bench, at_), readout)),
      scale_(SignalAt(bench, at_), readout),
      numbers_(PointsOf(SignalAt(bench, at_), readout)),
      screen_(screen),
      out_(out),
      keys_(std::move(keys)),
      all_(All()) {}

std::optional<Screen::Wanted> ValueSweep::Next() {
  if (!std::exchange(has_begun_, true)) all_.Begin();
  return std::exchange(wanted_, std::nullopt);
}

void ValueSweep::Take(std::optional<Shown> shown) {
  seen_ = std::move(shown);
  is_alive_ = seen_.has_value();
  if (is_alive_) waits_.resume();
}

void ValueSweep::Add(Step step, std::optional<double> input, Shown shown) {
  out_.facts.push_back({readout_.name, step, input, std::move(shown)});
}

// ---- values -------------------------------------------------------------------------------------

InTurns<bool> ValueSweep::All() {
  keys_.renew();
  for (const std::int64_t n : numbers_) co_await Point(Step::kUp, n);
  if (readout_.keeps == profile::Keeps::kHighest) keys_.renew();  // the far end is the first, too
  for (auto n = numbers_.rbegin(); n != numbers_.rend(); ++n) co_await Point(Step::kDown, *n);
  co_await Limit(Step::kWarnsAbove, Step::kEndsBelow, range_.high);
  co_await Limit(Step::kWarnsBelow, Step::kEndsAbove, range_.low);
  co_return true;
}

InTurns<bool> ValueSweep::Point(Step step, std::int64_t number) {
  Shown shown = co_await Look{*this, number};
  points_.push_back({step, number, shown.state == "warning"});
  Add(step, scale_.Shown(range_.At(number)), std::move(shown));
  co_return true;
}

// ---- limits -------------------------------------------------------------------------------------

// From `far` it has warned; from elsewhere it must be as new, where it can be switched.
// `goes_on`: it stands between the two, and is as it was at `from`.
InTurns<bool> ValueSweep::Warns(std::int64_t from, std::int64_t number, bool has_warned,
                                bool goes_on) {
  if (!goes_on && !has_warned) keys_.renew();
  if (!goes_on) {
    co_await Look{*this, from, from == number ? std::nullopt : std::optional(has_warned)};
  }
  last_ = co_await Look{*this, number, !has_warned};
  const bool lets_go = has_warned && Keeps() && keys_.let_go();  // its warning may end then
  if (lets_go) last_ = co_await Look{*this, number};
  co_return last_.state == "warning";
}

// Where on the way to `to` it first was as it was not at `from`, and the point before that.
std::vector<std::int64_t> ValueSweep::TurnedAt(std::int64_t from, std::int64_t to,
                                               bool has_warned) const {
  std::int64_t before = from;
  for (const PointSeen& p : points_) {
    const bool is_beyond = to > from ? p.number > from : p.number < from;
    if (p.step != (to > from ? Step::kUp : Step::kDown) || !is_beyond) continue;
    if (p.warned != has_warned) return {before, p.number};
    before = p.number;
  }
  return {};
}

// Between two numbers, where it warns and where it is quiet, coming from `from` each time: two
// neighbours.
InTurns<ValueSweep::Edge> ValueSweep::Halve(std::int64_t from, Edge edge, bool has_warned) {
  const auto first = TurnedAt(from, has_warned ? edge.quiet : edge.warns, has_warned);
  auto next = first.begin();
  bool goes_on = false;
  while (std::abs(edge.warns - edge.quiet) > 1) {
    std::int64_t number = edge.quiet + (edge.warns - edge.quiet) / 2;
    if (next != first.end()) {
      number = *next++;
      if ((number < edge.warns) == (number < edge.quiet)) continue;  // not between
      if (number == edge.warns || number == edge.quiet) continue;
    }
    const bool does = co_await Warns(from, number, has_warned, goes_on);
    (does ? edge.warns : edge.quiet) = number;
    goes_on = does == has_warned && !Keeps();
  }
  co_return edge;
}

// A value that is quiet: the middle one, or one farther from `far`.
InTurns<std::optional<std::int64_t>> ValueSweep::QuietAwayFrom(std::int64_t far) {
  const std::int64_t quiet = QuietStep(range_, scale_, readout_),
                     other = far == range_.high ? range_.low : range_.high;
  for (int part = 0; part <= kQuietTries; ++part) {
    const std::int64_t number = quiet + (other - quiet) * part / kQuietTries;
    const bool warns = co_await Warns(number, number, false, false);
    if (!warns) co_return number;
  }
  co_return std::nullopt;
}

void ValueSweep::Say(Step step, const char* text) {
  Add(step, {}, {.text = text, .unit = readout_.unit, .lamp = last_.lamp});
}

InTurns<bool> ValueSweep::Limit(Step limit, Step end, std::int64_t far) {
  const auto quiet = co_await QuietAwayFrom(far);
  if (!quiet) {
    Say(limit, kAlways);
    co_return false;
  }
  bool warns = false;
  if (*quiet != far) warns = co_await Warns(*quiet, far, false, false);
  if (!warns) {
    Say(limit, kNever);
    co_return false;
  }
  const Shown warning = last_;
  const Edge comes = co_await Halve(*quiet, {far, *quiet}, false);
  AddEdge(limit, comes, warning);
  const bool stays = co_await Warns(far, *quiet, true, false);
  if (stays) {
    Say(end, kNoEnd);
    co_return false;
  }
  const Edge ends = co_await Halve(far, {far, *quiet}, true);  // where it is quiet at last
  AddEdge(end, ends, warning);
  co_return true;
}

void ValueSweep::AddEdge(Step step, const Edge& edge, const Shown& warning) {
  const double quiet = scale_.Shown(range_.At(edge.quiet)),
               warns = scale_.Shown(range_.At(edge.warns));
  const double nicest =
      quiet < warns ? NicestIn(quiet, warns) : NicestIn(warns, quiet, /*above_low=*/true);
  Add(step, nicest,
      {.text = fmt::format("quiet at {}; warns at {}", Plain(quiet), Plain(warns)),
       .unit = readout_.unit,
       .lamp = warning.lamp});
}

}  // namespace drycrank::sweep
