// SPDX-License-Identifier: Apache-2.0
//
// Numbers with errors of their own, errors of their block, and errors that many share:
//
//   r = own + block + A n      own ~ N(0, D^2), block ~ N(0, s^2) once for each block, n ~ N(0, 1)
//   W = sum 1/D^2, WR = sum r/D^2, WRR = sum r^2/D^2, LD = sum log D^2         of each block
//   G = I + A' diag(W / (1 + s^2 W)) A        h = A' (WR / (1 + s^2 W))
//   log L = -1/2 (sum WRR - sum s^2 WR^2 / (1 + s^2 W) - h'G^-1 h)
//           -1/2 (sum LD + sum log(1 + s^2 W) + log det G + N log 2 pi)
//
// by Woodbury's formula and its determinant (Golub & Van Loan, Matrix Computations, 2.1.4), since A
// has the same row throughout a block. A block of which no number is added costs nothing.
#ifndef DRYCRANK_DIAGNOSE_NOISE_H_
#define DRYCRANK_DIAGNOSE_NOISE_H_

#include <Eigen/Dense>
#include <cmath>
#include <span>
#include <vector>

#include "diagnose/sensitivities.h"

namespace drycrank::diagnose {

// log of a product of many positive numbers, by few logarithms.
class LogOfProduct {
 public:
  void Take(double factor) {
    product_ *= factor;
    if (product_ < 1e-150 || product_ > 1e150) Fold();
  }
  double Log() const { return sum_ + std::log(product_); }

 private:
  void Fold() {
    sum_ += std::log(product_);
    product_ = 1;
  }

  double product_ = 1, sum_ = 0;
};

class BlockSums {
 public:
  struct Sum {
    double w = 0, wr = 0, wrr = 0;
    LogOfProduct weights;  // of the 1/D^2: -LD
    double common = 0;     // s
    double count = 0;      // of its numbers
    bool touched = false;
  };

  // s of each block.
  explicit BlockSums(std::span<const double> common);

  // s of this block is at least this, until Clear. What it is then.
  double Raise(Eigen::Index block, double common);
  // A number `residual` off, with this error of its own.
  void Add(Eigen::Index block, double residual, double deviation);
  // What was summed of it another time. REQUIRES: not touched since Clear.
  void Add(Eigen::Index block, const Sum& sum);
  // As when it was made.
  void Clear();

  const Sum& At(Eigen::Index block) const { return sums_[static_cast<std::size_t>(block)]; }
  // Since Clear, by Add or Raise.
  std::span<const Eigen::Index> touched() const { return touched_; }
  double count() const { return count_; }  // N

 private:
  Sum& Touch(Eigen::Index block);

  std::vector<double> common_;
  std::vector<Sum> sums_;
  std::vector<Eigen::Index> touched_;
  double count_ = 0;
};

// `shared`, where asked for: the likeliest n.
double LogLikelihood(const BlockSums& sums, const Sensitivities& a,
                     Eigen::VectorXd* shared = nullptr);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NOISE_H_
