// SPDX-License-Identifier: Apache-2.0
#include "capture/crank_track.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr int kWindows = 6;  // along the capture, to find how well a pattern fits
constexpr int kShortWindows = 60;
constexpr double kNextAtOnce = 1.5;  // a factor in speed up to which an edge is the next one
constexpr double kNear =
    0.2;  // of the mean step: teeth of few samples are seen narrower or wider by one
constexpr double kMostOfAStep = 0.7;  // that an edge strays by what a recorder makes of it
constexpr double kLost = 1.8;        // a factor that no engine changes its speed by within an edge
constexpr int kMostMissed = 40;      // marks in a row
constexpr double kMostUnseen = 0.5;  // of what repeats: a longer hole may hide a turn more or less
constexpr double kOffAcross =
    0.25;  // of what repeats: how far speed to a hole's sides may be off over it
constexpr int kMostExtra = 8;  // edges in a row that are too many; then the place is lost
constexpr double kMostStray =
    0.25;  // of a turn's marks, within about a turn; then the place is lost
constexpr std::size_t kSpeedOver = 4;  // edges

std::size_t WindowSize(const WheelPattern& pattern) {
  return AsSize(std::max(2 * pattern.size(), 12) + 2 * ReachOf(pattern) + 1);
}

// Edges one after another, one way through time.
class Walker {
 public:
  Walker(std::span<const SeenChange> edges, const WheelPattern& pattern, bool inverted,
         double stray_ns, CrankTrack& out)
      : edges_(edges), pattern_(pattern), inverted_(inverted), stray_ns_(stray_ns), out_(out) {}

  // From edge `at`, which is `mark`, on; `by` is 1 or -1. `known`: edges placed before, nearest
  // last. Returns the first edge that is not in it.
  std::ptrdiff_t Go(std::ptrdiff_t at, int by, std::vector<PlacedEdge>& known) {
    int extra = 0;
    strays_.clear();
    const std::size_t sure = known.size();
    double strays = 0;  // within about the last turn
    for (at += by; at >= 0 && at < std::ssize(edges_); at += by) {
      const SeenChange& edge = Nth(edges_, at);
      const int steps = StepsTo(edge, by, known);
      if (steps == kLostIt || (steps != 1 && edge.in_noise)) break;
      strays += std::abs(steps - 1) - strays / pattern_.size();
      if (strays > std::max<double>(kMostExtra, kMostStray * pattern_.size())) {
        TakeBack(known, sure);
        break;
      }
      if (steps == 0) {
        if (++extra > kMostExtra) break;
        ++out_.extra;
        strays_.push_back({known.size(), kNoMark});
        continue;
      }
      extra = 0;
      CountMissing(known, steps, by);
      const int mark = known.back().mark + by * steps;
      known.push_back({edge.t_ns, pattern_.DegOf(mark), mark});
    }
    return at;
  }

 private:
  static constexpr int kLostIt = -1, kNoMark = -1;

  struct Stray {
    std::size_t after = 0;  // so many edges placed
    int mark = kNoMark;     // that is missing; kNoMark: an edge too many
  };

  // 0: it is one too many.
  int StepsTo(const SeenChange& edge, int by, const std::vector<PlacedEdge>& known) const {
    const PlacedEdge& last = known.back();
    const PlacedEdge& first = known[known.size() - std::min(known.size(), kSpeedOver + 1)];
    const double speed = (last.deg - first.deg) / (last.t_ns - first.t_ns);
    const double turned = std::abs(speed * (edge.t_ns - last.t_ns));
    int best = 0;
    double best_factor = 1e300;
    for (int steps = 1; steps <= kMostMissed; ++steps) {
      const int mark = last.mark + by * steps;
      // Edges of a level stand for its change, seen backwards too.
      if (pattern_.both_edges && pattern_.At(mark).high != (edge.high != inverted_)) continue;
      const double due = std::abs(pattern_.DegOf(mark) - last.deg);
      const double factor = turned > due ? turned / due : due / std::max(turned, 1e-9);
      if (steps <= 2 && factor < kNextAtOnce) return steps;
      const double stray_deg = std::min(std::abs(speed) * stray_ns_, kMostOfAStep * due);
      const double near_deg = std::max(kNear * pattern_.MeanStepDeg(), stray_deg);
      if (steps == 1 && std::abs(turned - due) < near_deg) return steps;
      if (factor < best_factor) best = steps;
      best_factor = std::min(best_factor, factor);
      if (due > 2 * turned) break;
    }
    const double next = std::abs(pattern_.DegOf(last.mark + by) - last.deg);
    if (best_factor < kNextAtOnce) return best;
    if (turned < next / 2) return 0;
    return best_factor < kLost ? best : turned < next ? 0 : kLostIt;
  }

  void CountMissing(const std::vector<PlacedEdge>& known, int steps, int by) {
    for (int i = 1; i < steps; ++i) {
      const int mark = known.back().mark + by * i, size = pattern_.size();
      strays_.push_back({known.size(), (mark % size + size) % size});
      ++out_.missing_of[AsSize(strays_.back().mark)];
      ++out_.missing;
    }
  }

  // What was placed since the strays began, about a turn ago, may be placed wrongly.
  void TakeBack(std::vector<PlacedEdge>& known, std::size_t sure) {
    const std::size_t turn = AsSize(pattern_.size());
    known.resize(std::max(sure, known.size() - std::min(known.size(), turn)));
    for (; !strays_.empty() && strays_.back().after >= known.size(); strays_.pop_back()) {
      const int mark = strays_.back().mark;
      if (mark == kNoMark) {
        --out_.extra;
      } else {
        --out_.missing_of[AsSize(mark)];
        --out_.missing;
      }
    }
  }

  std::span<const SeenChange> edges_;
  const WheelPattern& pattern_;
  bool inverted_;
  double stray_ns_;
  CrankTrack& out_;
  std::vector<Stray> strays_;
};

struct Window {
  std::size_t begin = 0, size = 0;
  Laid laid;
};

bool HasHole(std::span<const SeenChange> window) {
  return std::ranges::any_of(window.subspan(1), &SeenChange::after_hole);
}

// Of so many, evenly along [from, end), the best; of equals the first.
Window BestOf(std::span<const SeenChange> edges, std::size_t from, const WheelPattern& pattern,
              std::size_t size, int windows) {
  Window best;
  if (size < AsSize(LeastWindow(pattern))) return best;
  const std::size_t room = edges.size() - from - size;
  for (int w = 0; w < windows; ++w) {
    const std::size_t begin = from + room * AsSize(w) / AsSize(windows - 1);
    const auto window = edges.subspan(begin, size);
    const Laid laid = HasHole(window) ? Laid{} : LayBest(window, pattern);
    if (laid.cost < best.laid.cost) best = {begin, size, laid};
    if (room == 0) break;
  }
  return best;
}

// Long ones; where none fits, many that are as short as can be: with stray edges a long one is
// never clean.
Window BestWindow(std::span<const SeenChange> edges, std::size_t from, const WheelPattern& pattern,
                  std::size_t least_size = 0) {
  const std::size_t left = edges.size() - from;
  const Window best = BestOf(edges, from, pattern,
                             std::min(std::max(WindowSize(pattern), least_size), left), kWindows);
  if (best.laid.cost < kFits || least_size > 0) return best;
  const Window shorter =
      BestOf(edges, from, pattern, std::min(AsSize(LeastWindow(pattern)), left), kShortWindows);
  return shorter.laid.cost < best.laid.cost ? shorter : best;
}

// Edges of the window itself, and what lies to both sides of it.
std::size_t AddStretch(std::span<const SeenChange> edges, const Window& window,
                       const WheelPattern& pattern, double stray_ns, std::size_t from,
                       CrankTrack& out) {
  const std::size_t size = window.size;
  std::vector<PlacedEdge> known;
  for (std::size_t i = 0; i < size; ++i) {
    const int mark = window.laid.mark + static_cast<int>(i);
    known.push_back({edges[window.begin + i].t_ns, pattern.DegOf(mark), mark});
  }
  Walker walker(edges.subspan(from), pattern, window.laid.inverted, stray_ns, out);
  std::vector<PlacedEdge> back(known.rbegin(), known.rend());
  walker.Go(static_cast<std::ptrdiff_t>(window.begin - from), -1, back);
  const auto end = walker.Go(static_cast<std::ptrdiff_t>(window.begin - from + size) - 1, 1, known);
  Stretch stretch;
  stretch.edges.assign(back.rbegin(), back.rend() - static_cast<std::ptrdiff_t>(size));
  stretch.edges.insert(stretch.edges.end(), known.begin(), known.end());
  out.placed += static_cast<int>(stretch.edges.size());
  out.stretches.push_back(std::move(stretch));
  return from + AsSize(end);
}

// Of the edges nearest to a hole: its first ones, or its last.
double SpeedOf(std::span<const PlacedEdge> edges) {
  return (edges.back().deg - edges.front().deg) / (edges.back().t_ns - edges.front().t_ns);
}

// How many times what repeats the second stretch is further on than it is counted; nothing where
// that is not sure.
std::optional<int> RepeatsAcross(const Stretch& a, const Stretch& b, double repeats_deg) {
  const std::size_t n = kSpeedOver + 1;
  if (a.edges.size() < n || b.edges.size() < n) return std::nullopt;
  const double ns = b.from_ns() - a.to_ns(), counted_deg = b.edges[0].deg - a.edges.back().deg;
  const double by_a = ns * SpeedOf(std::span(a.edges).last(n)),
               by_b = ns * SpeedOf(std::span(b.edges).first(n));
  const double repeats = std::round(((by_a + by_b) / 2 - counted_deg) / repeats_deg);
  const double is_deg = counted_deg + repeats * repeats_deg;
  const double off_deg = std::max(std::abs(by_a - is_deg), std::abs(by_b - is_deg));
  const bool sure = is_deg > 0 && std::max(by_a, by_b) < kMostUnseen * repeats_deg &&
                    off_deg < kOffAcross * repeats_deg;
  return sure ? std::optional(static_cast<int>(repeats)) : std::nullopt;
}

// Both sides of a hole are one stretch where the turns between them are sure.
void JoinLast(const WheelPattern& pattern, CrankTrack& out) {
  Stretch &a = out.stretches[out.stretches.size() - 2], &b = out.stretches.back();
  const double repeats_deg = OpenDegOf(pattern);
  const auto repeats = RepeatsAcross(a, b, repeats_deg);
  if (!repeats) return;
  const int marks =
      static_cast<int>(std::lround(*repeats * repeats_deg / pattern.turn_deg * pattern.size()));
  b.edges.front().after_hole = true;
  for (PlacedEdge edge : b.edges) {
    edge.mark += marks;
    edge.deg = pattern.DegOf(edge.mark);
    a.edges.push_back(edge);
  }
  out.stretches.pop_back();
}

// How much later ends of teeth come than drawn, against the begins to both sides.
void TakeWidthOut(const WheelPattern& pattern, CrankTrack& out) {
  double sum_deg = 0, count = 0;
  for (const Stretch& stretch : out.stretches) {
    for (std::size_t i = 1; i + 1 < stretch.edges.size(); ++i) {
      const PlacedEdge &a = stretch.edges[i - 1], &e = stretch.edges[i], &b = stretch.edges[i + 1];
      if (pattern.At(e.mark).begin || b.mark != a.mark + 2) continue;
      sum_deg += a.deg + (b.deg - a.deg) * (e.t_ns - a.t_ns) / (b.t_ns - a.t_ns) - e.deg;
      count += 1;
    }
  }
  if (count == 0 || pattern.size() < 16) return;
  const double most_deg = pattern.LeastStepDeg() / 2;
  out.width_deg = std::clamp(sum_deg / count, -most_deg, most_deg);
  for (Stretch& stretch : out.stretches) {
    for (PlacedEdge& edge : stretch.edges) {
      if (!pattern.At(edge.mark).begin) edge.deg += out.width_deg;
    }
  }
}

// Edges among which nothing was unseen.
void FollowSeen(std::span<const SeenChange> edges, const WheelPattern& pattern, double stray_ns,
                CrankTrack& out) {
  const std::size_t before = out.stretches.size();
  for (std::size_t from = 0; from < edges.size();) {
    const Window window = BestWindow(edges, from, pattern);
    if (window.laid.cost > kFits) break;
    if (window.laid.cost < out.laid.cost) out.laid = window.laid;
    from = std::max(AddStretch(edges, window, pattern, stray_ns, from, out), from + 1);
    if (before > 0 && out.stretches.size() == before + 1) JoinLast(pattern, out);
  }
}

void MeasureSpeed(const WheelPattern& pattern, CrankTrack& out) {
  const int by = pattern.both_edges ? 2 : 1;
  for (const Stretch& stretch : out.stretches) {
    const auto& edges = stretch.edges;
    for (std::size_t i = 0; i < edges.size(); ++i) {
      const auto turn = AsSize(pattern.size());
      if (i >= turn && edges[i].mark == edges[i - turn].mark + pattern.size()) {
        const double rpm = pattern.turn_deg / 360 * 60e9 / (edges[i].t_ns - edges[i - turn].t_ns);
        out.least_rpm = out.least_rpm == 0 ? rpm : std::min(out.least_rpm, rpm);
        out.most_rpm = std::max(out.most_rpm, rpm);
      }
      const auto back = AsSize(by);
      if (i < back || edges[i].mark != edges[i - back].mark + by) continue;
      const double pitch_ns = edges[i].t_ns - edges[i - back].t_ns;
      out.least_pitch_ns =
          out.least_pitch_ns == 0 ? pitch_ns : std::min(out.least_pitch_ns, pitch_ns);
    }
  }
}

}  // namespace

double CrankTrack::turns() const {
  double sum = 0;
  for (const Stretch& stretch : stretches) sum += stretch.turns();
  return sum;
}

std::optional<double> CrankTrack::DegAt(double t_ns, std::size_t* stretch) const {
  const auto after = std::ranges::lower_bound(stretches, t_ns, {}, &Stretch::to_ns);
  if (after == stretches.end() || after->from_ns() > t_ns || after->edges.size() < 2)
    return std::nullopt;
  *stretch = AsSize(after - stretches.begin());
  const auto& edges = after->edges;
  const auto right = std::ranges::lower_bound(edges, t_ns, {}, &PlacedEdge::t_ns);
  const auto i =
      AsSize(std::clamp<std::ptrdiff_t>(right - edges.begin(), 1, std::ssize(edges) - 1));
  if (edges[i].after_hole) return std::nullopt;
  // Of the parabola through an edge and its neighbours.
  const auto speed = [&](std::size_t at) {
    const std::size_t m =
        std::clamp<std::size_t>(at, 1, std::max<std::size_t>(edges.size() - 2, 1));
    if (m + 1 >= edges.size())
      return (edges[1].deg - edges[0].deg) / (edges[1].t_ns - edges[0].t_ns);
    const double h1 = edges[m].t_ns - edges[m - 1].t_ns, h2 = edges[m + 1].t_ns - edges[m].t_ns;
    const double v1 = (edges[m].deg - edges[m - 1].deg) / h1,
                 v2 = (edges[m + 1].deg - edges[m].deg) / h2;
    const double bend = (v2 - v1) / (h1 + h2);
    return (v1 * h2 + v2 * h1) / (h1 + h2) + 2 * bend * (edges[at].t_ns - edges[m].t_ns);
  };
  const PlacedEdge &p = edges[i - 1], &q = edges[i];
  const double span_ns = q.t_ns - p.t_ns, x = (t_ns - p.t_ns) / span_ns;
  const double straight = p.deg + (q.deg - p.deg) * x, mean = (q.deg - p.deg) / span_ns;
  return straight +
         span_ns * x * (1 - x) * ((1 - x) * (speed(i - 1) - mean) - x * (speed(i) - mean));
}

double CrankTrack::RpmAt(double t_ns) const {
  constexpr double kOverNs = 5e6;
  std::size_t a = 0, b = 0;
  const auto before = DegAt(t_ns - kOverNs, &a), after = DegAt(t_ns + kOverNs, &b);
  return before && after && a == b ? (*after - *before) / 6 / (2 * kOverNs * 1e-9) : 0;
}

Laid BestLaid(std::span<const SeenChange> edges, const WheelPattern& pattern,
              std::size_t least_edges) {
  return edges.empty() || pattern.marks.empty() ? Laid{}
                                                : BestWindow(edges, 0, pattern, least_edges).laid;
}

CrankTrack Follow(std::span<const SeenChange> edges, const WheelPattern& pattern,
                  double stray_ns) {
  CrankTrack out;
  out.missing_of.assign(pattern.marks.size(), 0);
  for (std::size_t from = 0, to = 0; from < edges.size() && !pattern.marks.empty(); from = to) {
    for (to = from + 1; to < edges.size() && !edges[to].after_hole;) ++to;
    FollowSeen(edges.subspan(from, to - from), pattern, stray_ns, out);
  }
  TakeWidthOut(pattern, out);
  MeasureSpeed(pattern, out);
  return out;
}

}  // namespace drycrank::capture
