// SPDX-License-Identifier: Apache-2.0
//
// Fuses against their loads, their wires and a short. Loads by
//   I = V / (ohm of the load + series_ohm of the supply + wires and fuses there and back)
// each for itself, relays pulled in; the largest current that can be, since what loads share takes volts
// from both. A load that has no way to a ground (a pin of the controller switches it: coils, injectors)
// is on for a part of the time, and counts in no sum. A short is at the load's terminals, the ohm of the
// load 0. Contacts are left out: some mohm when new, more with age, and the short then draws less.
// A wire and its fuse, by IEC 60364-4-43 clause 433.1 (*from memory, not looked up again*):
//   rating <= what the wire bears,   what blows the fuse for sure <= 1.45 * that
// Of a blade fuse, 135 %, the second follows from the first.
#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>

#include "profile/bench.h"
#include "schedule/blade_fuse.h"
#include "schedule/check_parts.h"
#include "schedule/wire_current.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

// All common practice, no source, but kMostLoad: ISO 8820-3, the current that a fuse bears for 100 h.
constexpr double kUsualLoad = 0.8, kMostLoad = 1.1;
constexpr double kLateS = 5;           // a wire is hot by then
constexpr double kRoundedRows = 1.05;  // whole amperes of wire_current.h

struct Consumer {
  std::string title, plus, minus;
  double ohm = 0, inrush_a = 0, inrush_s = 0;
};

// One consumer and its way from the supply and back.
struct Fed {
  Consumer consumer;
  std::vector<int> there;
  double volts = 0, way_ohm = 0;
  bool is_on = false;  // all the time; else way_ohm is that of the way there alone

  double Amperes() const { return is_on ? volts / (consumer.ohm + way_ohm) : 0; }
};

std::string Seconds(double s) {
  if (s >= 3600) return fmt::format("{:g} h", s / 3600);
  return fmt::format("{:g} s", s);
}

class FuseCheck {
 public:
  explicit FuseCheck(Check& check) : check_(check), bench_(SoundBench(check)) {}

  void Run() {
    if (std::ranges::none_of(check_.schedule.wires, &ScheduleWire::IsFuse)) return;
    for (const profile::Load& load : bench_.loads) {
      Follow({"load " + load.name, load.plus, load.minus, load.ohm, load.inrush_a,
              load.inrush_ms * 1e-3});
    }
    if (const auto& ecu = bench_.controller) {
      Follow({"the controller", ecu->supply, ecu->ground, ecu->supply_ohm});
    }
    for (const auto& [fuse, behind] : behind_) {
      Continuous(fuse, behind);
      for (const Fed* fed : behind) Inrush(fuse, behind, *fed);
    }
    for (const Fed& fed : fed_) Guarded(fed);
    for (const auto& [fuse, below] : below_) WiresBelow(fuse, below);
  }

 private:
  using Behind = std::vector<const Fed*>;

  void Follow(Consumer consumer) {
    for (const profile::Supply& supply : bench_.supplies) {
      const int net = check_.nets.Of(supply.plus);
      if (net < 0 || check_.nets.Of(consumer.plus) != net || check_.broken_nets.contains(net))
        continue;
      Fed fed{std::move(consumer), {}, supply.voltage_v, supply.series_ohm};
      fed.there = check_.nets.Way(supply.plus, fed.consumer.plus);
      const std::vector<int> back = check_.nets.Way(fed.consumer.minus, supply.minus);
      fed.is_on = !back.empty();
      if (AddOhms(fed.there, fed.way_ohm) && AddOhms(back, fed.way_ohm)) Keep(fed);
      return;
    }
  }

  // False: a wire there is wrong, and that was said.
  bool AddOhms(const std::vector<int>& way, double& ohm) const {
    for (const int i : way) {
      const profile::Wire* made = Made(bench_, check_.Wire(i));
      if (made == nullptr) return false;
      ohm += made->Ohm();
    }
    return true;
  }

  void Keep(const Fed& fed) {
    const Fed& kept = fed_.emplace_back(fed);
    for (const int i : kept.there) {
      if (check_.Wire(i).IsFuse()) behind_[i].push_back(&kept);
    }
  }

  static double Sum(const Behind& behind) {
    double ampere = 0;
    for (const Fed* fed : behind) ampere += fed->Amperes();
    return ampere;
  }

  std::string FuseTitle(int fuse) const {
    return fmt::format("fuse {} ({:g} A)", check_.Wire(fuse).circuit.text,
                       check_.Wire(fuse).fuse_a);
  }
  bool IsBlade(int fuse) const { return check_.Wire(fuse).fuse_a <= kMostBladeA; }

  void Add(FindingKind kind, int fuse, std::string what, std::string remedy, std::vector<int> wires,
           std::vector<std::string> ends) {
    wires.insert(wires.begin(), fuse);
    check_.Add(kind, check_.Wire(fuse).place, std::move(what), std::move(remedy), wires,
               std::move(ends));
  }

  void Continuous(int fuse, const Behind& behind) {
    const double ampere = Sum(behind), load = ampere / check_.Wire(fuse).fuse_a;
    if (load <= kUsualLoad) return;
    std::vector<std::string> parts, ends;
    for (const Fed* fed : behind) {
      if (fed->Amperes() < 0.01 * ampere) continue;
      parts.push_back(fmt::format("{} {:.3g} A", fed->consumer.title, fed->Amperes()));
      ends.push_back(fed->consumer.plus);
    }
    const auto rating = UsualRating(ampere, kUsualLoad);
    Add(load > kMostLoad ? kFuseOverloaded : kFuseNearRating, fuse,
        fmt::format("{} carries {:.3g} A, {:.0f} % of its rating, with all loads on: {}",
                    FuseTitle(fuse), ampere, 100 * load, Listed(parts)),
        rating ? fmt::format("{:g} A, if the wires behind it bear that; or two fuses", *rating)
               : std::string("share the loads among several fuses"),
        {}, ends);
  }

  // What the others take flows on meanwhile.
  void Inrush(int fuse, const Behind& behind, const Fed& fed) {
    const Consumer& consumer = fed.consumer;
    if (consumer.inrush_a <= 0 || !IsBlade(fuse)) return;
    const double ampere = Sum(behind) - fed.Amperes() + consumer.inrush_a;
    const double load = ampere / check_.Wire(fuse).fuse_a;
    const BlowingTime time = BlowingTimeOf(load);
    const bool ends = consumer.inrush_s > 0;
    if (ends ? consumer.inrush_s < time.least_s : load <= kMostLoad) return;
    Add(kFuseMayBlow, fuse,
        fmt::format(
            "{} may blow when {} starts: {:.3g} A, {:.0f} % of its rating, {}; it bears that "
            "for {} (ISO 8820-3)",
            FuseTitle(fuse), consumer.title, ampere, 100 * load,
            ends ? "for " + Seconds(consumer.inrush_s) : "for as long as it stalls",
            Seconds(time.least_s)),
        "a larger one, if the wires behind it bear that; a stall that lasts it should end", {},
        {consumer.plus});
  }

  // The wires behind the smallest fuse so far, and a short at their end.
  void Guarded(const Fed& fed) {
    int fuse = -1;
    for (const int i : fed.there) {
      const bool is_fuse = check_.Wire(i).IsFuse();
      if (is_fuse && (fuse < 0 || check_.Wire(i).fuse_a < check_.Wire(fuse).fuse_a)) fuse = i;
      if (!is_fuse && fuse >= 0 && IsBelow(fuse, i)) below_[fuse].insert(i);
    }
    if (fuse >= 0 && IsBlade(fuse)) Short(fuse, fed);
  }

  double AreaOf(int wire) const { return Made(bench_, check_.Wire(wire))->area_mm2; }

  bool IsBelow(int fuse, int wire) const {
    const double most_a = MostAmperes(AreaOf(wire));
    return IsBlade(fuse) && !check_.Wire(wire).gauge.text.empty() && most_a > 0 &&
           check_.Wire(fuse).fuse_a > kRoundedRows * most_a;
  }

  void WiresBelow(int fuse, const std::set<int>& below) {
    const int thinnest = *std::ranges::min_element(below, {}, [&](int i) { return AreaOf(i); });
    const double most_a = MostAmperes(AreaOf(thinnest));
    std::vector<std::string> others;
    for (const int i : below) {
      if (i != thinnest) others.push_back(check_.Wire(i).circuit.text);
    }
    const auto rating = LargestRating(kRoundedRows * most_a);
    Add(kWireBelowFuse, fuse,
        fmt::format("{} is larger than the {:.2g} A that {} of {} bears, and lets {:.3g} A through "
                    "for up to 600 s (135 %, ISO 8820-3){}",
                    FuseTitle(fuse), most_a, Title(check_.Wire(thinnest)),
                    check_.Wire(thinnest).gauge.text, kBlowsForSure * check_.Wire(fuse).fuse_a,
                    others.empty() ? "" : "; too thin as well: " + Listed(others)),
        rating ? fmt::format("a fuse of {:g} A at most, or thicker wires", *rating)
               : std::string("thicker wires"),
        {below.begin(), below.end()}, {});
  }

  void Short(int fuse, const Fed& fed) {
    const double ampere = fed.volts / fed.way_ohm, load = ampere / check_.Wire(fuse).fuse_a;
    const BlowingTime time = BlowingTimeOf(load);
    if (time.most_s && *time.most_s <= kLateS) return;
    const Consumer& consumer = fed.consumer;
    std::string what = fmt::format(
        "a short at {} ({}) draws {:.3g} A through {:.3g} mΩ, {:.0f} % of {}: ", consumer.plus,
        consumer.title, ampere, 1e3 * fed.way_ohm, 100 * load, FuseTitle(fuse));
    what += time.most_s ? fmt::format("it may take {} to blow (ISO 8820-3)", Seconds(*time.most_s))
                        : "it need never blow (ISO 8820-3)";
    Add(time.most_s ? kShortBlowsLate : kShortDoesNotBlow, fuse, what,
        "thicker or shorter wires, or a smaller fuse", {}, {consumer.plus, consumer.minus});
  }

  Check& check_;
  const profile::Bench bench_;
  std::deque<Fed> fed_;
  std::map<int, Behind> behind_;        // by fuse
  std::map<int, std::set<int>> below_;  // by fuse, the wires that bear less
};

}  // namespace

void CheckFuses(Check& check) { FuseCheck(check).Run(); }

}  // namespace drycrank::schedule
