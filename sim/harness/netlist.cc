// SPDX-License-Identifier: Apache-2.0
#include "harness/netlist.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <iterator>

namespace drycrank::harness {
namespace {

std::string NodeOf(int node) { return node == 0 ? "0" : fmt::format("n{}", node); }

std::string Between(int plus, int minus) {
  if (minus == 0) return fmt::format("V({})", NodeOf(plus));
  if (plus == 0) return fmt::format("(-V({}))", NodeOf(minus));
  return fmt::format("V({},{})", NodeOf(plus), NodeOf(minus));
}

class Deck {
 public:
  void Title() {
    text_ = "* bench as resistive network\n";
    text_ += ".options reltol=1e-7 abstol=1e-14 vntol=1e-9 gmin=1e-15 itl1=500\n";
  }
  void Name(int node, const std::string& name) {
    Line(fmt::format("* {} = {}", NodeOf(node), name));
  }
  void Join(int a, int b, double ohm) {
    Line(fmt::format("R{} {} {} {}", ++count_, NodeOf(a), NodeOf(b), ohm));
  }
  void Drive(int plus, int minus, double volts, double ohm) {
    const int number = ++count_;
    Line(fmt::format("V{} s{} {} DC {}", number, number, NodeOf(minus), volts));
    Line(fmt::format("R{} {} s{} {}", number, NodeOf(plus), number, ohm));
  }
  // The current from plus to minus through the device, as an expression.
  void Draw(const Branch& branch, const std::string& amperes) {
    Line(fmt::format("B{} {} {} I = {}", ++count_, NodeOf(branch.plus), NodeOf(branch.minus),
                     amperes));
  }
  std::string End() { return std::move(text_) + ".op\n.end\n"; }

 private:
  void Line(const std::string& line) { text_ += line + "\n"; }

  std::string text_;
  int count_ = 0;
};

std::string IfSupplied(const Branch& branch, const std::string& then,
                       const std::string& otherwise) {
  return fmt::format("({} >= {} ? {} : {})", Between(branch.supply, branch.ground),
                     branch.min_supply_v, then, otherwise);
}

std::string TransistorCurrent(const Branch& branch, double value) {
  const std::string v = Between(branch.plus, branch.minus);
  const std::string off = fmt::format("{}/{}", v, branch.off_ohm);
  const std::string on = fmt::format("{}/{}", v, branch.ohm);
  const std::string diode =
      fmt::format("({0} < {1} ? ({0} - {1})/{2} : 0)", v, -branch.diode_v, kDiodeOhm);
  return (value > 0.5 ? IfSupplied(branch, on, off) : off) + " + " + diode;
}

// Closed or open as its coil says, either way round.
std::string ContactCurrent(const Branch& branch) {
  const std::string v = Between(branch.plus, branch.minus);
  const std::string closed = fmt::format("{}/{}", v, branch.ohm);
  const std::string open = fmt::format("{}/{}", v, branch.off_ohm);
  return fmt::format("(abs({}) >= {} ? {} : {})", Between(branch.supply, branch.ground),
                     branch.min_supply_v, branch.rests_closed ? open : closed,
                     branch.rests_closed ? closed : open);
}

std::string DiodeCurrent(const Branch& branch) {
  const std::string v = Between(branch.plus, branch.minus);
  return fmt::format("({0} > {1} ? ({0} - {1})/{2} : {0}/{3})", v, branch.diode_v, kDiodeOhm,
                     branch.off_ohm);
}

std::string LimitedCurrent(const Branch& branch) {
  return fmt::format("({0} < {1} ? ({0} - {1})/{2} : ({0} - {1})/{3}) - {4}",
                     Between(branch.plus, branch.minus), branch.diode_v, kLimitOhm, branch.ohm,
                     branch.limit_a);
}

std::string OutputCurrent(const Branch& branch, const std::string& open_circuit_v) {
  const std::string v = Between(branch.plus, branch.minus);
  return IfSupplied(branch, fmt::format("({} - ({}))/{}", v, open_circuit_v, branch.ohm),
                    fmt::format("{}/{}", v, branch.off_ohm));
}

void Add(const Branch& branch, double value, Deck& deck) {
  switch (branch.kind) {
    case BranchKind::kNotFitted:
      break;
    case BranchKind::kResistor:
      deck.Join(branch.plus, branch.minus, std::max(value, kLeastOhm));
      break;
    case BranchKind::kEmf:
      deck.Drive(branch.plus, branch.minus, value, branch.ohm);
      break;
    case BranchKind::kVoltage:
      deck.Draw(branch, OutputCurrent(branch, fmt::format("{}", value)));
      break;
    case BranchKind::kFraction:
      deck.Draw(branch, OutputCurrent(branch, fmt::format("{} * {}", value,
                                                          Between(branch.supply, branch.ground))));
      break;
    case BranchKind::kTransistor:
      deck.Draw(branch, TransistorCurrent(branch, value));
      break;
    case BranchKind::kContact:
      deck.Draw(branch, ContactCurrent(branch));
      break;
    case BranchKind::kDiode:
      deck.Draw(branch, DiodeCurrent(branch));
      break;
    case BranchKind::kLimited:
      deck.Draw(branch, LimitedCurrent(branch));
      break;
  }
}

}  // namespace

std::string FormatNetlist(const Topology& topology, std::span<const double> values) {
  Deck deck;
  deck.Title();
  const Network& network = topology.network;
  for (std::size_t n = 0; n < network.names().size(); ++n) {
    deck.Name(static_cast<int>(n), network.names()[n]);
    if (n > 0) deck.Join(static_cast<int>(n), 0, kLeakOhm);
  }
  for (const Resistor& r : network.resistors()) deck.Join(r.a, r.b, r.ohm);
  for (const Source& s : network.sources()) deck.Drive(s.plus, s.minus, s.volts, s.ohm);
  for (std::size_t d = 0; d < topology.branches.size(); ++d) {
    Add(topology.branches[d], d < values.size() ? values[d] : 0, deck);
  }
  return deck.End();
}

}  // namespace drycrank::harness
