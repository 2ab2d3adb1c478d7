// SPDX-License-Identifier: Apache-2.0
//
// Faults whose voltages ngspice has computed, not our own solver: the diagnosis finds them too. The
// kart's and the hill-climb car's benches, engine and axle standing still. ngspice is Debian's.
#include "tests/support/ngspice.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>

#include "diagnose/channels.h"
#include "diagnose/electrical.h"
#include "diagnose/rank.h"
#include "diagnose/unheard.h"
#include "harness/netlist.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "standin/conversion.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class NgspiceReadings {
 public:
  explicit NgspiceReadings(const std::string& bench)
      : walked_(bench),
        resting_(RestingOf(walked_)),
        predictor_(walked_.bench(), resting_),
        ranker_(walked_.bench(), predictor_),
        healthy_(walked_.bench(), resting_),
        channels_(walked_.bench()),
        reports_(walked_.bench(), predictor_.readings()) {}

  const profile::Bench& bench() const { return walked_.bench(); }
  Ranker& ranker() { return ranker_; }
  // What our own solver's volts lead to.
  Diagnosis FromOurs(const Hypothesis& h) {
    return ranker_.Rank(AsSeen(predictor_.Predict(h.faults)), {.doubles = false});
  }

  Observation Observe(const Hypothesis& h) {
    const auto display = reports_.MakeDisplay();
    ElectricalModel model(bench(), healthy_, h.faults);
    PredictedRows rows;
    for (const Situation& situation : resting_) {
      const ControllerValues values =
          channels_.Settle(VoltsOf(h, model, situation), model, situation);
      rows.push_back(reports_.All(values, situation, {}, display.get()));
    }
    return AsSeen(rows);
  }

  bool BlowsAFuse(const Hypothesis& h) {
    ElectricalModel model(walked_.bench(), healthy_, h.faults);
    model.SolveIn(std::size_t{0});
    return model.ShortAmperes() > kMostAmperes;
  }
  bool KeepsMessages(const Hypothesis& h) const { return predictor_.unheard().KeepsAny(h.faults); }

 private:
  // Engine and pulse sensors at rest: no source switches.
  static std::vector<Situation> RestingOf(const Walked& walked) {
    const std::vector<Situation>& all = walked.situations();
    std::vector<Situation> resting;
    for (const Situation& situation : all) {
      bool rests = situation.engine_rpm() == 0;
      for (const profile::Sensor& sensor : walked.bench().sensors) {
        const auto stimulus = static_cast<std::size_t>(sensor.stimulus);
        rests = rests && (!std::holds_alternative<profile::FrequencySensor>(sensor.model) ||
                          situation.stimuli[stimulus] == all[0].stimuli[stimulus]);
      }
      if (rests) resting.push_back(situation);
    }
    return resting;
  }

  static double Across(const std::map<std::string, double>& node_v, const harness::NodePair& pair) {
    const auto volts = [&](int node) {
      return node == 0 ? 0.0 : node_v.at(fmt::format("n{}", node));
    };
    return volts(pair.plus) - volts(pair.minus);
  }

  static std::vector<double> InputVolts(const harness::Topology& topology,
                                        const harness::DeviceValues& values, Electrical* also) {
    const auto answer = support::RunNgspice(harness::FormatNetlist(topology, values));
    EXPECT_FALSE(answer.node_v.empty()) << answer.log;
    if (also != nullptr) {
      also->supply_v = Across(answer.node_v, topology.controller_supply);
      for (const harness::NodePair& pair : topology.references) {
        also->reference_v.push_back(Across(answer.node_v, pair));
      }
    }
    std::vector<double> input_v;
    for (const harness::NodePair& pair : topology.inputs) {
      input_v.push_back(Across(answer.node_v, pair));
    }
    return input_v;
  }

  // Wheels stand still, each Hall sensor conducting or not; pulse sensors that run though the axle
  // does not are tried on as well.
  Electrical VoltsOf(const Hypothesis& h, const ElectricalModel& model,
                     const Situation& situation) const {
    std::vector<const profile::Fault*> pointers;
    for (const profile::Fault& fault : h.faults) pointers.push_back(&fault);
    const harness::Topology topology = harness::MakeTopology(bench(), pointers);
    harness::DeviceValues values = DevicesIn(bench(), situation, pointers);
    Electrical volts;
    volts.input_v = InputVolts(topology, values, &volts);
    const auto add = [&](std::size_t device, bool tried) {
      Reach reach{static_cast<int>(device), false, volts.input_v, {}};
      if (tried) {
        values[device] = 1;
        reach.on_v = InputVolts(topology, values, nullptr);
        values[device] = 0;
      }
      volts.reaches.push_back(reach);
    };
    for (std::size_t i = 0; i < bench().triggers.size(); ++i) {
      if (std::holds_alternative<profile::HallPickup>(bench().triggers[i].pickup)) add(i, true);
    }
    for (std::size_t i = 0; i < bench().sensors.size(); ++i) {
      if (!std::holds_alternative<profile::FrequencySensor>(bench().sensors[i].model)) continue;
      add(bench().triggers.size() + i, model.SourceIn(static_cast<int>(i), situation).hz > 0);
    }
    return volts;
  }

  Walked walked_;
  std::vector<Situation> resting_;
  Predictor predictor_;
  Ranker ranker_;
  HealthyElectrical healthy_;
  ChannelModel channels_;
  ReportModel reports_;
};

// Of each kind of harness fault that shows, one in so many. Two in a hundred may come second: at
// rest, without the bus saying which range fault it was, some look nearly the same.
void ExpectFound(const std::string& name, int one_in, int at_least) {
  NgspiceReadings ngspice(name);
  std::map<std::string, int> seen;
  int tried = 0, first = 0;
  for (const Hypothesis& h : ngspice.ranker().hypotheses()) {
    const auto edit =
        harness::EditOf(ngspice.bench(), harness::MakeTopology(ngspice.bench(), {}), h.faults);
    if (!edit || (edit->ports.empty() && edit->not_fitted.empty())) continue;
    if (seen[h.kind]++ % one_in != 0) continue;
    // The network here has no fuse, and a supply without limit; and no frames on its bus.
    if (ngspice.BlowsAFuse(h) || ngspice.KeepsMessages(h)) continue;
    const Diagnosis ours = ngspice.FromOurs(h);
    // At rest it shows nothing, or looks like something else, in our own network too.
    if (ours.healthy || !Holds(ours.groups[0], h)) continue;
    const Diagnosis theirs = ngspice.ranker().Rank(ngspice.Observe(h), {.doubles = false});
    ++tried;
    ASSERT_FALSE(theirs.groups.empty()) << Describe(ngspice.bench(), h);
    EXPECT_TRUE(theirs.explained) << Describe(ngspice.bench(), h);
    EXPECT_EQ(Describe(ngspice.bench(), theirs.groups[0].members[0].hypothesis),
              Describe(ngspice.bench(), ours.groups[0].members[0].hypothesis));
    first += Holds(theirs.groups[0], h);
  }
  EXPECT_GE(tried, at_least);
  EXPECT_GE(50 * first, 49 * tried);
}

TEST(DiagnosisFromNgspice, FindsTheFaultsOfTheKart) { ExpectFound("kart", 5, 30); }
TEST(DiagnosisFromNgspice, FindsTheFaultsOfTheHillClimbCar) { ExpectFound("hill_climb", 25, 12); }

}  // namespace
}  // namespace drycrank::diagnose
