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
// has the same row throughout a block.
#ifndef DRYCRANK_DIAGNOSE_NOISE_H_
#define DRYCRANK_DIAGNOSE_NOISE_H_

#include <Eigen/Dense>

#include "diagnose/sensitivities.h"

namespace drycrank::diagnose {

struct BlockSums {
  Eigen::VectorXd w, wr, wrr, ld, common;  // per block; common: s
  double count = 0;                        // N

  explicit BlockSums(Eigen::Index blocks);
  // A number `residual` off, with this error of its own.
  void Add(Eigen::Index block, double residual, double deviation);
};

// `shared`, where asked for: the likeliest n.
double LogLikelihood(const BlockSums& sums, const Sensitivities& a,
                     Eigen::VectorXd* shared = nullptr);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NOISE_H_
