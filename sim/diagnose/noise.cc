// SPDX-License-Identifier: Apache-2.0
#include "diagnose/noise.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "types/nth.h"

namespace drycrank::diagnose {

BlockSums::BlockSums(std::span<const double> common)
    : common_(common.begin(), common.end()), sums_(common.size()) {
  for (std::size_t b = 0; b < sums_.size(); ++b) sums_[b].common = common_[b];
}

BlockSums::Sum& BlockSums::Touch(Eigen::Index block) {
  Sum& sum = Nth(sums_, block);
  if (!sum.touched) touched_.push_back(block);
  sum.touched = true;
  return sum;
}

double BlockSums::Raise(Eigen::Index block, double common) {
  double& now = Touch(block).common;
  return now = std::max(now, common);
}

void BlockSums::Add(Eigen::Index block, double residual, double deviation) {
  Sum& sum = Touch(block);
  const double weight = 1 / (deviation * deviation);
  sum.w += weight;
  sum.wr += weight * residual;
  sum.wrr += weight * residual * residual;
  sum.weights.Take(weight);
  sum.count += 1;
  count_ += 1;
}

void BlockSums::Add(Eigen::Index block, const Sum& sum) {
  Touch(block) = sum;
  count_ += sum.count;
}

void BlockSums::Clear() {
  for (const Eigen::Index block : touched_) {
    Nth(sums_, block) = {};
    Nth(sums_, block).common = Nth(common_, block);
  }
  touched_.clear();
  count_ = 0;
}

namespace {

// A symmetric matrix, of which row i is held from its first place that is not zero to the diagonal.
class Envelope {
 public:
  explicit Envelope(std::vector<int> first) : first_(std::move(first)) {
    for (std::size_t i = 0; i < first_.size(); ++i) {
      begin_.push_back(held_.size());
      held_.resize(held_.size() + i - static_cast<std::size_t>(first_[i]) + 1, 0.0);
      held_.back() = 1;  // the identity
    }
  }

  int size() const { return static_cast<int>(first_.size()); }
  // REQUIRES: within the envelope of row i, j <= i.
  double& At(int i, int j) { return *(Row(i) + j); }

  // G = L L', in place.
  void Factor() {
    for (int i = 0; i < size(); ++i) {
      double* row = Row(i);
      for (int j = First(i); j <= i; ++j) {
        const double* other = Row(j);
        double sum = row[j];
        for (int k = std::max(First(i), First(j)); k < j; ++k) sum -= row[k] * other[k];
        row[j] = j < i ? sum / other[j] : std::sqrt(sum);
      }
    }
  }
  // L y = h, L' x = y, in place.
  void SolveLower(std::vector<double>& h) {
    for (int i = 0; i < size(); ++i) {
      const double* row = Row(i);
      double& at = Nth(h, i);
      for (int k = First(i); k < i; ++k) at -= row[k] * Nth(h, k);
      at /= row[i];
    }
  }
  void SolveUpper(std::vector<double>& y) {
    for (int i = size() - 1; i >= 0; --i) {
      const double* row = Row(i);
      const double at = Nth(y, i) /= row[i];
      for (int k = First(i); k < i; ++k) Nth(y, k) -= row[k] * at;
    }
  }

 private:
  int First(int i) const { return Nth(first_, i); }
  double* Row(int i) { return held_.data() + Nth(begin_, i) - First(i); }

  std::vector<int> first_;
  std::vector<std::size_t> begin_;
  std::vector<double> held_;
};

// The kept columns, each as far back as one that it shares a block with; then the whole ones.
std::vector<int> EnvelopeOf(const Sensitivities& a, std::span<const Eigen::Index> blocks) {
  std::vector<int> first(static_cast<std::size_t>(a.cols()));
  for (Eigen::Index c = 0; c < a.kept_cols(); ++c) {
    Nth(first, c) = static_cast<int>(c);
  }
  for (const Eigen::Index block : blocks) {
    const auto kept = a.Kept(block);
    for (const Sensitivities::Entry& entry : kept) {
      int& back = Nth(first, entry.column);
      back = std::min(back, kept.front().column);
    }
  }
  return first;
}

}  // namespace

double LogLikelihood(const BlockSums& sums, const Sensitivities& a, Eigen::VectorXd* shared) {
  double chi2 = 0, log_det = 0;
  LogOfProduct ones;
  // h and G.
  Envelope g(EnvelopeOf(a, sums.touched()));
  std::vector<double> h(static_cast<std::size_t>(a.cols()), 0.0);
  std::vector<Sensitivities::Entry> row;
  const auto kept_cols = static_cast<int>(a.kept_cols());
  for (const Eigen::Index b : sums.touched()) {
    const BlockSums::Sum& sum = sums.At(b);
    if (sum.w == 0) continue;
    const double square = sum.common * sum.common, one = 1 + square * sum.w;
    chi2 += sum.wrr - square * sum.wr * sum.wr / one;
    log_det -= sum.weights.Log();
    ones.Take(one);
    const auto kept = a.Kept(b);
    row.assign(kept.begin(), kept.end());
    for (Eigen::Index c = 0; c < a.whole().cols(); ++c) {
      if (a.whole()(b, c) != 0) row.push_back({kept_cols + static_cast<int>(c), a.whole()(b, c)});
    }
    const double weight = sum.w / one, residual = sum.wr / one;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const double moved = weight * row[i].moved;
      for (std::size_t j = 0; j <= i; ++j) {
        g.At(row[i].column, row[j].column) += moved * row[j].moved;
      }
      Nth(h, row[i].column) += row[i].moved * residual;
    }
  }
  // h'G^-1 h by y = L^-1 h.
  g.Factor();
  g.SolveLower(h);
  for (int i = 0; i < g.size(); ++i) {
    chi2 -= Nth(h, i) * Nth(h, i);
    ones.Take(g.At(i, i) * g.At(i, i));
  }
  log_det += ones.Log();
  if (shared != nullptr) {
    g.SolveUpper(h);
    shared->resize(a.cols());
    for (int i = 0; i < g.size(); ++i) {
      const Eigen::Index place =
          i < kept_cols ? Sensitivities::PlaceOfKept(i) : a.PlaceOfWhole(i - kept_cols);
      (*shared)[place] = Nth(h, i);
    }
  }
  return -0.5 * (chi2 + log_det + sums.count() * std::log(2 * std::numbers::pi));
}

}  // namespace drycrank::diagnose
