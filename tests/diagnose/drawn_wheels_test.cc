// SPDX-License-Identifier: Apache-2.0
//
// Benches that nobody has written: a shipped one whose crank wheel, its place and the cam's place
// are drawn by a seed, built and told alike. A fault of a wheel is drawn and put in; the diagnosis,
// which knows the bench alone, must have it in its first group. How often it does is printed. Then
// of every kind of fault that a wheel and its sensor may have: never may another be named and sure.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "profile/load.h"
#include "tests/diagnose/walked.h"
#include "types/nth.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr int kDrawn = 24;

// Even teeth, half a pitch wide, without the last one or two: a gap.
profile::Wheel DrawWheel(Random& random) {
  const int places[] = {24, 30, 36, 44, 60};
  const int count = places[static_cast<int>(random.Uniform() * 5)];
  const int gone = random.Uniform() < 0.5 ? 1 : 2;
  const double pitch_deg = 360.0 / count;
  profile::Wheel wheel;
  for (int k = 0; k < count - gone; ++k) {
    wheel.teeth.push_back({k * pitch_deg, (k + 0.5) * pitch_deg});
  }
  return wheel;
}

struct Drawn {
  profile::Bench bench;
  int crank = 0, cam = 0;  // triggers
};

Drawn Draw(Random& random) {
  const char* names[] = {"hill_climb", "boat_v8", "generator"};
  const std::string name = names[static_cast<int>(random.Uniform() * 3)];
  Drawn drawn;
  drawn.bench = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml").bench;
  const profile::Wheel wheel = DrawWheel(random);
  const double crank_deg = std::floor(360 * random.Uniform());
  const double cam_deg = std::floor(720 * random.Uniform());
  const auto place = [&](auto& triggers) {
    for (auto& trigger : triggers) {
      const bool on_crank = trigger.shaft == profile::Shaft::kCrank;
      if (on_crank) trigger.wheel = wheel;
      trigger.offset_deg = on_crank ? crank_deg : cam_deg;
    }
  };
  place(drawn.bench.triggers);
  place(drawn.bench.controller->triggers);
  for (std::size_t i = 0; i < drawn.bench.triggers.size(); ++i) {
    const bool on_crank = drawn.bench.triggers[i].shaft == profile::Shaft::kCrank;
    (on_crank ? drawn.crank : drawn.cam) = static_cast<int>(i);
  }
  return drawn;
}

profile::Fault DrawFault(const Drawn& drawn, Random& random) {
  const profile::Trigger& crank = Nth(drawn.bench.triggers, drawn.crank);
  const profile::Trigger& cam = Nth(drawn.bench.triggers, drawn.cam);
  const double u = random.Uniform(), kind = random.Uniform();
  profile::Fault fault;
  fault.name = "drawn";
  fault.at = crank.name;
  if (kind < 0.4) {
    const auto teeth = static_cast<double>(crank.wheel.teeth.size());
    fault.kind = fault::ToothMissing{1 + static_cast<int>(u * teeth)};
  } else if (kind < 0.6) {
    fault.kind = fault::WheelOffset{(u < 0.5 ? -1 : 1) * (5 + 20 * random.Uniform())};
  } else if (kind < 0.8) {
    fault.at = cam.name;
    fault.kind = fault::WheelOffset{(u < 0.5 ? -1 : 1) * (5 + 20 * random.Uniform())};
  } else {
    fault.at = cam.name;
    fault.kind = fault::WheelOffset{360};
  }
  return fault;
}

bool StandsIn(const Group& group, const profile::Fault& fault) {
  return std::ranges::any_of(group.members, [&](const Candidate& member) {
    return std::ranges::any_of(member.hypothesis.faults, [&](const profile::Fault& f) {
      return f.at == fault.at && f.kind.index() == fault.kind.index();
    });
  });
}

TEST(DrawnWheels, AFaultStandsInTheFirstGroup) {
  int found = 0;
  for (int seed = 1; seed <= kDrawn; ++seed) {
    Random random(static_cast<std::uint64_t>(seed), 17);
    const Drawn drawn = Draw(random);
    const profile::Fault fault = DrawFault(drawn, random);
    Walked walked(drawn.bench);
    const Observation observed =
        walked.ObserveOn(drawn.bench, {fault}, static_cast<std::uint64_t>(seed));
    const FiredSeen fired = walked.fired();
    const EdgesSeen edges = walked.edges();
    Predictor predictor(walked.bench(), walked.situations());
    Ranker ranker(walked.bench(), predictor);
    const Diagnosis diagnosis =
        ranker.Rank(observed, {.doubles = true, .fired = &fired, .edges = &edges});
    const bool named = !diagnosis.groups.empty() && StandsIn(diagnosis.groups[0], fault);
    found += named;
    const Hypothesis truth{{fault}, "drawn", 1, Quantity::kNone, 0, 0, 0};
    const std::string first =
        diagnosis.groups.empty()
            ? "nothing"
            : Describe(walked.bench(), diagnosis.groups[0].members[0].hypothesis);
    if (!named) {
      fmt::print("seed {}, {}, {} teeth: {} put in, named {}{}\n", seed, drawn.bench.name,
                 Nth(drawn.bench.triggers, drawn.crank).wheel.teeth.size(),
                 Describe(walked.bench(), truth), first, diagnosis.healthy ? " (healthy)" : "");
    }
  }
  fmt::print("in the first group: {} of {}\n", found, kDrawn);
  EXPECT_GE(found, kDrawn - 1);
}

// ---- every kind of fault that a wheel and its sensor may have
// --------------------------------------

constexpr int kOfAllKinds = 30, kLeastInGroup = 26;

profile::Fault At(const profile::Trigger& trigger, const profile::FaultKind& kind) {
  profile::Fault fault;
  fault.name = "drawn";
  fault.at = trigger.name;
  fault.kind = kind;
  return fault;
}

// Of the crank or of a cam; one in six each, where the wheel can have it.
profile::Fault DrawAnyKind(const Drawn& drawn, Random& random) {
  const profile::Trigger& crank = Nth(drawn.bench.triggers, drawn.crank);
  const profile::Trigger& cam = Nth(drawn.bench.triggers, drawn.cam);
  const profile::Trigger& either = random.Uniform() < 0.5 ? crank : cam;
  const double sign = random.Uniform() < 0.5 ? -1 : 1, u = random.Uniform(),
               kind = random.Uniform();
  const bool hall = std::holds_alternative<profile::HallPickup>(cam.pickup);
  const auto teeth = static_cast<double>(either.wheel.teeth.size());
  if (kind < 1. / 6) return At(either, fault::ToothMissing{1 + static_cast<int>(u * teeth)});
  if (kind < 2. / 6) return At(crank, fault::WheelRunout{1 + 2 * u, 360 * random.Uniform(), 0});
  if (kind < 3. / 6)
    return At(either, fault::ElectricalNoise{.rate_hz = std::pow(10, 1.5 + 2 * u)});
  if (kind < 4. / 6 && cam.advance_stimulus >= 0) {
    if (random.Uniform() < 0.5) return At(cam, fault::CamStuck{40 * u});
    return At(cam, fault::CamSlow{2 + 10 * u});
  }
  if (kind < 5. / 6 && hall) return At(cam, fault::PickupInverted{});
  // 1.5 to 180 degrees, as many small as large ones.
  return At(either, fault::WheelOffset{sign * 1.5 * std::pow(120, u)});
}

struct Tally {
  int first = 0, in_group = 0, nothing = 0, other = 0, wrong_and_sure = 0;

  void Count(const Diagnosis& diagnosis, const profile::Fault& fault) {
    if (diagnosis.healthy || diagnosis.groups.empty()) {
      ++nothing;
      return;
    }
    const Group& group = diagnosis.groups[0];
    const bool named = StandsIn(group, fault);
    in_group += named;
    first += named && StandsIn({{group.members[0]}, 0}, fault);
    other += !named;
    wrong_and_sure += !named && group.share >= 0.95;
  }
};

// As drycrank diagnose weighs it: edges and sparks where an expectation about the cycle failed.
// Nothing of another kind may be sure.
TEST(DrawnWheels, FaultsOfEveryKindAreNamed) {
  Tally tally;
  for (int seed = 1; seed <= kOfAllKinds; ++seed) {
    Random random(static_cast<std::uint64_t>(seed), 23);
    const Drawn drawn = Draw(random);
    const profile::Fault fault = DrawAnyKind(drawn, random);
    Walked walked(drawn.bench);
    const Observation observed =
        walked.ObserveOn(drawn.bench, {fault}, static_cast<std::uint64_t>(seed));
    const FiredSeen fired = walked.fired();
    const EdgesSeen edges = walked.edges();
    Predictor predictor(walked.bench(), walked.situations());
    Ranker ranker(walked.bench(), predictor);
    const bool failed = walked.cycle_failed();
    const Diagnosis diagnosis = ranker.Rank(
        observed, {.doubles = true, .fired = failed ? &fired : nullptr, .edges = &edges});
    Tally one;
    one.Count(diagnosis, fault);
    tally.Count(diagnosis, fault);
    const Hypothesis truth{{fault}, "drawn", 1, Quantity::kNone, 0, 0, 0};
    if (one.first > 0) continue;
    const bool any = !diagnosis.groups.empty();
    fmt::print(
        "seed {}, {}: {} put in{}, named {} {:.0f} %{}\n", seed, drawn.bench.name,
        Describe(walked.bench(), truth), failed ? "" : " (nothing of the cycle failed)",
        any ? Describe(walked.bench(), diagnosis.groups[0].members[0].hypothesis) : "nothing",
        any ? 100 * diagnosis.groups[0].share : 0, diagnosis.healthy ? " (healthy)" : "");
  }
  fmt::print("first: {}, in the first group: {}, nothing said: {}, another: {}, of {}\n",
             tally.first, tally.in_group, tally.nothing, tally.other, kOfAllKinds);
  EXPECT_EQ(tally.wrong_and_sure, 0);
  EXPECT_GE(tally.in_group, kLeastInGroup);
}

}  // namespace
}  // namespace drycrank::diagnose
