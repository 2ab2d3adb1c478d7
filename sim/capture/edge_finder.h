// SPDX-License-Identifier: Apache-2.0
//
// Samples of one channel to edges. Between two samples the value is taken to go straight.
//
//   level    v ____        above `high_v`, and before below `low_v`: an edge, at the instant at which
//           /    \         the value passes halfway between the two, between samples
//   wave     armed once the value is `arm` of the height of the waves just before away from rest, or what
//            noise does not reach (at most kMostArm of that height): then
//            the crossing of rest is an edge. Its instant comes from a straight line through the samples
//            between both sides (least squares), so that noise is divided by their number. Beside a
//            gap the two halves of a wave are not equally steep: then a line for each half, and the
//            mean of where they reach rest, by how well each tells it. Where it lies at rest for
//            most of the way, as in a gap: the middle of that
//   step     the value leaps by half a typical step within `samples`: an edge, at half the leap
//
// `transit_ns`: of a wave, how long it took from one side to the other. Steep at the centre of a
// tooth, long where it lies flat in a gap.
#ifndef DRYCRANK_CAPTURE_EDGE_FINDER_H_
#define DRYCRANK_CAPTURE_EDGE_FINDER_H_

#include <array>
#include <cstdint>
#include <variant>
#include <vector>

namespace drycrank::capture {

struct SeenChange {
  double t_ns = 0;
  bool high = false;        // from here on
  float transit_ns = 0;     // wave
  bool after_hole = false;  // between the one before and this the value was not always known
  bool in_noise = false;    // of a wave so low that noise makes edges of its own beside it
};

inline constexpr std::size_t kMostChanges =
    2'000'000;  // of a channel; what comes later is not looked at

struct LevelRule {
  double low_v = 0, high_v = 1;
};
struct WaveRule {
  double rest_v = 0;
  double least_v = 0;  // a wave that is lower is noise
  double arm = 0.3;    // of the waves' height
  double noise_v = 0;  // noise does not reach further than this
};
struct StepRule {
  std::size_t samples = 1;  // <= 64
  double height = 1;
};
struct ExactRule {};  // 0 and 1, changing where a row stands
using EdgeRule = std::variant<LevelRule, WaveRule, StepRule, ExactRule>;

class EdgeFinder {
 public:
  explicit EdgeFinder(const EdgeRule& rule) : rule_(rule) {}

  void Add(double t_ns, double value);
  std::vector<SeenChange>& changes() { return changes_; }
  const EdgeRule& rule() const { return rule_; }
  bool full() const { return changes_.size() >= kMostChanges; }

 private:
  void By(const LevelRule& rule, double t_ns, double value);
  void By(const WaveRule& rule, double t_ns, double value);
  void By(const StepRule& rule, double t_ns, double value);
  void By(const ExactRule& rule, double t_ns, double value);
  void Emit(double t_ns, bool high, double transit_ns = 0);
  void NoteCrossing(double t_ns, double value, double level);
  void ArmWave(const WaveRule& rule, double t_ns, double value);
  double ArmOf(const WaveRule& rule) const;
  void Decay(double t_ns);

  EdgeRule rule_;
  std::vector<SeenChange> changes_;
  double last_ns_ = 0, last_v_ = 0;
  bool has_last_ = false;
  int state_ = -1;                        // the level; -1: not known
  double first_ns_ = 0, crossed_ns_ = 0;  // crossings of the middle since the other side was left
  int crossings_ = 0;
  // wave
  double height_ = 0, peak_ = 0;  // of waves before; of this one
  double left_ns_ = 0;            // one side was left
  struct Sums {
    double n = 0, t = 0, v = 0, tt = 0, tv = 0;
    void Add(double at, double value);
    double Slope() const { return (n * tv - t * v) / (n * tt - t * t); }
    double Zero() const { return (t - v / Slope()) / n; }
  };
  struct Flat {
    double n = 0, from = 0, to = 0;
    void Add(double at) {
      if (n++ == 0) from = at;
      to = at;
    }
  };
  double ZeroOf(const Sums& below, const Sums& above) const;
  double CrossingOf(double t) const;
  Flat flat_;  // at rest, since one side was left
  Sums below_, above_;  // rest, since one side was left; times from then on
  double wave_ns_ = 0,
         decayed_ns_ = 0;   // the last wave's edge; the longer of the last two distances
  double distance_ns_ = 0;  // from the one before
  // step
  struct Point {
    double t_ns = 0, v = 0;
  };
  std::array<Point, 64> ring_{};
  std::uint64_t count_ = 0, quiet_until_ = 0;
  bool hole_ = false;  // since the last change
};

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_EDGE_FINDER_H_
