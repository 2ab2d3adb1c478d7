// SPDX-License-Identifier: Apache-2.0
#include "diagnose/sensitivities.h"

#include "types/nth.h"

namespace drycrank::diagnose {

Sensitivities::Sensitivities(const Eigen::MatrixXd& a) {
  if (a.cols() <= 2) {
    whole_ = a;
    return;
  }
  whole_.resize(a.rows(), 2);
  whole_ << a.col(0), a.col(a.cols() - 1);
  auto kept = std::make_shared<KeptColumns>();
  kept->cols = a.cols() - 2;
  for (Eigen::Index row = 0; row < a.rows(); ++row) {
    kept->begin.push_back(kept->entries.size());
    double square = 0;
    for (Eigen::Index column = 0; column < kept->cols; ++column) {
      const double moved = a(row, column + 1);
      if (moved == 0) continue;
      kept->entries.push_back({static_cast<int>(column), moved});
      square += moved * moved;
    }
    kept->squared_norm.push_back(square);
  }
  kept->begin.push_back(kept->entries.size());
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

Eigen::VectorXd Sensitivities::SquaredRowNorms() const {
  Eigen::VectorXd norms(rows());
  for (Eigen::Index row = 0; row < rows(); ++row) norms[row] = SquaredRowNorm(row);
  return norms;
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
