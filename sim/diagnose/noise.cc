// SPDX-License-Identifier: Apache-2.0
#include "diagnose/noise.h"

#include <cmath>
#include <numbers>

namespace drycrank::diagnose {

BlockSums::BlockSums(Eigen::Index blocks)
    : w(Eigen::VectorXd::Zero(blocks)), wr(w), wrr(w), ld(w), common(w) {}

void BlockSums::Add(Eigen::Index block, double residual, double deviation) {
  const double weight = 1 / (deviation * deviation);
  w[block] += weight;
  wr[block] += weight * residual;
  wrr[block] += weight * residual * residual;
  ld[block] -= std::log(weight);
  count += 1;
}

double LogLikelihood(const BlockSums& sums, const Eigen::MatrixXd& a, Eigen::VectorXd* shared) {
  const Eigen::ArrayXd square = sums.common.array().square();
  const Eigen::ArrayXd one = 1 + square * sums.w.array();
  double chi2 = sums.wrr.sum() - (square * sums.wr.array().square() / one).sum();
  double log_det = sums.ld.sum() + one.log().sum();
  // h and G, and the Cholesky factor of G.
  const Eigen::VectorXd h = a.transpose() * (sums.wr.array() / one).matrix();
  const Eigen::MatrixXd weighted = (sums.w.array() / one).sqrt().matrix().asDiagonal() * a;
  Eigen::MatrixXd g = Eigen::MatrixXd::Identity(a.cols(), a.cols());
  g.selfadjointView<Eigen::Lower>().rankUpdate(weighted.transpose());
  const Eigen::LLT<Eigen::MatrixXd> factor(g);
  const Eigen::VectorXd fitted = factor.solve(h);
  chi2 -= h.dot(fitted);
  for (Eigen::Index k = 0; k < a.cols(); ++k) log_det += 2 * std::log(factor.matrixLLT()(k, k));
  if (shared != nullptr) *shared = fitted;
  return -0.5 * (chi2 + log_det + sums.count * std::log(2 * std::numbers::pi));
}

}  // namespace drycrank::diagnose
