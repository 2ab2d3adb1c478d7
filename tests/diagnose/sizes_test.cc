// SPDX-License-Identifier: Apache-2.0
//
// Ohms off any grid, 50 to 3,000 of them, from a place of a drawn bench to the battery or to ground, in
// the tests' own world. Most of them take an input out of range in some steps, and what is read in the
// others tells the size. A size is right when it is the drawn one within a tenth, or when what it gives
// agrees with the drawn one's readings within the noise (outside_world.h).
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <optional>

#include "diagnose/solve.h"
#include "diagnose/suspects.h"
#include "tests/diagnose/outside_world.h"

namespace drycrank::diagnose {
namespace {

constexpr double kSpread =
    0.5;  // of ln R: what a size is taken as known to at best (sized_answers.h)

Truth BridgeOf(const std::string& at, const std::string& pole, double ohm) {
  const auto node = [](const std::string& end) {
    return end.find('.') == std::string::npos ? end : end + "~";
  };
  Deviation bridge;
  bridge.put_in = [=](support::Departure& d, std::size_t) {
    d.bridges.push_back({node(at), node(pole), ohm});
  };
  return {TruthGroup::kSingle, {bridge}};
}

struct Found {
  int shorts = 0, wrong = 0;
  int alike = 0,
      beyond = 0;  // with a size that reads the same; the drawn one far outside what is said to
  std::string words;
};

class Drawn {
 public:
  explicit Drawn(std::uint64_t seed) : bench_(DrawnBench(seed)), random_(seed, 77) {}

  // Of half the places, one size each.
  void Try(Found& found) {
    for (const Hypothesis& suspect : Suspects(bench_)) {
      const profile::Fault& f = suspect.faults[0];
      const bool plus = f.Is<profile::fault::ShortToSupply>();
      if (!plus && !f.Is<profile::fault::ShortToGround>()) continue;
      const double ohm = 50 * std::pow(60, random_.Uniform());
      const profile::Supply& supply = bench_.supplies[0];
      const std::string& pole = plus ? supply.plus : supply.minus;
      if (random_.Uniform() < 0.5 || f.at == pole) continue;
      TryOne(suspect, BridgeOf(f.at, pole, ohm), ohm, found);
    }
  }

 private:
  void TryOne(const Hypothesis& suspect, const Truth& truth, double ohm, Found& found) {
    const CleanRows clean = world_.Clean(truth);
    if (Agree(world_.readings(), clean, AsPredicted(world_.healthy().value))) return;
    ++found.shorts;
    Random noise(1, 5);
    const Fit fit = Fitted(suspect, world_.Observe(truth, {}, noise));
    const Hypothesis& fitted = fit.hypothesis;
    if (std::abs(fitted.value / ohm - 1) < 0.1) return;
    if (Agree(world_.readings(), clean, predictor_.Predict(fitted.faults))) {
      ++found.alike;
      const double x = std::log(ohm);
      found.beyond += x < fit.x_low - kSpread || x > fit.x_high + kSpread;
      return;
    }
    ++found.wrong;
    found.words += fmt::format("{}, {} {}: {:.4g} ohm for {:.4g}\n", bench_.name, suspect.kind,
                               suspect.faults[0].at, fitted.value, ohm);
  }

  Fit Fitted(const Hypothesis& suspect, const Observation& observed) {
    const Facts facts(predictor_, observed);
    const Nuisances nuisances(predictor_, facts);
    const Weigher weigher(predictor_, facts);
    const Solver solver(predictor_, facts, nuisances, weigher);
    std::optional<Fit> fit = solver.FirstLook(suspect);
    if (!fit) {
      fit.emplace();
      fit->hypothesis = suspect;
      return *fit;
    }
    solver.Finish(*fit, solver.columns(), 5);
    return *fit;
  }

  profile::Bench bench_;
  OutsideWorld world_{bench_};
  Predictor predictor_{bench_, world_.situations()};
  Random random_;
};

// A ceiling over what was measured: of seeds 1001 to 1100 1.3 % of 857. Sought from the likeliest of the grid
// alone 5.4 % were wrong.
TEST(Sizes, AreFoundWhereMostReadingsAreOutOfRange) {
  Found found;
  for (std::uint64_t seed = 1001; seed <= 1040; ++seed) Drawn(seed).Try(found);
  EXPECT_GT(found.shorts, 100);
  EXPECT_LE(found.wrong, found.shorts / 50) << found.words << found.shorts;
  // 2.8 % of those; where the range ended with the last size that was tried, 6.3 %.
  EXPECT_GT(found.alike, 50);
  EXPECT_LE(found.beyond, found.alike / 25);
}

}  // namespace
}  // namespace drycrank::diagnose
