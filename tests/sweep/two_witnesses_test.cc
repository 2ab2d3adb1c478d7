// SPDX-License-Identifier: Apache-2.0
//
// The small bench's display as several kinds of witness see it.
#include "sweep/two_witnesses.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "sweep/compare_shown.h"
#include "sweep/person.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;

class TwoWitnesses : public testing::Test {
 protected:
  TwoWitnesses() { bench_.readouts = RequiredReadouts(bench_); }
  WhatItShowed ByStandin() { return SweepStandin(bench_, 1); }
  // What an echo knows: numbers, lit or dark, tenths of seconds, nothing of power.
  WhatItShowed ByEcho() {
    WhatItShowed showed = SweepStandin(bench_, 1, false, false);
    showed.by.witness = kByEcho;
    for (ShownFact& f : showed.facts) {
      if (!f.shown.lamp.empty()) f.shown.lamp = "lit";
      if (!HasValue(f.shown) && IsNoLimit(f)) f.shown.text.clear();
    }
    return showed;
  }
  // The six questions answered as it must be: no units, and of the oil nobody saw whether it warns.
  WhatItShowed ByPictures() {
    std::vector<Reading> readings;
    for (const Question& q : QuestionsOf(bench_.readouts)) {
      for (const profile::Readout* r : q.readouts) {
        readings.push_back({q.question, q.page, r->name, "x", "", {}});
      }
    }
    WhatItShowed showed;
    showed.by.witness = kByPictures;
    showed.facts = TakeReadings(bench_, readings).required;
    for (ShownFact& f : showed.facts) f.shown.unit.clear();
    return showed;
  }
  static bool IsNoLimit(const ShownFact& f) {
    return f.step < Step::kWarnsAbove || f.step > Step::kEndsAbove;
  }
  profile::Bench bench_ = SmallBench();
};

std::vector<std::string> Sentences(const WhatItShowed& a, const WhatItShowed& b) {
  std::vector<std::string> all;
  for (const ShownChange& c : Compare(a, b).changes) all.push_back(c.readout + ": " + c.sentence);
  return all;
}

TEST_F(TwoWitnesses, ARightDisplayHasNotChangedForAnother) {
  EXPECT_THAT(Sentences(ByStandin(), ByEcho()), IsEmpty());
  EXPECT_THAT(Sentences(ByEcho(), ByStandin()), IsEmpty());
  EXPECT_THAT(Sentences(ByStandin(), ByPictures()), IsEmpty());
  EXPECT_THAT(Sentences(ByPictures(), ByStandin()), IsEmpty());
  EXPECT_THAT(Sentences(ByEcho(), ByPictures()), IsEmpty());
}

TEST_F(TwoWitnesses, WhatWasNotComparedIsANote) {
  const auto notes = Compare(ByStandin(), ByPictures()).notes;
  EXPECT_THAT(notes, Contains(HasSubstr("coolant")));
  EXPECT_THAT(notes, Contains(HasSubstr("not compared, for one of the two did not tell it")));
  EXPECT_THAT(notes, Contains(HasSubstr("unit")));
}

TEST_F(TwoWitnesses, WhatBothCanTellIsStillFound) {
  const WhatItShowed right = ByStandin(), pictures = ByPictures();
  bench_.display->gauges[0].warn_above = 107;
  bench_.display->gauges[1].values[-1] = "P";
  EXPECT_THAT(Sentences(right, ByEcho()),
              Contains("coolant: warning now comes above 107 °C, was 112 °C"));
  EXPECT_THAT(Sentences(pictures, ByStandin()), Contains("gear: now shows 'P' at -1, was 'R'"));
}

// Of one kind of witness a field that is gone is gone.
TEST_F(TwoWitnesses, OfOneWitnessALostUnitIsAChange) {
  WhatItShowed now = ByStandin();
  for (ShownFact& f : now.facts) f.shown.unit.clear();
  EXPECT_THAT(Sentences(ByStandin(), now), Contains(HasSubstr("coolant: unit now no unit")));
}

}  // namespace
}  // namespace drycrank::sweep
