// SPDX-License-Identifier: Apache-2.0
#include "tests/support/nodal_elements.h"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <stdexcept>
#include <string>
#include <utility>

#include "tests/support/ngspice.h"

namespace drycrank::support {
namespace {

// G v = i, rows and columns without the earth.
class Equations {
 public:
  explicit Equations(std::size_t nodes) : n_(nodes), g_(nodes * nodes, 0), i_(nodes, 0) {}

  void Add(int row, int column, double siemens) {
    if (row != kEarth && column != kEarth) At(row, column) += siemens;
  }
  void Inject(int node, double ampere) {
    if (node != kEarth) i_[static_cast<std::size_t>(node)] += ampere;
  }

  std::vector<double> Solve() {
    for (std::size_t k = 0; k < n_; ++k) {
      Pivot(k);
      for (std::size_t row = k + 1; row < n_; ++row) {
        const double factor = g_[row * n_ + k] / g_[k * n_ + k];
        if (factor == 0) continue;
        for (std::size_t c = k; c < n_; ++c) g_[row * n_ + c] -= factor * g_[k * n_ + c];
        i_[row] -= factor * i_[k];
      }
    }
    for (std::size_t k = n_; k-- > 0;) {
      for (std::size_t c = k + 1; c < n_; ++c) i_[k] -= g_[k * n_ + c] * i_[c];
      i_[k] /= g_[k * n_ + k];
    }
    return i_;
  }

 private:
  double& At(int row, int column) {
    return g_[static_cast<std::size_t>(row) * n_ + static_cast<std::size_t>(column)];
  }
  void Pivot(std::size_t k) {
    std::size_t best = k;
    for (std::size_t row = k + 1; row < n_; ++row) {
      if (std::abs(g_[row * n_ + k]) > 1.5 * std::abs(g_[best * n_ + k])) best = row;
    }
    if (best == k) return;
    for (std::size_t c = k; c < n_; ++c) std::swap(g_[k * n_ + c], g_[best * n_ + c]);
    std::swap(i_[k], i_[best]);
  }

  std::size_t n_;
  std::vector<double> g_, i_;
};

std::string Named(int node) { return node == kEarth ? "0" : fmt::format("n{}", node); }

}  // namespace

std::vector<double> Elements::SolveByGauss() const {
  Equations e(static_cast<std::size_t>(nodes_));
  for (const Element& at : all_) {
    e.Add(at.a, at.a, 1 / at.ohm);
    e.Add(at.b, at.b, 1 / at.ohm);
    e.Add(at.a, at.b, -1 / at.ohm);
    e.Add(at.b, at.a, -1 / at.ohm);
    for (const auto& [row, sign] : {std::pair{at.a, 1.0}, std::pair{at.b, -1.0}}) {
      e.Inject(row, sign * at.volts / at.ohm);
      e.Add(row, at.supply, -sign * at.share / at.ohm);
      e.Add(row, at.b, sign * at.share / at.ohm);
    }
  }
  return e.Solve();
}

std::vector<double> Elements::SolveByNgspice() const {
  std::string deck = "* a bench\n";
  auto line = std::back_inserter(deck);
  for (std::size_t i = 0; i < all_.size(); ++i) {
    const Element& at = all_[i];
    const std::string a = Named(at.a), b = Named(at.b), between = fmt::format("m{}", i);
    const bool source = at.volts != 0, controlled = at.share != 0;
    fmt::format_to(line, "R{} {} {} {:.17g}\n", i, a, source || controlled ? between : b, at.ohm);
    if (source) fmt::format_to(line, "V{} {} {} {:.17g}\n", i, between, b, at.volts);
    if (controlled) {
      fmt::format_to(line, "E{} {} {} {} {} {:.17g}\n", i, between, b, Named(at.supply), b,
                     at.share);
    }
  }
  const NgspiceResult result = RunNgspice(deck + ".op\n.end\n");
  if (result.node_v.empty()) throw std::runtime_error("ngspice found none:\n" + result.log);
  std::vector<double> volts;
  for (int node = 0; node < nodes_; ++node) volts.push_back(result.node_v.at(Named(node)));
  return volts;
}

}  // namespace drycrank::support
