// SPDX-License-Identifier: Apache-2.0
#include "harness/pairs.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr std::size_t kMostNumbers = 64 << 20;
constexpr int kMostUnknowns = 2 * static_cast<int>(Pairs::kMostPorts);

// Gauss with the largest pivot, in place; false when singular.
bool SolveSmall(double (&m)[kMostUnknowns][kMostUnknowns + 1], int size) {
  for (int k = 0; k < size; ++k) {
    int pivot = k;
    for (int row = k + 1; row < size; ++row) {
      if (std::abs(m[row][k]) > std::abs(m[pivot][k])) pivot = row;
    }
    if (m[pivot][k] == 0) return false;
    if (pivot != k) {
      for (int col = k; col <= size; ++col) std::swap(m[k][col], m[pivot][col]);
    }
    for (int row = k + 1; row < size; ++row) {
      const double factor = m[row][k] / m[k][k];
      for (int col = k; col <= size; ++col) m[row][col] -= factor * m[k][col];
    }
  }
  for (int k = size - 1; k >= 0; --k) {
    for (int col = k + 1; col < size; ++col) m[k][size] -= m[k][col] * m[col][size];
    m[k][size] /= m[k][k];
  }
  return true;
}

}  // namespace

bool Pairs::Fits(const Variants& variants, std::size_t edits) {
  return variants.topology().network.names().size() * edits * kMostPorts <= kMostNumbers;
}

Pairs::Pairs(const Variants& variants, std::span<const Edit> edits,
             std::span<const DeviceValues> cases, std::span<const Cell> cells)
    : variants_(variants),
      cells_(cells.begin(), cells.end()),
      edits_(edits.size()),
      nodes_(variants.topology().network.names().size()) {
  // The healthy bench in each case: its volts, and the factors of A.
  first_changed_.push_back(0);
  for (const DeviceValues& values : cases) {
    Variant& healthy = cases_.emplace_back(variants, Edit{});
    healthy.Solve(values);
    first_changed_.push_back(first_changed_.back() + healthy.changed_.size());
  }
  // Cells per case, then their sums: where each case's cells begin.
  first_cell_.assign(cases.size() + 1, 0);
  for (const Cell& cell : cells_) {
    ++first_cell_[cell.which_case + 1];
    healthy_v_.push_back(static_cast<float>(cases_[cell.which_case].InputVoltage(cell.input)));
  }
  for (std::size_t c = 0; c < cases.size(); ++c) first_cell_[c + 1] += first_cell_[c];
  for (std::size_t e = 0; e < edits.size(); ++e) {
    if (Holds(edits[e])) Prepare(edits[e], edits_[e]);
  }
}

void Pairs::Prepare(const Edit& edit, Prepared& out) const {
  const Variants& base = variants_;
  const auto ports = static_cast<Eigen::Index>(edit.ports.size());
  out.ports = static_cast<int>(ports);
  std::copy(edit.ports.begin(), edit.ports.end(), out.port);
  // What is the same in all cases: R, C, u0, Z + M^-1 of the first one, and W - X R.
  Eigen::MatrixXd node_v = base.ResponseOf(edit);
  const Variants::Response response = base.Respond(base.first_, edit, node_v);
  node_v -= base.node_ohm_ * response.by_port.topRows(base.devices_);
  out.node_v.assign(node_v.data(), node_v.data() + node_v.size());
  out.at.resize(cases_.size());
  const std::size_t changed_in_all = first_changed_.back();
  out.felt.resize(changed_in_all * edit.ports.size());
  out.caused.resize(out.felt.size());
  out.cell_ohm.resize(cells_.size() * edit.ports.size());
  for (std::size_t c = 0; c < cases_.size(); ++c) {
    const Variant& healthy = cases_[c];
    const auto changed = static_cast<Eigen::Index>(healthy.changed_.size());
    // The first case's, where no law is another.
    Eigen::MatrixXd felt(ports, changed), caused(changed, ports);
    Eigen::VectorXd v = response.port_v;
    Eigen::MatrixXd ohm = response.port_ohm;
    Eigen::MatrixXd by_port =
        response.by_port.bottomRows(response.by_port.rows() - 2 * base.devices_);
    if (changed > 0) {
      // C of the changed devices, and K, which becomes F.
      for (Eigen::Index k = 0; k < changed; ++k) {
        const int d = Nth(healthy.changed_, k);
        const Variant::Step step = healthy.StepOf(d);
        caused.row(k) = step.ohm * response.by_port.row(d) +
                        step.fraction * response.by_port.row(base.devices_ + d);
        felt.col(k) = response.port_by_emf.col(d);
      }
      caused = healthy.factors_.solve(caused).eval();
      // v, D and R of this case.
      v -= felt * healthy.unknown_;
      ohm -= felt * caused;
      for (Eigen::Index k = 0; k < changed; ++k) {
        const int d = Nth(healthy.changed_, k);
        by_port -= base.first_.by_emf.col(d).tail(by_port.rows()) * caused.row(k);
      }
    }
    // Kept port by port, so that a pair reads straight on.
    for (Eigen::Index f = 0; f < ports; ++f) {
      const auto port = static_cast<std::size_t>(f);
      out.at[c].v[f] = v[f];
      for (Eigen::Index g = 0; g < ports; ++g) out.at[c].ohm[g][f] = ohm(g, f);
      for (Eigen::Index k = 0; k < changed; ++k) {
        const std::size_t at =
            port * changed_in_all + first_changed_[c] + static_cast<std::size_t>(k);
        out.felt[at] = felt(f, k);
        out.caused[at] = caused(k, f);
      }
      for (std::size_t cell = first_cell_[c]; cell < first_cell_[c + 1]; ++cell) {
        out.cell_ohm[port * cells_.size() + cell] =
            static_cast<float>(by_port(cells_[cell].input, f));
      }
    }
  }
}

// Z_ba: volts at port_b per ampere through port_a.
double Pairs::Between(const Prepared& a, int port_a, const Prepared& b, int port_b,
                      std::size_t which) const {
  const double* node_v = a.node_v.data() + static_cast<std::size_t>(port_a) * nodes_;
  const Edit::Port& at = b.port[port_b];
  double ohm = node_v[at.nodes.plus] - node_v[at.nodes.minus] -
               (node_v[at.less.plus] - node_v[at.less.minus]);
  const std::size_t all = first_changed_.back();
  const double* caused = a.caused.data() + static_cast<std::size_t>(port_a) * all;
  const double* felt = b.felt.data() + static_cast<std::size_t>(port_b) * all;
  for (std::size_t k = first_changed_[which]; k < first_changed_[which + 1]; ++k) {
    ohm -= felt[k] * caused[k];
  }
  return ohm;
}

void Pairs::Volts(std::size_t a, std::size_t b, std::span<float> volts) const {
  const Prepared& one = edits_[a];
  const Prepared& other = edits_[b];
  const int ports_b = a == b ? 0 : other.ports, size = one.ports + ports_b;
  std::copy(healthy_v_.begin(), healthy_v_.end(), volts.begin());
  for (std::size_t c = 0; c < cases_.size(); ++c) {
    // [D Z; Z D | v]
    double m[kMostUnknowns][kMostUnknowns + 1];
    for (int f = 0; f < one.ports; ++f) {
      m[f][size] = one.at[c].v[f];
      for (int g = 0; g < one.ports; ++g) m[g][f] = one.at[c].ohm[g][f];
      for (int g = 0; g < ports_b; ++g) {
        m[one.ports + g][f] = m[f][one.ports + g] = Between(one, f, other, g, c);
      }
    }
    for (int f = 0; f < ports_b; ++f) {
      m[one.ports + f][size] = other.at[c].v[f];
      for (int g = 0; g < ports_b; ++g) m[one.ports + g][one.ports + f] = other.at[c].ohm[g][f];
    }
    // j, and what it takes from the volts of the case's cells; without an answer they stay.
    if (!SolveSmall(m, size)) continue;
    const auto take = [&](const Prepared& edit, int ports, int first) {
      for (int f = 0; f < ports; ++f) {
        const auto ampere = static_cast<float>(m[first + f][size]);
        const float* ohm = edit.cell_ohm.data() + static_cast<std::size_t>(f) * cells_.size();
        for (std::size_t cell = first_cell_[c]; cell < first_cell_[c + 1]; ++cell) {
          volts[cell] -= ohm[cell] * ampere;
        }
      }
    };
    take(one, one.ports, 0);
    take(other, ports_b, one.ports);
  }
}

}  // namespace drycrank::harness
