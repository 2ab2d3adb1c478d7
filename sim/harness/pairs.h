// SPDX-License-Identifier: Apache-2.0
//
// Two edits at once, for every pair of thousands. Each edit is prepared alone, in each case, as
// what its ports do there: volts v, impedance D (M^-1 included), response R of the inputs; between
// two edits only the volts Z that a port's current makes at the other's nodes are needed. A pair is
// then
//
//   [D_a  Z_ab] [j_a]   [v_a]
//   [Z_ba D_b ] [j_b] = [v_b]        volts = volts0 - R_a j_a - R_b j_b
//
// at most four unknowns. Devices keep the states and laws of the healthy bench, so that this is for
// finding the pairs worth solving (variants.h), not for their answer. Z_ab is taken for Z_ba, which
// it is but for outputs that follow their supply.
//
// In a case some devices' laws are not those of the first one. The healthy bench has there A e = b
// for them (the rows of `e` in variants.h), and with a port A e + K j = b: so e = A^-1 b - F j with
// F = A^-1 K, and with C, R, u0 and Z as they are in variants.h
//
//   v = u0 - C A^-1 b      D = Z + M^-1 - C F      R of the case = R - B F
//   Z_ba = U_b'(W_a - X R_a) - C_b F_a             R_a: its rows of the devices' currents
//
// Memory: a number for each port and node; see Fits.
#ifndef DRYCRANK_HARNESS_PAIRS_H_
#define DRYCRANK_HARNESS_PAIRS_H_

#include <algorithm>
#include <cstddef>
#include <span>
#include <vector>

#include "harness/edit.h"
#include "harness/harness.h"
#include "harness/variants.h"

namespace drycrank::harness {

class Pairs {
 public:
  static constexpr std::size_t kMostPorts = 2;  // of one edit

  struct Cell {
    std::size_t which_case = 0;
    int input = 0;
  };

  // Edits with more ports than kMostPorts, a known current, or devices not fitted, are as no edit: see Holds. Cells
  // in the order of their cases. The Variants must outlive it.
  Pairs(const Variants& variants, std::span<const Edit> edits, std::span<const DeviceValues> cases,
        std::span<const Cell> cells);

  static bool Fits(const Variants& variants, std::size_t edits);
  static bool Holds(const Edit& edit) {
    return !edit.ports.empty() && edit.ports.size() <= kMostPorts && edit.not_fitted.empty() &&
           std::ranges::none_of(edit.ports, &Edit::Port::known);
  }

  // Volts of every cell with both edits; a == b: with the one. REQUIRES: volts.size() == cells.
  void Volts(std::size_t a, std::size_t b, std::span<float> volts) const;

 private:
  struct Place {  // of one edit in one case
    double v[kMostPorts] = {};
    double ohm[kMostPorts][kMostPorts] = {};  // D
  };
  struct Prepared {
    int ports = 0;
    Edit::Port port[kMostPorts];
    std::vector<Place> at;        // per case
    std::vector<double> node_v;   // per port and node: W - X R
    std::vector<double> felt;     // per case, port and changed device: C
    std::vector<double> caused;   // the same: F
    std::vector<float> cell_ohm;  // per port and cell: R of the case
  };

  void Prepare(const Edit& edit, Prepared& out) const;
  double Between(const Prepared& a, int port_a, const Prepared& b, int port_b,
                 std::size_t which) const;

  const Variants& variants_;
  std::vector<Cell> cells_;
  std::vector<Variant> cases_;              // the healthy bench in each
  std::vector<std::size_t> first_cell_;     // of each case, and the end
  std::vector<std::size_t> first_changed_;  // of each case's changed devices in `felt`, and the end
  std::vector<float> healthy_v_;            // per cell
  std::vector<Prepared> edits_;
  std::size_t nodes_ = 0;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_PAIRS_H_
