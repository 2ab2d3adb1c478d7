// SPDX-License-Identifier: Apache-2.0
//
// A sparse square matrix that is factored again and again with other numbers at the same places:
// L U with pivots on the diagonal, the order found once. By KLU, a solver made for the matrices of
// circuits (Davis, Palamadai Natarajan, ACM Trans. Math. Softw. 37 (2010), 36).
//
// Nothing is allocated after construction.
#ifndef DRYCRANK_HARNESS_SPARSE_LU_H_
#define DRYCRANK_HARNESS_SPARSE_LU_H_

#include <Eigen/Sparse>
#include <memory>
#include <span>

namespace drycrank::harness {

class SparseLu {
 public:
  // The places, and the first numbers. REQUIRES: square, compressed, its diagonal heavy enough to
  // be divided by, as that of a network's conductances is.
  explicit SparseLu(const Eigen::SparseMatrix<double>& matrix);
  ~SparseLu();
  SparseLu(SparseLu&&) noexcept;
  SparseLu& operator=(SparseLu&&) noexcept;

  // `values` as the matrix keeps them, column by column.
  void Factor(std::span<double> values);
  // Right-hand sides in, solutions out; one behind the other.
  // REQUIRES: columns.size() is a multiple of the rows.
  void Solve(std::span<double> columns);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_SPARSE_LU_H_
