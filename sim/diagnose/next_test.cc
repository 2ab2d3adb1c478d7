// SPDX-License-Identifier: Apache-2.0
#include "diagnose/next_test.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include "diagnose/tests_worth_trying.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

constexpr double kLeastBits = 0.05;
constexpr double kApartZ = 4;
constexpr std::size_t kAsked = 24, kVoltsTried = 4;
constexpr double kLeastShare = 0.002;  // of the likeliest: who is asked about

double Bits(double p) { return p > 0 ? -p * std::log2(p) : 0; }

std::string PlugOf(const std::string& node) { return node.substr(0, node.find('.')); }

std::string Joined(const std::vector<std::string>& parts) {
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : " and ") + part;
  return text;
}

// Whom a test is to tell apart: the likeliest suspects, and a healthy bench while it may be one.
struct Asked {
  std::vector<std::size_t> suspects;  // indices; kHealthy
  std::vector<Suspected> faults;
  std::vector<int> repairs;
  std::vector<double> shares;  // their sum is 1
};
constexpr std::size_t kHealthy = static_cast<std::size_t>(-1);

Asked WhomToAsk(const Narrowed& narrowed) {
  Asked asked;
  const auto add = [&](std::size_t suspect, Suspected faults, int repair, double share) {
    asked.suspects.push_back(suspect);
    asked.faults.push_back(faults);
    asked.repairs.push_back(repair);
    asked.shares.push_back(share);
  };
  const double most = narrowed.suspects.empty() ? 0 : narrowed.suspects[0].share;
  for (std::size_t s = 0; s < narrowed.suspects.size() && asked.faults.size() < kAsked; ++s) {
    const Suspect& suspect = narrowed.suspects[s];
    if (suspect.share < kLeastShare * most) break;
    add(s, suspect.hypothesis.faults, suspect.repair, suspect.share);
  }
  if (narrowed.healthy_share > kLeastShare * most) add(kHealthy, {}, -1, narrowed.healthy_share);
  double total = 0;
  for (const double share : asked.shares) total += share;
  for (double& share : asked.shares) share /= total;
  return asked;
}

class Chooser {
 public:
  Chooser(MeasuredModel& model, const Narrowed& narrowed, const AtHand& at_hand)
      : model_(model),
        at_hand_(at_hand),
        asked_(WhomToAsk(narrowed)),
        scene_(SceneOf(model.bench(), asked_.faults)) {}

  std::vector<NextTest> Choose(std::size_t most) {
    if (asked_.faults.size() < 2) return {};
    for (const Test& test :
         VoltsTests(model_, asked_.faults, asked_.shares, at_hand_.cannot, kVoltsTried)) {
      Try(test);
    }
    for (const Test& test : OhmTests(model_, scene_, asked_.faults)) Try(test);
    for (const Test& test : AmpereTests(model_)) Try(test);
    for (const Test& test : BridgeTests(model_, scene_, asked_.faults)) Try(test);
    for (const std::string& plug : scene_.contact_plugs) Try(Jumps{plug});
    Unplugged();
    Held();
    std::ranges::stable_sort(tests_, std::ranges::greater{},
                             [](const NextTest& test) { return test.information / test.effort; });
    if (tests_.size() > most) tests_.resize(most);
    return std::move(tests_);
  }

 private:
  void Unplugged() {
    for (const std::string& plug : scene_.plugs) {
      TryReports({{plug}, "", "", model_.rest()}, 1.2);
    }
  }

  void Held() {
    const profile::Bench& bench = model_.bench();
    for (std::size_t i = 0; i < bench.stimuli.size(); ++i) {
      const profile::Stimulus& stimulus = bench.stimuli[i];
      for (const double share : {0.1, 0.5, 0.9}) {
        const double value =
            i == 0 ? 600 + share * 3000 : stimulus.min + share * (stimulus.max - stimulus.min);
        Stand stand{{}, "", "", model_.rest()};
        stand.situation.stimuli[i] = value;
        stand.situation.name = fmt::format("hold {} at {}", stimulus.name,
                                           WithUnit(fmt::format("{:.4g}", value), stimulus.unit));
        TryReports(stand, 1.2);
      }
    }
  }

  // The one report that tells most there.
  void TryReports(const Stand& stand, double effort) {
    const bool stopped = std::ranges::any_of(
        stand.pulled, [&](const std::string& plug) { return at_hand_.cannot.contains(plug); });
    if (stopped) return;
    std::vector<Predictions> rows;
    for (const Suspected& faults : asked_.faults) {
      rows.push_back(model_.PredictOn(stand, faults));
    }
    NextTest best;
    for (std::size_t r = 0; r < rows[0].size(); ++r) {
      const Reading& reading = model_.predictor().readings()[r];
      if (reading.turning && stand.situation.engine_rpm() <= 0) continue;
      std::vector<Foretold> foretold;
      for (const Predictions& row : rows) foretold.push_back({row[r], {}, 0});
      NextTest test = Weighed(SignalTest{stand, static_cast<int>(r)}, foretold, effort);
      if (test.information > best.information + 1e-9) best = std::move(test);
    }
    Keep(std::move(best));
  }

  void Try(const Test& test) {
    if (!IsReachable(test)) return;
    std::vector<Foretold> foretold;
    for (const Suspected& faults : asked_.faults) foretold.push_back(model_.Foretell(test, faults));
    Keep(Weighed(test, foretold, EffortOf(test)));
  }

  bool IsReachable(const Test& test) const {
    const auto can = [&](const std::string& node) {
      const std::string place = PlaceOf(node);
      return !at_hand_.cannot.contains(place) && !at_hand_.cannot.contains(PlugOf(place));
    };
    if (const auto* probing = std::get_if<Probing>(&test)) {
      return can(probing->plus) && can(probing->minus) && std::ranges::all_of(probing->pulled, can);
    }
    if (const auto* right = std::get_if<ComesRight>(&test)) {
      return can(right->stand.bridge_a) && can(right->stand.bridge_b);
    }
    const auto* jumps = std::get_if<Jumps>(&test);
    return jumps == nullptr || can(jumps->plug);
  }

  double EffortOf(const Test& test) const {
    if (std::holds_alternative<Jumps>(test)) return 0.6;
    if (std::holds_alternative<ComesRight>(test)) return 1.6;
    const auto* probing = std::get_if<Probing>(&test);
    if (probing == nullptr) return 1.2;
    const Probing* last =
        at_hand_.done.empty() ? nullptr : std::get_if<Probing>(&at_hand_.done.back());
    if (probing->meter == Meter::kAmperes) return 3;
    if (probing->meter == Meter::kOhms) {
      const bool key_off = last != nullptr && last->meter == Meter::kOhms;
      const std::size_t controller = ControllerPlugs(model_.bench()).size();
      const std::size_t more = std::max(probing->pulled.size(), controller) - controller;
      return (key_off ? 1.2 : 2) + 0.3 * static_cast<double>(more);
    }
    if (last == nullptr || last->meter == Meter::kOhms) return 1;
    if (last->plus == probing->plus) return 0.5;
    return PlugOf(last->plus) == PlugOf(probing->plus) ? 0.8 : 1;
  }

  NextTest Weighed(const Test& test, const std::vector<Foretold>& foretold, double effort) const {
    NextTest next;
    next.test = test;
    next.effort = effort;
    next.answers = AnswersOf(test, foretold);
    if (next.answers.size() < 2) return next;
    next.information = std::holds_alternative<Jumps>(test) ? InformationOfYes(foretold)
                                                           : InformationOf(next.answers);
    return next;
  }

  // Answers by likeness: suspects whose outcomes are near each other would show the same.
  std::vector<Answer> AnswersOf(const Test& test, const std::vector<Foretold>& foretold) const {
    std::vector<Answer> answers;
    for (std::size_t k = 0; k < foretold.size(); ++k) {
      auto home = std::ranges::find_if(answers, [&](const Answer& answer) {
        return model_.Apart(test, answer.foretold, foretold[k]) < kApartZ;
      });
      if (home == answers.end()) {
        answers.push_back({{}, "", 0, foretold[k], false});
        home = std::prev(answers.end());
      }
      home->share += asked_.shares[k];
      if (asked_.suspects[k] == kHealthy) {
        home->healthy_too = true;
      } else {
        home->suspects.push_back(k);
      }
    }
    return answers;
  }

  // H(answer) - sum over repairs of p(repair) H(answer | repair).
  double InformationOf(const std::vector<Answer>& answers) const {
    std::map<int, std::vector<double>> by_repair;
    for (std::size_t a = 0; a < answers.size(); ++a) {
      const auto add = [&](std::size_t k) {
        std::vector<double>& shares = by_repair[asked_.repairs[k]];
        shares.resize(answers.size(), 0);
        shares[a] += asked_.shares[k];
      };
      for (const std::size_t k : answers[a].suspects) add(k);
      if (answers[a].healthy_too) add(asked_.suspects.size() - 1);
    }
    double information = 0;
    for (const Answer& answer : answers) information += Bits(answer.share);
    for (const auto& [repair, shares] : by_repair) {
      double total = 0;
      for (const double share : shares) total += share;
      for (const double share : shares) information -= total * Bits(share / total);
    }
    return information;
  }

  double InformationOfYes(const std::vector<Foretold>& foretold) const {
    std::map<int, std::pair<double, double>> by_repair;  // share, and of yes
    double yes = 0;
    for (std::size_t k = 0; k < foretold.size(); ++k) {
      auto& [share, of_yes] = by_repair[asked_.repairs[k]];
      share += asked_.shares[k];
      of_yes += asked_.shares[k] * foretold[k].yes;
      yes += asked_.shares[k] * foretold[k].yes;
    }
    double information = Bits(yes) + Bits(1 - yes);
    for (const auto& [repair, shares] : by_repair) {
      const auto& [share, of_yes] = shares;
      information -= share * (Bits(of_yes / share) + Bits(1 - of_yes / share));
    }
    return information;
  }

  // With words, and the suspects by their own numbers.
  void Keep(NextTest test) {
    if (test.information < kLeastBits) return;
    if (std::ranges::find(at_hand_.done, test.test) != at_hand_.done.end()) return;
    test.what = Describe(model_, test.test);
    for (Answer& answer : test.answers) {
      answer.shows = model_.InWords(test.test, answer.foretold);
      for (std::size_t& suspect : answer.suspects) suspect = asked_.suspects[suspect];
    }
    std::ranges::stable_sort(test.answers, std::ranges::greater{}, &Answer::share);
    tests_.push_back(std::move(test));
  }

  MeasuredModel& model_;
  const AtHand& at_hand_;
  Asked asked_;
  Scene scene_;
  std::vector<NextTest> tests_;
};

std::string SideOf(const std::string& node) {
  if (node.ends_with("~")) return ", wire side of the plug";
  return "";
}

std::string Words(const MeasuredModel& model, const Probing& test) {
  const std::string place = PlaceOf(test.plus);
  const std::string step =
      test.situation.name == model.rest().name ? "" : ", in step " + test.situation.name;
  if (test.meter == Meter::kAmperes) {
    return fmt::format("amperes at {}, the meter in series{}", place, step);
  }
  if (test.meter == Meter::kVolts) {
    if (test.minus.empty()) return fmt::format("volts at {}{}{}", place, SideOf(test.plus), step);
    return fmt::format("volts from {} to {}{}{}", place, PlaceOf(test.minus), SideOf(test.plus),
                       step);
  }
  const std::string other =
      test.minus.empty() ? std::string("the battery's minus") : PlaceOf(test.minus);
  const bool at_device = !test.plus.ends_with("~") && test.plus.find('.') != std::string::npos;
  return fmt::format("ohms from {} to {}{}, key off, battery off{}", place, other,
                     at_device ? ", at the device's own pins" : SideOf(test.plus),
                     test.pulled.empty()
                         ? ", all plugs on"
                         : fmt::format(", {} {} pulled", test.pulled.size() == 1 ? "plug" : "plugs",
                                       Joined(test.pulled)));
}

std::string Words(const MeasuredModel& model, const SignalTest& test) {
  const std::string& name = Nth(model.predictor().readings(), test.reading).name;
  if (!test.stand.pulled.empty()) {
    return fmt::format("pull plug {}, key on, and read {}", Joined(test.stand.pulled), name);
  }
  if (!test.stand.bridge_a.empty()) {
    return fmt::format("bridge {} to {} and read {}", test.stand.bridge_a, test.stand.bridge_b,
                       name);
  }
  return fmt::format("{} and read {}", test.stand.situation.name, name);
}

std::string Words(const MeasuredModel& /*model*/, const ComesRight& test) {
  return fmt::format("bridge {} to {}, wire side, key on: do the wrong readings come right?",
                     test.stand.bridge_a, test.stand.bridge_b);
}

std::string Words(const MeasuredModel& /*model*/, const Jumps& test) {
  return fmt::format("move plug {} by hand, key on: does a reading jump?", test.plug);
}

}  // namespace

std::string PlaceOf(const std::string& node) { return node.substr(0, node.find('~')); }

std::vector<std::string> ControllerPlugs(const profile::Bench& bench) {
  std::vector<std::string> plugs;
  if (!bench.controller) return plugs;
  const profile::Controller& c = *bench.controller;
  const auto add = [&](const std::string& terminal) {
    const std::string plug = PlugOf(terminal);
    if (!plug.empty() && std::ranges::find(plugs, plug) == plugs.end()) plugs.push_back(plug);
  };
  add(c.supply);
  add(c.ground);
  for (const auto* list : {&c.more_supplies, &c.more_grounds, &c.sensor_grounds}) {
    for (const std::string& terminal : *list) add(terminal);
  }
  for (const profile::ReferenceOutput& output : c.references) add(output.terminal);
  for (const profile::InputCircuit& input : c.inputs) add(input.terminal);
  for (const profile::ControllerOutput& output : c.outputs) add(output.terminal);
  return plugs;
}

std::string Describe(const MeasuredModel& model, const Test& test) {
  return std::visit([&](const auto& kind) { return Words(model, kind); }, test);
}

std::vector<NextTest> NextTests(MeasuredModel& model, const Narrowed& narrowed,
                                const AtHand& at_hand, std::size_t most) {
  return Chooser(model, narrowed, at_hand).Choose(most);
}


std::vector<std::string> PulledForOhms(const profile::Bench& bench, const std::string& a,
                                       const std::string& b) {
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::BusNode& node : bus.nodes) {
      const bool is_pair = (a == node.high && b == node.low) || (a == node.low && b == node.high);
      if (is_pair) return {};
    }
  }
  return ControllerPlugs(bench);
}

}  // namespace drycrank::diagnose
