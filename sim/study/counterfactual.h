// SPDX-License-Identifier: Apache-2.0
//
// What a run would have reported with something broken, moment by moment, from the bench as drawn.
// At standstill the network and the channels tell (diagnose/predict.h). While the engine turns, a dead
// trigger input tells by its kind (dead_inputs.h), and the rest is played, which costs a thousand times
// as much: for whoever has no other evidence.
#ifndef DRYCRANK_STUDY_COUNTERFACTUAL_H_
#define DRYCRANK_STUDY_COUNTERFACTUAL_H_

#include <memory>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "diagnose/predict.h"
#include "profile/fault.h"
#include "study/moments.h"

namespace drycrank::study {

class Counterfactual {
 public:
  // Both outlive it. REQUIRES: bench.controller.
  Counterfactual(const profile::Bench& bench, const std::vector<Moment>& moments);

  // Those of the buses, then some that stand on none (signal.bus -1): "edges.NAME" at each trigger input,
  // and "sync_state" where no message carries it.
  const std::vector<diagnose::Reading>& readings() const { return readings_; }
  // Prepares these moments together; cheaper than one by one.
  void Prepare(const std::vector<std::size_t>& moments);

  // Faults, all at once, in the moments they are asked for. The Counterfactual must outlive it.
  class Trial {
   public:
    Trial(Counterfactual& all, std::vector<profile::Fault> faults)
        : all_(all), faults_(std::move(faults)) {}
    Trial(Counterfactual& all, const profile::Fault& fault)
        : Trial(all, std::vector<profile::Fault>{fault}) {}

    // Readings that are not as on the healthy bench. REQUIRES: the moment was prepared.
    // Of a turning moment: what the same moment would report at standstill, and what dead inputs
    // and a missing supply make of the rest.
    std::vector<diagnose::Change> Changes(std::size_t moment);
    // Of a turning moment, played; nothing when no trigger input sees a difference.
    std::vector<diagnose::Change> Played(std::size_t moment);
    // In the moment asked last, has the controller its supply? Then it fires, whether or not it is heard.
    bool Runs() const { return runs_; }
    // Could playing show another value of this reading? Speed comes of the crank alone.
    bool MayMove(int reading);

   private:
    const diagnose::Electrical& Broken();
    void AddTurning(const Moment& moment, const diagnose::Electrical& broken,
                    const diagnose::Electrical& whole,
                    std::vector<diagnose::Change>& changes) const;

    void AddDeadEdges(const std::vector<bool>& was, const std::vector<bool>& dead,
                      std::vector<diagnose::Change>& changes) const;

    Counterfactual& all_;
    const std::vector<profile::Fault> faults_;
    std::vector<std::pair<diagnose::Predictor*, std::unique_ptr<diagnose::Trial>>> trials_;
    std::unique_ptr<diagnose::ElectricalModel> model_;
    std::vector<bool> moved_;  // per trigger channel, once asked
    bool runs_ = true;
  };

  // Does it move an input of the controller, or its supply, by what could be noticed? In the first
  // moment, outputs on and off; a device that the fault cuts off may still do so in another.
  bool Moves(const profile::Fault& fault);
  // Of the healthy bench; of a turning moment only once it has been played for a trial: what a dead
  // input makes of it needs no number to compare with. REQUIRES: the moment was prepared.
  const diagnose::Prediction* Healthy(std::size_t moment, int reading) const;
  // The same, played when need be.
  const diagnose::Prediction& HealthyPlayed(std::size_t moment, int reading);
  // Is the reading sent by the controller?
  bool IsControllers(int reading) const;
  // Is it on no bus?
  bool IsAtPins(int reading) const;
  // Does the controller say nothing at all? A display then keeps what it last heard.
  bool IsSilence(const std::vector<diagnose::Change>& changes) const;

 private:
  struct Place {
    diagnose::Predictor* predictor = nullptr;
    std::size_t index = 0;
  };
  diagnose::Predictor& First();
  const diagnose::Predictions& HealthyTurning(std::size_t moment);
  const diagnose::Prediction& HealthyAtPins(std::size_t moment, const std::string& carries) const;

  const profile::Bench& bench_;
  const std::vector<Moment>& moments_;
  std::vector<diagnose::Reading> readings_;
  std::vector<std::unique_ptr<diagnose::Predictor>> predictors_;
  std::vector<Place> places_;  // per moment
  std::vector<std::optional<diagnose::Predictions>> healthy_turning_;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_COUNTERFACTUAL_H_
