// SPDX-License-Identifier: Apache-2.0
//
// What is screened by a bound is never likelier than the bound: by the whole likelihood of the same rows,
// which takes no short cut. No other source: it is an inequality between the two.
#include "diagnose/weigh.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "diagnose/rank.h"
#include "diagnose/size_scale.h"
#include "diagnose/suspects.h"
#include "diagnose/unplayed.h"
#include "tests/diagnose/large_bench.h"

namespace drycrank::diagnose {
namespace {

class Screened : public testing::Test {
 protected:
  Screened() : large_(50), predictor_(large_.bench(), large_.situations()) {}

  void See(const std::vector<profile::Fault>& truth) {
    Random random(5, 1);
    observed_ = ReadWithNoise(predictor_, AsSeen(predictor_.Predict(truth)), random);
    facts_.emplace(predictor_, observed_);
    nuisances_.emplace(predictor_, *facts_);
    weigher_.emplace(predictor_, *facts_);
    columns_ = nuisances_->Columns({}, predictor_.healthy_values());
  }

  double Bound(const Unplayed& now) const {
    const ValueRows& healthy = predictor_.healthy_values();
    std::vector<std::vector<bool>> moved = now.left_out;
    for (const std::size_t s : nuisances_->everywhere()) {
      for (std::size_t v = 0; v < healthy[s].size(); ++v) {
        moved[s][v] = now.rows[s].empty() || !(now.rows[s][v] == healthy[s][v]);
      }
    }
    return weigher_->AtMost(healthy, columns_, nuisances_->everywhere(), nullptr, moved) -
           weigher_->LeastLost(now, healthy, columns_, nuisances_->everywhere(), moved);
  }
  double LogLike(const Unplayed& now, const std::vector<profile::Fault>& faults) {
    const Unplayed higher(predictor_, nuisances_->WithSupply(faults), nuisances_->everywhere());
    Sensitivities own = columns_;
    nuisances_->SetSupply(now.rows, higher.rows, own);
    nuisances_->SetShift(now.rows, own);
    return weigher_->Weigh(now.rows, own, nuisances_->everywhere()).log_like;
  }

  // Each fifth suspect at both ends of its range and in the middle.
  void Check() {
    const std::vector<Hypothesis> all = Suspects(large_.bench());
    double best = -1e300;
    std::vector<double> bounds;
    for (std::size_t i = 0; i < all.size(); i += 5) {
      if (!MissingIn(all[i].faults).empty() || all[i].kind == "sensor of another curve") continue;
      for (const double share : {0.0, 0.5, 1.0}) {
        const double x = Low(all[i]) + share * (High(all[i]) - Low(all[i]));
        const bool sized = all[i].quantity != Quantity::kNone;
        const Hypothesis suspect = sized ? WithValue(all[i], FromScale(all[i], x)) : all[i];
        const Unplayed now(predictor_, suspect.faults, nuisances_->everywhere());
        const double log_like = LogLike(now, suspect.faults);
        bounds.push_back(Bound(now));
        best = std::max(best, log_like);
        EXPECT_LE(log_like, bounds.back() + 1) << Describe(large_.bench(), suspect);
      }
    }
    // And it screens most.
    const auto screened = std::ranges::count_if(bounds, [&](double b) { return b < best - 25; });
    EXPECT_GT(2 * screened, std::ssize(bounds));
  }

  profile::Fault First(const std::string& kind) const {
    const std::vector<Hypothesis> all = Suspects(large_.bench());
    return std::ranges::find(all, kind, &Hypothesis::kind)->faults[0];
  }

  LargeBench large_;
  Predictor predictor_;
  Observation observed_;
  std::optional<Facts> facts_;
  std::optional<Nuisances> nuisances_;
  std::optional<Weigher> weigher_;
  Sensitivities columns_;
};

TEST_F(Screened, BoundsAreNotBelowTheLikelihoodBesideAnOpenContact) {
  See({First("contact open")});
  Check();
}

TEST_F(Screened, BoundsAreNotBelowTheLikelihoodBesideASensorThatIsOff) {
  See({First("sensor off")});
  Check();
}

// A message that is not of this bench keeps nothing away, and has every fact gone through by itself.
TEST_F(Screened, WhatIsSummedOnceComesToWhatFactAfterFactDoes) {
  See({First("contact open")});
  const std::set<std::string> none{"a message that nobody knows"};
  const std::vector<Hypothesis> all = Suspects(large_.bench());
  for (std::size_t i = 0; i < all.size(); i += 11) {
    const Hypothesis sized = all[i].quantity == Quantity::kNone
                                 ? all[i]
                                 : WithValue(all[i], FromScale(all[i], High(all[i])));
    const ValueRows rows = nuisances_->ValuesOf(sized.faults, nuisances_->everywhere());
    Sensitivities own = columns_;
    nuisances_->SetShift(rows, own);
    const Weighed quick = weigher_->Weigh(rows, own, nuisances_->everywhere());
    const Weighed whole = weigher_->Weigh(rows, own, nuisances_->everywhere(), &none);
    EXPECT_NEAR(quick.log_like, whole.log_like, 1e-6) << Describe(large_.bench(), sized);
    EXPECT_EQ(quick.glitches, whole.glitches) << Describe(large_.bench(), sized);
  }
}

}  // namespace
}  // namespace drycrank::diagnose
