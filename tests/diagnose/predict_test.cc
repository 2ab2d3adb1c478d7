// SPDX-License-Identifier: Apache-2.0
//
// The prediction against the run itself: two ways to the same readings, one through waves, edges
// and frames in time, one through steady states.
#include "diagnose/predict.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>

#include "diagnose/hypothesis.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class PredictTest : public testing::TestWithParam<const char*> {
 protected:
  // Readings that differ by more than three deviations, as text.
  std::string Mismatches(Predictor& predictor, const std::vector<profile::Fault>& faults) {
    const Observation seen = walked_.Observe(faults, 0);
    const PredictedRows predicted = predictor.Predict(faults);
    std::string text;
    for (std::size_t s = 0; s < seen.size(); ++s) {
      for (std::size_t r = 0; r < seen[s].size(); ++r) {
        const Reading& reading = predictor.readings()[r];
        const Situation& situation = predictor.situations()[s];
        if (reading.turning && situation.engine_rpm() <= 0) continue;
        if (Surprise(reading, seen[s][r], predicted[s][r]) <= 3) continue;
        text += fmt::format("{} {}: seen {} predicted {}\n", situation.name, reading.name,
                            InWords(reading, seen[s][r]), InWords(reading, predicted[s][r]));
      }
    }
    return text;
  }

  Walked walked_{GetParam()};
};

TEST_P(PredictTest, HealthyBenchReadsAsPredicted) {
  Predictor predictor(walked_.bench(), walked_.situations());
  ASSERT_GT(predictor.situations().size(), 8u);
  EXPECT_EQ(Mismatches(predictor, {}), "");
}

// Every third fault of each kind.
TEST_P(PredictTest, FaultyBenchesReadAsPredicted) {
  Predictor predictor(walked_.bench(), walked_.situations());
  std::map<std::string, int> seen;
  for (const Hypothesis& h : SingleFaults(walked_.bench())) {
    if (seen[h.kind]++ % 3 != 0) continue;
    const std::string mismatches = Mismatches(predictor, h.faults);
    EXPECT_EQ(mismatches, "") << Describe(walked_.bench(), h);
  }
  EXPECT_GT(seen.size(), 8u);
}

INSTANTIATE_TEST_SUITE_P(Benches, PredictTest,
                         testing::Values("hill_climb", "boat_v8", "kart", "generator"));

}  // namespace
}  // namespace drycrank::diagnose
