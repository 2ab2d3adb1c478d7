// SPDX-License-Identifier: Apache-2.0
//
// A few linear equations, factored by Gauss's elimination with exchange of rows (Golub & Van Loan,
// Matrix Computations, 3.4), solved for one right-hand side after the other:
//
//   P A = L U      L y = P b      U x = y
//
// For systems of one to a few unknowns, thousands of times a second: nothing is allocated once it has
// been as large. Rejected: Eigen's PartialPivLU, which allocates as it solves and made a diagnosis 9 %
// longer (instructions; its blocks begin to pay at some tens of unknowns).
#ifndef DRYCRANK_HARNESS_SMALL_SYSTEM_H_
#define DRYCRANK_HARNESS_SMALL_SYSTEM_H_

#include <cmath>
#include <cstddef>
#include <span>
#include <utility>
#include <vector>

namespace drycrank::harness {

class SmallSystem {
 public:
  // What it holds then is to be set, each place.
  void Resize(std::size_t size) {
    size_ = size;
    held_.resize(size * size);
    swapped_.resize(size);
  }
  std::size_t size() const { return size_; }
  double& At(std::size_t row, std::size_t column) { return held_[row * size_ + column]; }
  double At(std::size_t row, std::size_t column) const { return held_[row * size_ + column]; }

  // In place. REQUIRES: not singular.
  void Factor() {
    for (std::size_t k = 0; k < size_; ++k) {
      swapped_[k] = PivotOf(k);
      if (swapped_[k] != k) SwapRows(k, swapped_[k]);
      for (std::size_t row = k + 1; row < size_; ++row) {
        const double factor = At(row, k) /= At(k, k);
        for (std::size_t c = k + 1; c < size_; ++c) At(row, c) -= factor * At(k, c);
      }
    }
  }

  // Right-hand side in, solution out. REQUIRES: factored, of its size.
  void Solve(std::span<double> b) const {
    for (std::size_t k = 0; k < size_; ++k) {
      if (swapped_[k] != k) std::swap(b[k], b[swapped_[k]]);
    }
    for (std::size_t row = 1; row < size_; ++row) {
      for (std::size_t c = 0; c < row; ++c) b[row] -= At(row, c) * b[c];
    }
    for (std::size_t row = size_; row-- > 0;) {
      for (std::size_t c = row + 1; c < size_; ++c) b[row] -= At(row, c) * b[c];
      b[row] /= At(row, row);
    }
  }

 private:
  std::size_t PivotOf(std::size_t k) const {
    std::size_t most = k;
    for (std::size_t row = k + 1; row < size_; ++row) {
      if (std::abs(At(row, k)) > std::abs(At(most, k))) most = row;
    }
    return most;
  }
  void SwapRows(std::size_t a, std::size_t b) {
    for (std::size_t c = 0; c < size_; ++c) std::swap(At(a, c), At(b, c));
  }

  std::size_t size_ = 0;
  std::vector<double> held_;  // row by row
  std::vector<std::size_t> swapped_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_SMALL_SYSTEM_H_
