// SPDX-License-Identifier: Apache-2.0
#include "tests/support/drawn_parts.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <map>
#include <regex>
#include <sstream>
#include <stdexcept>
#include <vector>

#include "types/random.h"

namespace drycrank::support {
namespace {

struct Line {
  std::string circuit, from, to, gauge;
  double length_m = 0;
  bool fitted = true;

  std::string Text() const {
    return fmt::format("  - {{circuit: {}, from: {}, to: {}, length_m: {}, gauge: {}{}}}\n", circuit,
                       from, to, length_m, gauge, fitted ? "" : ", fitted: false");
  }
};

Line Read(const std::string& text) {
  static const std::regex form(
      R"(  - \{circuit: (\S+), from: (\S+), to: (\S+), length_m: (\S+), gauge: ([^,}]+)(, fitted: false)?\})");
  std::smatch found;
  if (!std::regex_match(text, found, form)) throw std::logic_error("no wire: " + text);
  return {found[1], found[2], found[3], found[5], std::stod(found[4]), !found[6].matched};
}

class Parts {
 public:
  Parts(const std::string& yaml, std::uint64_t seed) : random_(seed, 77) {
    std::istringstream in(yaml);
    bool wires = false;
    for (std::string line; std::getline(in, line);) {
      if (wires && !line.starts_with("  - ")) wires = false;
      if (wires) {
        lines_.push_back(Read(line));
      } else {
        (wires_seen_ ? after_ : before_) += line + "\n";
      }
      if (line == "wires:") wires = wires_seen_ = true;
    }
    static const std::regex battery(R"(battery: \{plus: (\S+), minus: (\S+),)");
    std::smatch found;
    if (!std::regex_search(yaml, found, battery)) throw std::logic_error("no battery");
    plus_ = found[1];
    minus_ = found[2];
  }

  std::string Draw() {
    const std::size_t drawn = lines_.size();
    for (std::size_t i = 0; i < drawn; ++i) {
      if (!lines_[i].fitted) continue;
      const bool feed = lines_[i].circuit.starts_with("plus") || lines_[i].circuit.starts_with("feed");
      if (feed && relays_ < 2 && Chance(0.35)) Relay(i);
      if (lines_[i].circuit.starts_with("plus") && Chance(0.4)) Fuse(i);
      if (Chance(0.35)) InLine(i);
    }
    return Text();
  }

 private:
  double Real(double low, double high) { return low + (high - low) * random_.Uniform(); }
  bool Chance(double share) { return random_.Uniform() < share; }

  // The wire ends at `a` now; the piece beyond begins at `b`.
  void Cut(std::size_t i, const std::string& a, const std::string& b) {
    Line far = lines_[i];
    const double share = Real(0.2, 0.8);
    far.from = b;
    far.length_m *= 1 - share;
    lines_[i].to = a;
    lines_[i].length_m *= share;
    lines_.push_back(far);
  }

  void InLine(std::size_t i) {
    const std::string pin = fmt::format("BULK.{}", ++in_line_);
    Cut(i, pin, pin);
  }

  void Fuse(std::size_t i) {
    const std::string in = fmt::format("BOX.{}", fuse_pins_ + 1);
    const std::string out = fmt::format("BOX.{}", fuse_pins_ + 2);
    fuse_pins_ += 2;
    Cut(i, in, out);
    fuses_ += fmt::format("  fuse_{}: {{from: {}, to: {}, rating_a: {}, mohm: {}}}\n",
                          fuse_pins_ / 2, in, out, Real(5, 30), Real(2, 20));
  }

  void Relay(std::size_t i) {
    const std::string plug = fmt::format("K{}", ++relays_);
    const bool rests = Chance(0.25);
    const char* across[] = {"none", "diode", "resistor"};
    connectors_ += fmt::format("  {}: {{pins: [A, B, C, NO, NC]}}\n", plug);
    Cut(i, plug + ".C", plug + (rests ? ".NC" : ".NO"));
    if (Chance(0.5)) {  // which side is which is no matter to a contact
      std::swap(lines_[i].to, lines_.back().from);
    }
    const std::string from_plus = rests ? Pole(minus_, "minus") : Pole(plus_, "plus");
    const std::string coil = fmt::format("coil_{}", relays_);
    if (!rests && Chance(0.4)) {
      const std::string diode = fmt::format("D{}", relays_);
      connectors_ += fmt::format("  {}: {{pins: [A, K]}}\n", diode);
      diodes_ += fmt::format("  diode_{}: {{anode: {}.A, cathode: {}.K, forward_v: {}}}\n", relays_,
                             diode, diode, Real(0.5, 0.9));
      Wire(coil + "_feed", from_plus, diode + ".A");
      Wire(coil + "_plus", diode + ".K", plug + ".A");
    } else {
      Wire(coil + "_plus", from_plus, plug + ".A");
    }
    Wire(coil + "_minus", plug + ".B", Pole(minus_, "minus"));
    parts_ += fmt::format(
        "  relay_{}: {{coil_plus: {}.A, coil_minus: {}.B, common: {}.C, normally_open: {}.NO, "
        "normally_closed: {}.NC, coil_ohm: {}, pulls_in_v: {}, contact_ohm: {}, suppression: {}}}\n",
        relays_, plug, plug, plug, plug, plug, Real(60, 130), Real(5, 8), Real(0.003, 0.03),
        across[static_cast<int>(Real(0, 2.999))]);
  }

  void Wire(const std::string& circuit, const std::string& from, const std::string& to) {
    lines_.push_back({circuit, from, to, "0.75 mm2", Real(0.2, 2)});
  }

  // A splice at the battery's pole, put there when it is first asked for.
  std::string Pole(const std::string& terminal, const std::string& net) {
    std::string& splice = poles_[terminal];
    if (!splice.empty()) return splice;
    splice = net + "_POLE";
    for (Line& line : lines_) {
      if (line.from == terminal) line.from = splice;
      if (line.to == terminal) line.to = splice;
    }
    lines_.push_back({net + "_main", terminal, splice, "2.5 mm2", Real(0.2, 0.6)});
    return splice;
  }

  std::string Text() {
    std::string text = before_;
    if (in_line_ > 0) connectors_ += fmt::format("  BULK: {{pins: {}, in_line: true}}\n", in_line_);
    if (fuse_pins_ > 0) connectors_ += fmt::format("  BOX: {{pins: {}}}\n", fuse_pins_);
    text.insert(text.find("connectors:\n") + 12, connectors_);
    std::vector<std::string> splices;
    for (const auto& [terminal, splice] : poles_) splices.push_back(splice);
    const std::size_t at = text.find("splices: [");
    const std::string more = fmt::format("{}", fmt::join(splices, ", "));
    if (at != std::string::npos && !more.empty()) text.insert(at + 10, more + ", ");
    if (at == std::string::npos) {
      text.insert(text.find("wires:\n"), fmt::format("splices: [{}]\n", more));
    }
    for (const Line& line : lines_) text += line.Text();
    if (!fuses_.empty()) text += "fuses:\n" + fuses_;
    if (!parts_.empty()) text += "relays:\n" + parts_;
    if (!diodes_.empty()) text += "diodes:\n" + diodes_;
    return text + after_;
  }

  Random random_;
  std::string before_, after_;
  bool wires_seen_ = false;
  std::vector<Line> lines_;
  std::string plus_, minus_;
  std::map<std::string, std::string> poles_;
  int in_line_ = 0, fuse_pins_ = 0, relays_ = 0;
  std::string connectors_, fuses_, parts_, diodes_;
};

}  // namespace

std::string WithParts(const std::string& yaml, std::uint64_t seed) { return Parts(yaml, seed).Draw(); }

}  // namespace drycrank::support
