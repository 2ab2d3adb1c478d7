// SPDX-License-Identifier: Apache-2.0
#include "sweep/echo.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "sweep/sweep.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::Each;
using testing::ElementsAre;
using testing::Field;
using testing::IsEmpty;

// The small bench with a message of the display that carries these.
profile::Bench Telling(std::initializer_list<const char*> carried) {
  profile::Bench bench = SmallBench();
  bench.readouts = RequiredReadouts(bench);
  profile::Message told;
  told.name = "told";
  told.sender = profile::Sender::kDisplay;
  for (const char* carries : carried) {
    told.signals.push_back(SmallSignal(carries, 0, 8, 1, 0, ""));
    told.signals.back().carries = carries;
  }
  bench.buses[0].messages.push_back(told);
  return bench;
}
std::string NotTold(const profile::Bench& bench, int readout) {
  const profile::Readout& r = bench.readouts[static_cast<std::size_t>(readout)];
  return PartsNotTold(EchoOf(bench, r.name), r);
}

TEST(Echo, WhatNoMessageTellsIsNamed) {
  EXPECT_EQ(NotTold(Telling({"coolant.shown", "coolant.state"}), 0), "its unit, page and lamp");
  EXPECT_EQ(NotTold(Telling({"coolant.shown", "coolant.unit", "coolant.page", "coolant.lamp"}), 0),
            "its state");
}

TEST(Echo, NothingIsNamedOfADisplayThatTellsAll) {
  EXPECT_EQ(NotTold(Telling({"coolant.shown", "coolant.state", "coolant.unit", "coolant.page",
                             "coolant.lamp"}),
                    0),
            "");
  // The gear has neither unit nor lamp.
  EXPECT_EQ(NotTold(Telling({"gear.shown", "gear.state", "gear.page"}), 1), "");
}

TEST(Echo, ALampCodeThatHasNoMeaningIsNotTakenForLit) {
  const profile::Bench bench = Telling({"coolant.lamp"});
  const auto lamp = [&](double code) {
    return ShownOf(bench, EchoOf(bench, "coolant"), [&](const auto&) { return code; })->lamp;
  };
  EXPECT_EQ(lamp(0), "");
  EXPECT_EQ(lamp(1), "lit");
  EXPECT_EQ(lamp(2), "lit blinks");
  EXPECT_EQ(lamp(3), "code 3");
}

// ---- one that does not tell everything, or falls silent ---------------------------------------

// Shows nothing but "ok" of each readout, of `mute` no more after `looks`.
class Telltale : public Screen {
 public:
  bool SwitchOn() override { return false; }
  void Send(const profile::SignalRef&, double) override {}
  void Silence(const profile::MessageRef&, bool) override {}
  void LetArrive() override {}
  std::optional<Shown> Look(const profile::Readout& readout) override {
    if (readout.name == mute && looks-- <= 0) return std::nullopt;
    return Shown{.state = "ok"};
  }
  std::optional<double> GoneAfterS(const profile::Readout&, double) override { return {}; }
  bool IsSilent() override { return all; }
  std::string mute;
  int looks = 0;
  bool all = false;
};

// Looks before the sweep: both ends of its range, twice.
constexpr int kTrials = 4;

std::size_t FactsOf(const Swept& swept, const char* readout) {
  return static_cast<std::size_t>(
      std::ranges::count(swept.facts, readout, &ShownFact::readout));
}

TEST(Echo, AReadoutThatIsNoLongerToldKeepsItsFactsAndTheOthersAreSwept) {
  const profile::Bench bench = Telling({});
  for (const int looks : {0, 5}) {
    Telltale screen;
    screen.mute = "gear";
    screen.looks = looks == 0 ? 0 : looks + kTrials;
    const Swept swept = Sweep(bench, bench.readouts, {1, false}, screen);
    EXPECT_THAT(swept.not_told, ElementsAre("gear"));
    EXPECT_THAT(swept.not_reached, IsEmpty());
    EXPECT_EQ(swept.fell_silent_at, "");
    EXPECT_EQ(FactsOf(swept, "gear"), static_cast<std::size_t>(looks)) << "one a look";
    EXPECT_EQ(swept.facts.back().readout, "oil");
  }
}

TEST(Echo, ADisplayFallsSilentWhereNothingComesAnyMore) {
  const profile::Bench bench = Telling({});
  Telltale screen;
  screen.mute = "gear";
  screen.looks = 3 + kTrials;
  screen.all = true;
  const Swept swept = Sweep(bench, bench.readouts, {1, false}, screen);
  EXPECT_EQ(swept.fell_silent_at, "gear");
  EXPECT_THAT(swept.not_reached, ElementsAre("gear", "oil"));
  EXPECT_EQ(FactsOf(swept, "gear"), 3u);
  EXPECT_GT(FactsOf(swept, "coolant"), 20u);
}

}  // namespace
}  // namespace drycrank::sweep
