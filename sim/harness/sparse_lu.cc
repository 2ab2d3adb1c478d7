// SPDX-License-Identifier: Apache-2.0
#include "harness/sparse_lu.h"

#include <klu.h>

#include <cassert>
#include <vector>

namespace drycrank::harness {

struct SparseLu::Impl {
  explicit Impl(const Eigen::SparseMatrix<double>& matrix)
      : rows(static_cast<int>(matrix.rows())),
        begins(matrix.outerIndexPtr(), matrix.outerIndexPtr() + rows + 1),
        row_of(matrix.innerIndexPtr(), matrix.innerIndexPtr() + matrix.nonZeros()) {
    klu_defaults(&common);
    common.tol = 0;     // pivots on the diagonal, whatever the first numbers are
    common.scale = -1;  // none, nor a look for nonsense: the pattern is ours
    if (rows == 0) return;
    std::vector<double> values(matrix.valuePtr(), matrix.valuePtr() + matrix.nonZeros());
    // The order, found once from the places; then L and U, whose places stay too.
    symbolic = klu_analyze(rows, begins.data(), row_of.data(), &common);
    numeric = klu_factor(begins.data(), row_of.data(), values.data(), symbolic, &common);
    assert(numeric != nullptr);
  }
  ~Impl() {
    klu_free_numeric(&numeric, &common);
    klu_free_symbolic(&symbolic, &common);
  }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  int rows;
  std::vector<int> begins, row_of;
  klu_common common;
  klu_symbolic* symbolic = nullptr;
  klu_numeric* numeric = nullptr;
};

SparseLu::SparseLu(const Eigen::SparseMatrix<double>& matrix)
    : impl_(std::make_unique<Impl>(matrix)) {}
SparseLu::~SparseLu() = default;
SparseLu::SparseLu(SparseLu&&) noexcept = default;
SparseLu& SparseLu::operator=(SparseLu&&) noexcept = default;

void SparseLu::Factor(std::span<double> values) {
  Impl& lu = *impl_;
  assert(values.size() == lu.row_of.size());
  if (lu.rows == 0) return;
  // Other numbers at the same places: the order and the pivots of the first factors hold.
  [[maybe_unused]] const int done = klu_refactor(lu.begins.data(), lu.row_of.data(), values.data(),
                                                 lu.symbolic, lu.numeric, &lu.common);
  assert(done == 1 && lu.common.status == KLU_OK);
}

void SparseLu::Solve(std::span<double> columns) {
  Impl& lu = *impl_;
  // L, then U, in place, for all right-hand sides at once.
  if (lu.rows == 0 || columns.empty()) return;
  const int count = static_cast<int>(columns.size()) / lu.rows;
  assert(columns.size() == static_cast<std::size_t>(count) * static_cast<std::size_t>(lu.rows));
  klu_solve(lu.symbolic, lu.numeric, lu.rows, count, columns.data(), &lu.common);
}

}  // namespace drycrank::harness
