// SPDX-License-Identifier: Apache-2.0
#include "engine/motion.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>

namespace drycrank::engine {
namespace {

constexpr double kTwoPi = 2 * std::numbers::pi;
constexpr double kDegPerSPerRpm = 6;  // 360 degrees / 60 s
constexpr double kRpmNsPerTurn = 60e9;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kHorizonS = 9e9;  // an int64 of nanoseconds ends at 9.22e9 s

// What a steady speed turns. speed * time is split exactly into a product and what its rounding
// lost, and whole turns are taken off first, so that the rest is as fine after a day as at once.
CrankAngle Steady(double speed_rpm, double x_ns) {
  const double product = speed_rpm * x_ns;
  const double lost = std::fma(speed_rpm, x_ns, -product);
  const double turns = std::floor(product / kRpmNsPerTurn);
  const double rest = std::fma(-turns, kRpmNsPerTurn, product) + lost;
  return CrankAngle::FromDegrees(static_cast<std::int64_t>(turns), rest * (360 / kRpmNsPerTurn));
}

double Fraction(double x) { return x - std::floor(x); }

// E of Kepler's equation E + r sin E = m, |r| <= 1, |m| <= about 8: Halley's method, with a halving
// of the bracket wherever a step would leave it.
double SolveKepler(double m, double r) {
  double low = m - std::abs(r);
  double high = m + std::abs(r);
  double e = m;
  for (int i = 0; i < 100; ++i) {
    const double swing = r * std::sin(e);
    const double slope = 1 + r * std::cos(e);
    const double excess = e + swing - m;
    const double step = 2 * excess * slope / (2 * slope * slope + excess * swing);
    const double next = e - step;
    if (std::abs(step) <= 1e-8) return next;  // the next step would be of the order of its cube
    (excess > 0 ? high : low) = e;
    e = next > low && next < high ? next : (low + high) / 2;
  }
  return e;
}

}  // namespace

void Motion::Begin(TimeNs t_ns, const Segment& segment) {
  assert(t_ns >= begin_ns_);
  assert(segment.speed_rpm >= 0 && segment.to_rpm >= 0);
  assert(segment.kind != SegmentKind::kSine ||
         (segment.period_s > 0 && std::abs(segment.amplitude_rpm) <= segment.speed_rpm));
  assert(segment.kind != SegmentKind::kBack || segment.duration_s > 0);
  assert(segment.kind != SegmentKind::kCrank ||
         (segment.per_turn > 0 && segment.ripple >= 0 && segment.ripple <= 0.9));
  begin_angle_ = AngleAt(t_ns);
  begin_ns_ = t_ns;
  segment_ = segment;
  if (segment_.kind == SegmentKind::kCrank) {
    begin_sine_ = std::sin(kTwoPi * Fraction(segment_.per_turn * begin_angle_.InCycle(720) / 360));
  }
}

CrankAngle Motion::AngleAt(TimeNs t_ns) const {
  assert(t_ns >= begin_ns_);
  const auto x_ns = static_cast<double>(t_ns - begin_ns_);
  CrankAngle turned;
  switch (segment_.kind) {
    case SegmentKind::kHold:
      turned = Steady(segment_.speed_rpm, x_ns);
      break;
    case SegmentKind::kRamp:
      turned = RampAngleAt(x_ns);
      break;
    case SegmentKind::kSine: {
      const double swing_deg = kDegPerSPerRpm * segment_.amplitude_rpm * segment_.period_s / kTwoPi;
      const double phase = kTwoPi * Fraction(x_ns * 1e-9 / segment_.period_s);
      turned = Steady(segment_.speed_rpm, x_ns).Plus(swing_deg * (1 - std::cos(phase)));
      break;
    }
    case SegmentKind::kCrank:
      turned = CrankingAngleAt(x_ns);
      break;
    case SegmentKind::kBack:
      turned = CrankAngle::FromDegrees(0, -BackDegAt(x_ns * 1e-9));
      break;
  }
  return CrankAngle::FromDegrees(begin_angle_.turns + turned.turns, begin_angle_.deg + turned.deg);
}

CrankAngle Motion::RampAngleAt(double x_ns) const {
  const double w0 = kDegPerSPerRpm * segment_.speed_rpm;
  const double w1 = kDegPerSPerRpm * segment_.to_rpm;
  const double x = x_ns * 1e-9;
  const double d = segment_.duration_s;
  if (x >= d) return Steady(segment_.to_rpm, x_ns).Plus((w0 - w1) * d / 2);
  return CrankAngle::FromDegrees(0, x * (w0 + (w1 - w0) * x / (2 * d)));
}

// How far back it has swung, positive.
double Motion::BackDegAt(double x_s) const {
  const double d = segment_.duration_s;
  const double half_deg = kDegPerSPerRpm * segment_.amplitude_rpm * d / std::numbers::pi;
  return half_deg * (1 - std::cos(std::numbers::pi * std::min(x_s, d) / d));
}

// The inverse. `degrees`: from the begin to the angle asked for, forwards.
TimeNs Motion::BackTimeAt(double degrees) const {
  const double d = segment_.duration_s;
  const double half_deg = kDegPerSPerRpm * segment_.amplitude_rpm * d / std::numbers::pi;
  if (degrees > 0 || -degrees > 2 * half_deg) return kNever;
  if (half_deg == 0) return begin_ns_;
  const double cosine = std::clamp(1 + degrees / half_deg, -1.0, 1.0);
  return begin_ns_ + FromSeconds(d / std::numbers::pi * std::acos(cosine));
}

// Where in the compressions' rhythm the crank is, radians in [-pi, pi], when a steady crank would
// have turned by `steady`: E with E + r sin E = N (steady + p) + r sin(N p).
double Motion::CompressionPhase(const CrankAngle& steady) const {
  const double steady_deg =
      CrankAngle::FromDegrees(begin_angle_.turns + steady.turns, begin_angle_.deg + steady.deg)
          .InCycle(720);
  const double compressions =
      segment_.per_turn * steady_deg / 360 + segment_.ripple * begin_sine_ / kTwoPi;
  return SolveKepler(kTwoPi * (Fraction(compressions + 0.5) - 0.5), segment_.ripple);
}

CrankAngle Motion::CrankingAngleAt(double x_ns) const {
  const CrankAngle steady = Steady(segment_.speed_rpm, x_ns);
  const double swing_deg = segment_.ripple * 360 / (kTwoPi * segment_.per_turn);
  return steady.Plus(-swing_deg * (std::sin(CompressionPhase(steady)) - begin_sine_));
}

double Motion::SpeedRpmAt(TimeNs t_ns) const {
  assert(t_ns >= begin_ns_);
  const auto x_ns = static_cast<double>(t_ns - begin_ns_);
  const double x = x_ns * 1e-9;
  const Segment& s = segment_;
  switch (s.kind) {
    case SegmentKind::kHold:
      break;
    case SegmentKind::kRamp:
      return x >= s.duration_s ? s.to_rpm
                               : s.speed_rpm + (s.to_rpm - s.speed_rpm) * (x / s.duration_s);
    case SegmentKind::kSine:
      return s.speed_rpm + s.amplitude_rpm * std::sin(kTwoPi * Fraction(x / s.period_s));
    case SegmentKind::kCrank:
      return s.speed_rpm / (1 + s.ripple * std::cos(CompressionPhase(Steady(s.speed_rpm, x_ns))));
    case SegmentKind::kBack:
      return x >= s.duration_s ? 0
                               : -s.amplitude_rpm * std::sin(std::numbers::pi * x / s.duration_s);
  }
  return s.speed_rpm;
}

TimeNs Motion::TimeAt(CrankAngle angle) const {
  const double degrees = angle.Minus(begin_angle_);
  if (backwards()) return BackTimeAt(degrees);
  if (degrees <= 0) return begin_ns_;
  const double x = SecondsFor(degrees);
  return x < kHorizonS ? begin_ns_ + FromSeconds(std::max(x, 0.0)) : kNever;
}

// The inverse within the segment; infinity when it is never reached. REQUIRES: degrees > 0.
double Motion::SecondsFor(double degrees) const {
  switch (segment_.kind) {
    case SegmentKind::kHold:
      break;
    case SegmentKind::kRamp:
      return RampSecondsFor(degrees);
    case SegmentKind::kSine:
      return SineSecondsFor(degrees);
    case SegmentKind::kCrank:
      return CrankingSecondsFor(degrees);
    case SegmentKind::kBack:
      return kInfinity;
  }
  return segment_.speed_rpm > 0 ? degrees / (kDegPerSPerRpm * segment_.speed_rpm) : kInfinity;
}

// The quadratic is solved from the ramp's slower end, with no difference of near-equal numbers:
// near standstill the other form is out by some 10 ns.
double Motion::RampSecondsFor(double degrees) const {
  const double w0 = kDegPerSPerRpm * segment_.speed_rpm;
  const double w1 = kDegPerSPerRpm * segment_.to_rpm;
  const double d = segment_.duration_s;
  const double left = (w0 + w1) * d / 2 - degrees;
  if (left < 0) return w1 > 0 ? (degrees - (w0 - w1) * d / 2) / w1 : kInfinity;
  const double rate = std::abs(w1 - w0) / d;
  if (w1 >= w0) return 2 * degrees / (w0 + std::sqrt(w0 * w0 + 2 * rate * degrees));
  if (left == 0) return d;
  return d - 2 * left / (w1 + std::sqrt(w1 * w1 + 2 * rate * left));
}

// With q = W x, rest of a period: q + A/w (1 - cos q) = m is Kepler's equation in q - pi/2.
double Motion::SineSecondsFor(double degrees) const {
  if (segment_.speed_rpm <= 0) return kInfinity;
  const double period_deg = kDegPerSPerRpm * segment_.speed_rpm * segment_.period_s;
  const double periods = std::floor(degrees / period_deg);
  const double m = kTwoPi * (degrees - periods * period_deg) / period_deg;
  const double ratio = segment_.amplitude_rpm / segment_.speed_rpm;
  const double quarter = std::numbers::pi / 2;
  const double q = SolveKepler(m - quarter - ratio, ratio) + quarter;
  return (periods + q / kTwoPi) * segment_.period_s;
}

double Motion::CrankingSecondsFor(double degrees) const {
  if (segment_.speed_rpm <= 0) return kInfinity;
  const double n = segment_.per_turn;
  const double phase = kTwoPi * Fraction(n * (begin_angle_.InCycle(720) + degrees) / 360);
  const double swing_deg = segment_.ripple * 360 / (kTwoPi * n);
  return (degrees + swing_deg * (std::sin(phase) - begin_sine_)) /
         (kDegPerSPerRpm * segment_.speed_rpm);
}

}  // namespace drycrank::engine
