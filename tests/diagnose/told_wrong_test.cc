// SPDX-License-Identifier: Apache-2.0
//
// What the controller was told wrong, found by what the bench then does. The stand-in is built from
// the bench's file with one place of its `controller:` changed; the diagnosis reads the file as
// shipped and knows nothing of the change. What should be named is the change itself.
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <memory>
#include <ostream>
#include <string>
#include <utility>
#include <vector>

#include "diagnose/repair.h"
#include "diagnose/suspects.h"
#include "diagnose/told_suspects.h"
#include "profile/load.h"
#include "profile/told_controller.h"
#include "tests/diagnose/walked.h"
#include "tests/proofread/edited_bench.h"
#include "types/nth.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

constexpr char kController[] = "\ncontroller:";
constexpr char kDecoder[] = "\n  decoder:";

// One walk through each shipped bench, for all tests of it.
Walked& WalkedThrough(const std::string& name) {
  static std::map<std::string, std::unique_ptr<Walked>> walked;
  auto& one = walked[name];
  if (!one) one = std::make_unique<Walked>(name);
  return *one;
}

struct Edit {
  const char *after, *from, *to;
};

class ToldWrong : public testing::Test {
 protected:
  // The first answer, in words; the whole of it in diagnosis_.
  std::string Diagnose(const std::string& name, const Edit& edit, std::uint64_t seed = 1) {
    proofread::EditedBench file(name);
    file.Edit(edit.after, edit.from, edit.to);
    const auto told = file.Read().bench;
    EXPECT_TRUE(told);
    return told ? DiagnoseOn(name, *told, seed) : "";
  }
  std::string DiagnoseOn(const std::string& name, const profile::Bench& told, std::uint64_t seed,
                         std::vector<profile::Fault> faults = {}) {
    Walked& walked = WalkedThrough(name);
    const Observation observed = walked.ObserveOn(told, std::move(faults), seed);
    const FiredSeen fired = walked.fired();
    const EdgesSeen edges = walked.edges();
    Predictor predictor(walked.bench(), walked.situations());
    Ranker ranker(walked.bench(), predictor);
    diagnosis_ = ranker.Rank(observed, {.doubles = true, .fired = &fired, .edges = &edges});
    bench_ = &walked.bench();
    return diagnosis_.groups.empty() ? "" : Describe(*bench_, Best());
  }
  const Hypothesis& Best() const { return diagnosis_.groups[0].members[0].hypothesis; }

  // Named first, and whatever looks the same is mended at the same place.
  void ExpectNamed(const std::string& name, const Edit& edit, const std::string& said) {
    EXPECT_EQ(Diagnose(name, edit), said);
    ExpectOneRepair();
  }
  void ExpectOneRepair() const {
    ASSERT_FALSE(diagnosis_.groups.empty());
    EXPECT_FALSE(diagnosis_.healthy);
    EXPECT_TRUE(diagnosis_.explained) << diagnosis_.unknown_share;
    const Repairs repairs(*bench_);
    const std::string place = repairs.Of(Best()).key;
    for (const Candidate& member : diagnosis_.groups[0].members) {
      EXPECT_EQ(repairs.Of(member.hypothesis).key, place) << Describe(*bench_, member.hypothesis);
    }
  }

  const profile::Bench* bench_ = nullptr;
  Diagnosis diagnosis_;
};

// ---- the seven --------------------------------------------------------------------------------

TEST_F(ToldWrong, AnotherFiringOrderIsNamed) {
  ExpectNamed("hill_climb", {kDecoder, "[1, 3, 4, 2]", "[1, 2, 4, 3]"},
              "the controller seems to have been told firing order 1-2-4-3; tell it 1-3-4-2");
}

TEST_F(ToldWrong, AnotherAdvanceIsNamed) {
  ExpectNamed("hill_climb", {kDecoder, "advance_deg: 12", "advance_deg: 42"},
              "the controller seems to have been told 42° of ignition advance; tell it 12°");
}

TEST_F(ToldWrong, AnotherOffsetOfTheCrankIsNamed) {
  ExpectNamed("hill_climb", {kController, "offset_deg: 300", "offset_deg: 310"},
              "the controller seems to have been told an offset of 310° for crank; tell it 300°");
}

TEST_F(ToldWrong, AnotherWheelIsNamed) {
  ExpectNamed("hill_climb", {kController, "wheels/60-2.yaml", "wheels/36-1.yaml"},
              "the controller seems to have been told a wheel 36-1 for crank; tell it 60-2");
}

// A sensor the other way round gives the other levels at the input: its edges tell the two apart,
// which nothing on the bus does.
TEST_F(ToldWrong, TheOtherEdgeOfTheCamIsNamed) {
  EXPECT_EQ(Diagnose("hill_climb", {"conditioning: threshold", "edge: falling", "edge: rising"}),
            "the controller seems to have been told the rising edge of cam_intake; tell it the "
            "falling edge");
  std::vector<std::string> members;
  for (const Candidate& member : diagnosis_.groups.at(0).members) {
    members.push_back(Describe(*bench_, member.hypothesis));
  }
  EXPECT_EQ(members.size(), 1u);
}

TEST_F(ToldWrong, AnotherOffsetOfTheCamIsNamed) {
  ExpectNamed("hill_climb", {"conditioning: threshold", "offset_deg: 20", "offset_deg: 50"},
              "the controller seems to have been told an offset of 50° for cam_intake; tell it "
              "20°");
}

TEST_F(ToldWrong, TheTableOfAnotherPressureSensorIsNamed) {
  const std::string said =
      Diagnose("hill_climb", {kController, "[[0.5, 20], [4.5, 400]]", "[[0.5, 20], [4.5, 300]]"});
  EXPECT_EQ(said,
            "the controller's table of manifold_pressure seems to have been told 300 kPa at "
            "4.5 V; tell it 400 kPa");
  ExpectOneRepair();
}

// ---- wheels and their sensors -----------------------------------------------------------------

struct PutIn {
  const char *bench, *fault;
};
void PrintTo(const PutIn& put_in, std::ostream* out) {
  *out << put_in.bench << " " << put_in.fault;
}

class WheelFault : public ToldWrong, public testing::WithParamInterface<PutIn> {};

bool IsSamePlaceAndKind(const Hypothesis& hypothesis, const profile::Fault& fault) {
  return std::ranges::any_of(hypothesis.faults, [&](const profile::Fault& f) {
    return f.at == fault.at && f.kind.index() == fault.kind.index();
  });
}

// Not a setting of the controller that is right, nor a wire: what was put in stands in the first
// group, with what looks the same.
TEST_P(WheelFault, StandsInTheFirstGroup) {
  const auto& [name, text] = GetParam();
  const profile::Bench& bench = WalkedThrough(name).bench();
  const profile::ParsedFault fault = profile::ParseFault(bench, text);
  ASSERT_TRUE(fault.fault);
  DiagnoseOn(name, bench, 1, {*fault.fault});
  ASSERT_FALSE(diagnosis_.groups.empty());
  std::vector<std::string> members;
  bool found = false;
  for (const Candidate& member : diagnosis_.groups[0].members) {
    members.push_back(Describe(bench, member.hypothesis));
    found = found || IsSamePlaceAndKind(member.hypothesis, *fault.fault);
  }
  EXPECT_TRUE(found) << fmt::format("{}", fmt::join(members, "\n"));
}

INSTANTIATE_TEST_SUITE_P(
    Shipped, WheelFault,
    testing::Values(PutIn{"hill_climb", "{kind: wheel_offset, at: cam_intake, deg: 360}"},
                    PutIn{"boat_v8", "{kind: wheel_offset, at: cam, deg: 360}"},
                    PutIn{"buggy", "{kind: wheel_offset, at: cam, deg: 360}"},
                    PutIn{"boat_v8", "{kind: pickup_inverted, at: cam}"},
                    PutIn{"buggy", "{kind: pickup_inverted, at: cam}"},
                    PutIn{"hill_climb", "{kind: pickup_inverted, at: cam_intake}"},
                    PutIn{"hill_climb", "{kind: cam_stuck, at: cam_intake, deg: 0}"},
                    PutIn{"hill_climb", "{kind: cam_stuck, at: cam_intake, deg: 17}"},
                    PutIn{"hill_climb", "{kind: pickup_strength, at: crank, factor: 0.05}"},
                    PutIn{"boat_v8", "{kind: tooth_missing, at: cam, tooth: 1}"},
                    PutIn{"buggy", "{kind: tooth_missing, at: cam, tooth: 1}"},
                    PutIn{"boat_v8", "{kind: tooth_missing, at: crank, tooth: 1}"},
                    PutIn{"generator", "{kind: tooth_missing, at: crank, tooth: 1}"},
                    PutIn{"generator", "{kind: tooth_missing, at: crank, tooth: 12}"},
                    PutIn{"kart", "{kind: tooth_missing, at: teeth, tooth: 1}"},
                    PutIn{"kart", "{kind: tooth_missing, at: reference, tooth: 1}"},
                    PutIn{"kart", "{kind: wheel_offset, at: teeth, deg: 12}"},
                    PutIn{"kart", "{kind: wheel_offset, at: teeth, deg: -24}"},
                    PutIn{"kart", "{kind: wheel_offset, at: reference, deg: 12}"},
                    PutIn{"kart", "{kind: wheel_offset, at: reference, deg: 24}"},
                    PutIn{"hovercraft", "{kind: tooth_missing, at: shaft, tooth: 1}"},
                    PutIn{"hill_climb", "{kind: tooth_missing, at: crank, tooth: 1}"}));

// ---- off any grid, and on other benches -------------------------------------------------------

// Sizes drawn by a seed, each to within half a degree of what was put in.
double SizeIn(const std::string& words) {
  const auto at = words.find_first_of("-0123456789");
  return at == std::string::npos ? 0 : std::stod(words.substr(at));
}

struct Told {
  const char* bench;
  std::uint64_t seed;
  double most_deg = 25;  // off; on the kart its reference stays in the window
};
void PrintTo(const Told& told, std::ostream* out) { *out << told.bench << ' ' << told.seed; }

class ToldSomeSize : public ToldWrong, public testing::WithParamInterface<Told> {
 protected:
  profile::Bench Built() const { return WalkedThrough(GetParam().bench).bench(); }
  // At least 5 degrees, either way.
  double Off(std::uint64_t stream) const {
    Random random(GetParam().seed, stream);
    const double deg = 5 + (GetParam().most_deg - 5) * random.Uniform();
    return random.Uniform() < 0.5 ? -deg : deg;
  }
  void ExpectSaid(const profile::Bench& told, const std::string& what, double size) {
    const std::string said = DiagnoseOn(GetParam().bench, told, GetParam().seed);
    EXPECT_NE(said.find(what), std::string::npos) << said;
    EXPECT_NEAR(SizeIn(said), size, 0.5) << said;
    ExpectOneRepair();
  }
};

TEST_P(ToldSomeSize, OfTheAdvanceIsNamed) {
  profile::Bench told = Built();
  told.controller->decoder.advance_deg += Off(1);
  ExpectSaid(told, "of ignition advance", told.controller->decoder.advance_deg);
}

TEST_P(ToldSomeSize, OfTheCrankIsNamed) {
  profile::Bench told = Built();
  auto& crank = told.controller->triggers[AsSize(told.controller->decoder.primary)];
  crank.offset_deg += Off(2);
  ExpectSaid(told, "an offset of", crank.offset_deg);
  EXPECT_EQ(Best().faults[0].at, crank.name);
}

TEST_P(ToldSomeSize, OfAnOrderOfTwoExchangedIsNamed) {
  profile::Bench told = Built();
  std::vector<int>& order = told.controller->decoder.firing_order;
  if (order.size() < 3) {  // of one or two cylinders no other order can be told
    for (const Hypothesis& h : ToldSuspects(Built(), Suspects(Built()))) {
      EXPECT_NE(profile::SettingOf(h.faults[0]), "firing_order");
    }
    return;
  }
  Random random(GetParam().seed, 3);
  const auto i = 1 + static_cast<std::size_t>(random.Uniform() * 0.999 *
                                              static_cast<double>(order.size() - 2));
  std::swap(order[i], order[i + 1]);
  EXPECT_EQ(
      DiagnoseOn(GetParam().bench, told, GetParam().seed),
      fmt::format("the controller seems to have been told firing order {}; tell it {}",
                  fmt::join(order, "-"), fmt::join(Built().controller->decoder.firing_order, "-")));
  ExpectOneRepair();
}

INSTANTIATE_TEST_SUITE_P(Benches, ToldSomeSize,
                         testing::Values(Told{"hill_climb", 11}, Told{"hill_climb", 12},
                                         Told{"boat_v8", 21}, Told{"boat_v8", 22},
                                         Told{"generator", 31}, Told{"kart", 41, 9}));

TEST_F(ToldWrong, AnotherWheelOfTheBoatIsNamed) {
  ExpectNamed("boat_v8", {kController, "wheels/36-1.yaml", "wheels/60-2.yaml"},
              "the controller seems to have been told a wheel 60-2 for crank; tell it 36-1");
}

// ---- what must not be told wrong ----------------------------------------------------------------

// A sound bench, weighed as if something had failed: nothing is said against any setting.
TEST_F(ToldWrong, ASoundBenchIsNotAccused) {
  for (const char* name : {"hill_climb", "boat_v8", "generator", "kart"}) {
    for (const std::uint64_t seed : {51, 52}) {
      DiagnoseOn(name, WalkedThrough(name).bench(), seed);
      EXPECT_TRUE(diagnosis_.healthy) << name << " " << seed;
    }
  }
}

Hypothesis OfOne(const profile::Fault& fault) {
  Hypothesis truth;
  truth.faults = {fault};
  return truth;
}

// A wire of crank or cam keeps its place before all that could have been told.
TEST_F(ToldWrong, AWireIsNotTakenForASetting) {
  const std::pair<const char*, const char*> opens[] = {
      {"hill_climb", "CKP.1"}, {"hill_climb", "CMP.3"}, {"hill_climb", "CMP.1"},
      {"boat_v8", "CK.1"},     {"boat_v8", "CM.3"},     {"generator", "SPD.3"},
      {"kart", "TW.3"},        {"kart", "RF.3"}};
  for (const auto& [name, at] : opens) {
    profile::Fault open;
    open.kind = profile::fault::Open{};
    open.name = open.at = at;
    const std::string said = DiagnoseOn(name, WalkedThrough(name).bench(), 61, {open});
    ASSERT_FALSE(diagnosis_.groups.empty()) << at;
    EXPECT_FALSE(Best().faults[0].Is<profile::fault::Told>()) << at << ": " << said;
    EXPECT_TRUE(Holds(diagnosis_.groups[0], OfOne(open))) << at << ": " << said;
  }
}

TEST_F(ToldWrong, CrankLeadsSwappedAreNotTakenForASetting) {
  for (const std::uint64_t seed : {71, 72, 73}) {
    profile::Fault swap;
    swap.kind = profile::fault::TerminalsSwapped{};
    swap.name = swap.at = "CKP.1";
    swap.with = "CKP.2";
    const std::string said =
        DiagnoseOn("hill_climb", WalkedThrough("hill_climb").bench(), seed, {swap});
    EXPECT_EQ(said, "terminals CKP.1 and CKP.2 (Crank sensor) swapped");
  }
}

// ---- a stranger on the bus ----------------------------------------------------------------------

TEST_F(ToldWrong, ANodeThatBabblesIsNamed) {
  profile::Fault babble;
  profile::fault::BabblingNode node;
  node.id = 0x050;
  node.period_ms = 2;
  babble.kind = node;
  babble.name = "stranger";
  babble.at = "vehicle";
  Walked& walked = WalkedThrough("hill_climb");
  const Observation observed = walked.ObserveOn(walked.bench(), {babble}, 1);
  Predictor predictor(walked.bench(), walked.situations());
  Ranker ranker(walked.bench(), predictor);
  const std::vector<Stranger> strangers = walked.strangers();
  ASSERT_EQ(strangers.size(), 1u);
  EXPECT_NEAR(strangers[0].period_ms, 2, 0.1);
  diagnosis_ = ranker.Rank(observed, {.doubles = true, .fired = nullptr, .strangers = strangers});
  bench_ = &walked.bench();
  ASSERT_FALSE(diagnosis_.groups.empty());
  EXPECT_EQ(Describe(*bench_, Best()),
            "a node that the bench does not know sends 0x50 on bus vehicle every 2 ms");
  ExpectOneRepair();
  // The twin: nobody strange, nobody named.
  EXPECT_TRUE(ranker.Rank(walked.Observe({}, 1)).healthy);
  EXPECT_TRUE(walked.strangers().empty());
}

}  // namespace
}  // namespace drycrank::diagnose
