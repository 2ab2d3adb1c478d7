// SPDX-License-Identifier: Apache-2.0
//
// Resistors and sources between numbered nodes, and the volts that they make: by Gauss, dense, with
// row pivots, or by ngspice. The earth is node -1 and has no volts.
#ifndef DRYCRANK_TESTS_SUPPORT_NODAL_ELEMENTS_H_
#define DRYCRANK_TESTS_SUPPORT_NODAL_ELEMENTS_H_

#include <cstddef>
#include <vector>

namespace drycrank::support {

inline constexpr int kEarth = -1;

class Elements {
 public:
  explicit Elements(int nodes) : nodes_(nodes) {}

  void Resistor(int a, int b, double ohm) { Share(a, b, kEarth, 0, ohm); }
  // `volts` behind `ohm`, plus at a.
  void Source(int a, int b, double volts, double ohm) {
    all_.push_back({a, b, kEarth, 0, volts, ohm});
  }
  // share * (supply - ground) behind `ohm`, plus at signal.
  void Share(int signal, int ground, int supply, double share, double ohm) {
    all_.push_back({signal, ground, supply, share, 0, ohm});
  }

  std::vector<double> SolveByGauss() const;
  std::vector<double> SolveByNgspice() const;

 private:
  // volts + share * (v(supply) - v(b)) behind `ohm`, plus at a.
  struct Element {
    int a, b, supply;
    double share, volts, ohm;
  };

  int nodes_;
  std::vector<Element> all_;
};

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_NODAL_ELEMENTS_H_
