// SPDX-License-Identifier: Apache-2.0
//
// A of noise.h: what one deviation of each quantity does to the numbers of each block. Most quantities,
// a sensor's offset say, move few blocks, and what they do is the same for many hypotheses: these columns
// are kept by rows, without their zeros, and shared by copies. The first and the last column, the supply
// and the shift (nuisance.h), belong to one hypothesis and are held whole.
#ifndef DRYCRANK_DIAGNOSE_SENSITIVITIES_H_
#define DRYCRANK_DIAGNOSE_SENSITIVITIES_H_

#include <Eigen/Dense>
#include <memory>
#include <span>
#include <vector>

namespace drycrank::diagnose {

class Sensitivities {
 public:
  struct Entry {
    int column = 0;  // among the kept ones
    double moved = 0;
  };

  struct Triplet {
    Eigen::Index row = 0;
    Entry entry;
  };

  Sensitivities() = default;
  explicit Sensitivities(const Eigen::MatrixXd& a);
  // So many kept columns, these of their numbers not zero; the first and the last column zero.
  // REQUIRES: by columns, each place once.
  Sensitivities(Eigen::Index rows, Eigen::Index kept_cols, std::span<const Triplet> triplets);

  bool is_empty() const { return rows() == 0; }
  Eigen::Index rows() const { return whole_.rows(); }
  Eigen::Index cols() const { return whole_.cols() + kept_cols(); }

  // REQUIRES: the matrix that it was made of had a first column, and another for the last.
  auto First() { return whole_.col(0); }
  auto Last() { return whole_.col(1); }
  // The same, these rows zero. REQUIRES: a flag for each row.
  Sensitivities Without(const std::vector<bool>& without) const;
  // Behind all others.
  void Append(const Eigen::VectorXd& column);

  // What is kept of a row, by columns; and what is held whole.
  std::span<const Entry> Kept(Eigen::Index row) const;
  const Eigen::MatrixXd& whole() const { return whole_; }
  double& Whole(Eigen::Index row, Eigen::Index column) { return whole_(row, column); }
  Eigen::Index kept_cols() const { return kept_ ? kept_->cols : 0; }
  // Of A, for one of the kept and one of the whole columns.
  static Eigen::Index PlaceOfKept(int column) { return 1 + column; }
  Eigen::Index PlaceOfWhole(Eigen::Index column) const {
    return column == 0 ? 0 : kept_cols() + column;
  }

  double SquaredRowNorm(Eigen::Index row) const;
  Eigen::VectorXd Times(const Eigen::VectorXd& deviations) const;

 private:
  struct KeptColumns {
    Eigen::Index cols = 0;
    std::vector<std::size_t> begin;  // of each row's entries, and the end
    std::vector<Entry> entries;
    std::vector<double> squared_norm;  // of each row
  };

  std::shared_ptr<const KeptColumns> kept_;  // null: none
  Eigen::MatrixXd whole_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SENSITIVITIES_H_
