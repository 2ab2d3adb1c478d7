// SPDX-License-Identifier: Apache-2.0
//
// Against Eigen's dense factorization with full pivoting, on matrices like those of networks:
// conductances over nine decades, outputs that follow their supply (not symmetric).
#include "harness/sparse_lu.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <vector>

#include "types/random.h"

namespace drycrank::harness {
namespace {

constexpr int kNodes = 40;

struct Conductance {
  int a, b, supply;  // of an output: v(a, b) is a share of v(supply, b); -1: a plain resistor
};

std::vector<Conductance> Places(Random& random) {
  std::vector<Conductance> places;
  const auto node = [&] { return static_cast<int>(random.Uniform() * kNodes); };
  for (int i = 1; i < kNodes; ++i)
    places.push_back({i, static_cast<int>(random.Uniform() * i), -1});
  for (int i = 0; i < 10; ++i) {
    const int a = node(), b = node(), supply = node();
    if (a != b && supply != a && supply != b) places.push_back({a, b, supply});
  }
  return places;
}

Eigen::SparseMatrix<double> Numbers(const std::vector<Conductance>& places, Random& random) {
  std::vector<Eigen::Triplet<double>> entries;
  for (int i = 0; i < kNodes; ++i) entries.emplace_back(i, i, 1e-6);
  for (const Conductance& p : places) {
    const double siemens = std::pow(10.0, 9 * random.Uniform() - 6);
    const double share = random.Uniform();
    for (const auto& [row, sign] : {std::pair(p.a, 1.0), std::pair(p.b, -1.0)}) {
      entries.emplace_back(row, p.a, sign * siemens);
      entries.emplace_back(row, p.b, -sign * siemens);
      if (p.supply < 0) continue;
      entries.emplace_back(row, p.supply, -sign * share * siemens);
      entries.emplace_back(row, p.b, sign * share * siemens);
    }
  }
  Eigen::SparseMatrix<double> matrix(kNodes, kNodes);
  matrix.setFromTriplets(entries.begin(), entries.end());
  return matrix;
}

TEST(SparseLu, OtherNumbersAtTheSamePlaces) {
  Random random(11, 0);
  for (int network = 0; network < 20; ++network) {
    const std::vector<Conductance> places = Places(random);
    SparseLu lu(Numbers(places, random));
    for (int again = 0; again < 20; ++again) {
      Eigen::SparseMatrix<double> matrix = Numbers(places, random);
      Eigen::MatrixXd sides = Eigen::MatrixXd::Random(kNodes, 6);  // more than KLU takes at once
      const Eigen::MatrixXd expected = Eigen::MatrixXd(matrix).fullPivLu().solve(sides);
      lu.Factor({matrix.valuePtr(), static_cast<std::size_t>(matrix.nonZeros())});
      lu.Solve({sides.data(), static_cast<std::size_t>(sides.size())});
      // 1e-6 S to 1e3 S: nine of sixteen digits may go.
      for (int side = 0; side < sides.cols(); ++side) {
        EXPECT_LT((sides.col(side) - expected.col(side)).norm(), 1e-6 * expected.col(side).norm());
      }
    }
  }
}

TEST(SparseLu, TheReferenceAloneHasNothingToSolve) {
  SparseLu lu{Eigen::SparseMatrix<double>(0, 0)};
  lu.Factor({});
  lu.Solve({});
}

}  // namespace
}  // namespace drycrank::harness
