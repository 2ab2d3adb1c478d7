// SPDX-License-Identifier: Apache-2.0
#include "diagnose/sensitivities.h"

#include "types/nth.h"

namespace drycrank::diagnose {

Sensitivities::Sensitivities(const Eigen::MatrixXd& a) {
  if (a.cols() <= 2) {
    whole_ = a;
    return;
  }
  std::vector<Triplet> triplets;
  for (Eigen::Index column = 1; column + 1 < a.cols(); ++column) {
    for (Eigen::Index row = 0; row < a.rows(); ++row) {
      if (a(row, column) == 0) continue;
      triplets.push_back({row, {static_cast<int>(column - 1), a(row, column)}});
    }
  }
  *this = Sensitivities(a.rows(), a.cols() - 2, triplets);
  whole_ << a.col(0), a.col(a.cols() - 1);
}

Sensitivities::Sensitivities(Eigen::Index rows, Eigen::Index kept_cols,
                             std::span<const Triplet> triplets)
    : whole_(Eigen::MatrixXd::Zero(rows, 2)) {
  auto kept = std::make_shared<KeptColumns>();
  const auto count = static_cast<std::size_t>(rows);
  kept->cols = kept_cols;
  kept->squared_norm.resize(count, 0);
  // How many of each row; where each begins; each to its place.
  kept->begin.resize(count + 1, 0);
  for (const Triplet& at : triplets) ++Nth(kept->begin, at.row + 1);
  for (std::size_t row = 0; row < count; ++row) kept->begin[row + 1] += kept->begin[row];
  std::vector<std::size_t> next(kept->begin.begin(), kept->begin.end() - 1);
  kept->entries.resize(triplets.size());
  for (const Triplet& at : triplets) {
    kept->entries[Nth(next, at.row)++] = at.entry;
    Nth(kept->squared_norm, at.row) += at.entry.moved * at.entry.moved;
  }
  kept_ = std::move(kept);
}

Sensitivities Sensitivities::Without(const std::vector<bool>& without) const {
  Sensitivities less = *this;
  auto kept = std::make_shared<KeptColumns>();
  kept->cols = kept_cols();
  for (Eigen::Index row = 0; row < rows(); ++row) {
    kept->begin.push_back(kept->entries.size());
    if (Nth(without, row)) {
      less.whole_.row(row).setZero();
      kept->squared_norm.push_back(0);
      continue;
    }
    kept->squared_norm.push_back(kept_ ? Nth(kept_->squared_norm, row) : 0);
    for (const Entry& entry : Kept(row)) kept->entries.push_back(entry);
  }
  kept->begin.push_back(kept->entries.size());
  less.kept_ = std::move(kept);
  return less;
}

void Sensitivities::Append(const Eigen::VectorXd& column) {
  whole_.conservativeResize(column.size(), whole_.cols() + 1);
  whole_.col(whole_.cols() - 1) = column;
}

std::span<const Sensitivities::Entry> Sensitivities::Kept(Eigen::Index row) const {
  if (!kept_) return {};
  const auto r = static_cast<std::size_t>(row);
  return std::span(kept_->entries).subspan(kept_->begin[r], kept_->begin[r + 1] - kept_->begin[r]);
}

double Sensitivities::SquaredRowNorm(Eigen::Index row) const {
  const double kept = kept_ ? Nth(kept_->squared_norm, row) : 0;
  return kept + whole_.row(row).squaredNorm();
}

Eigen::VectorXd Sensitivities::Times(const Eigen::VectorXd& deviations) const {
  Eigen::VectorXd moved = Eigen::VectorXd::Zero(rows());
  for (Eigen::Index row = 0; row < rows(); ++row) {
    for (const Entry& entry : Kept(row)) {
      moved[row] += entry.moved * deviations[PlaceOfKept(entry.column)];
    }
    for (Eigen::Index column = 0; column < whole_.cols(); ++column) {
      moved[row] += whole_(row, column) * deviations[PlaceOfWhole(column)];
    }
  }
  return moved;
}

}  // namespace drycrank::diagnose
