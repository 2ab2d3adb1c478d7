// SPDX-License-Identifier: Apache-2.0
//
// What the pins of the controller see over a whole run, as states of the bench's devices: the bench's
// own plant goes through the scenario once, and each combination of device values that it meets is a
// state, solved anew for each fault. A fault of the harness changes no device value, so that the
// states, and when each is on, are the same for all of them.
//
//   device values ─ harness with faults ─► input_v, supply_v, reference_v     per state
//   wheels        ─ coils               ─► gain, volts at an input per volt of EMF
//
// Two faults with the same EdgeKey make the same edges at every input that counts edges: where
// no coil reaches it, all levels lie on the same side of its comparator's two thresholds; where one
// does, volts and gain are those of the healthy bench (within kSameCoil) or of the other fault (to a
// millionth); and the controller has its supply in the same states.
#ifndef DRYCRANK_DIAGNOSE_PIN_STATES_H_
#define DRYCRANK_DIAGNOSE_PIN_STATES_H_

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <vector>

#include "harness/harness.h"
#include "harness/variants.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/scenario_file.h"
#include "types/time.h"

namespace drycrank::diagnose {

// A difference of volts below this moves no reading by what could be noticed.
inline constexpr double kSameReadingV = 1e-9;

class PinStates {
 public:
  // `begins_ns`: of each step of the scenario, and the end. The bench must outlive it.
  PinStates(const profile::Bench& bench, const profile::Scenario& scenario,
            std::span<const TimeNs> begins_ns, std::uint64_t seed);

  // So many states that a run would be no dearer: nothing is to be solved.
  bool too_many() const { return too_many_; }
  std::size_t states() const { return values_.size(); }
  std::size_t samples() const { return of_sample_.size(); }
  std::size_t StateAt(std::size_t sample) const { return of_sample_[sample]; }

  // All states behind one set of faults.
  class Rows {
   public:
    double input_v(std::size_t state, int input) const { return at(state)[input]; }
    double supply_v(std::size_t state) const { return at(state)[inputs_]; }
    std::span<const double> reference_v(std::size_t state) const {
      return {at(state) + inputs_ + 1, static_cast<std::size_t>(references_)};
    }
    double gain(std::size_t state, int coil, int input) const {
      return at(state)[inputs_ + 1 + references_ + coil * inputs_ + input];
    }

   private:
    friend class PinStates;
    const double* at(std::size_t state) const { return numbers_.data() + state * width_; }

    std::vector<double> numbers_;
    std::size_t width_ = 0;
    int inputs_ = 0, references_ = 0;
  };
  // By a network of its own, to the bit what a run's plant gets. Nothing where the network has no state
  // that agrees with itself. May be called by several threads at once, as the next.
  std::optional<Rows> Solve(std::span<const profile::Fault> faults) const;
  // Sooner, as a change of the healthy network: good enough for an EdgeKey.
  std::optional<Rows> Estimate(std::span<const profile::Fault> faults) const;

  std::vector<std::int64_t> EdgeKey(const Rows& rows, const Rows& healthy) const;
  // Is this input's voltage the same in all states that are sampled?
  bool SameAt(int input, const Rows& a, const Rows& b) const;
  bool SameSupply(const Rows& a, const Rows& b) const;
  bool SameReferences(const Rows& a, const Rows& b) const;

 private:
  class Spy;
  struct EdgeInput {
    int input = -1;
    double high_v = 0, low_v = 0;  // where its comparator goes high and low
  };
  Rows NoRows() const;
  void Fill(std::size_t state, auto& network, Rows& rows) const;
  void AddKey(const EdgeInput& at, std::size_t state, const Rows& rows, const Rows& healthy,
              std::vector<std::int64_t>& key) const;
  template <class Differs>
  bool SameInAll(Differs differs) const;

  const profile::Bench& bench_;
  bool too_many_ = false;
  std::vector<harness::DeviceValues> values_;  // per state
  std::vector<bool> sampled_;                  // per state
  std::vector<std::uint32_t> of_sample_;
  std::vector<EdgeInput> edge_inputs_;
  std::vector<int> coils_;  // devices
  std::optional<harness::Variants> variants_;
  mutable std::mutex mutex_;  // of the variants, which remember places
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_PIN_STATES_H_
