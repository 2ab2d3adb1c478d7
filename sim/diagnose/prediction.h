// SPDX-License-Identifier: Apache-2.0
//
// What would be reported under a fault. Never a bare number: a reading may stay away, or come and go.
//
//   none       nothing would be received
//   value      this value, at rest
//   band       one value at rest, of which only the band is known: a scale of a wrong byte order makes
//              of a value's last digit its first
//   restless   no rest: it comes and goes within the band (a decoder that loses and finds its
//              position, a switching wire that reaches an analogue input)
#ifndef DRYCRANK_DIAGNOSE_PREDICTION_H_
#define DRYCRANK_DIAGNOSE_PREDICTION_H_

#include <algorithm>
#include <type_traits>
#include <vector>

namespace drycrank::diagnose {

class Prediction {
 public:
  enum class Kind { kNone, kValue, kBand, kRestless };

  static Prediction None() { return {}; }
  static Prediction Value(double value) { return {Kind::kValue, value, value}; }
  static Prediction Band(double a, double b) { return Ordered(Kind::kBand, a, b); }
  static Prediction Restless(double a, double b) { return Ordered(Kind::kRestless, a, b); }
  // That is at `usual` for this share of the time.
  static Prediction Restless(double a, double b, double usual, double share) {
    Prediction prediction = Restless(a, b);
    prediction.usual_ = usual;
    prediction.share_ = share;
    return prediction;
  }

  // Trivial, so that rows of them are copied as bytes: Prediction{} is none, and one without braces
  // holds nothing known.
  Prediction() = default;

  Kind kind() const { return kind_; }
  bool is_none() const { return kind_ == Kind::kNone; }
  bool is_value() const { return kind_ == Kind::kValue; }
  bool is_restless() const { return kind_ == Kind::kRestless; }
  // Ends of the band; of a value, itself. Without meaning for none.
  double low() const { return low_; }
  double high() const { return high_; }
  // Of what comes and goes: where it mostly is, and for which share of the time; 0: not known.
  double usual() const { return usual_; }
  double usual_share() const { return share_; }
  // How far a value is outside of the band; 0 within. REQUIRES: !is_none().
  double Distance(double value) const { return std::max({low_ - value, value - high_, 0.0}); }

  friend bool operator==(const Prediction&, const Prediction&) = default;

 private:
  Prediction(Kind kind, double low, double high)
      : kind_(kind), low_(low), high_(high), usual_(0), share_(0) {}
  static Prediction Ordered(Kind kind, double a, double b) {
    return {kind, std::min(a, b), std::max(a, b)};
  }

  Kind kind_;
  double low_, high_;
  double usual_, share_;
};
static_assert(std::is_trivial_v<Prediction>);

// One per reading, in one situation.
using Predictions = std::vector<Prediction>;
// One per situation.
using PredictedRows = std::vector<Predictions>;

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_PREDICTION_H_
