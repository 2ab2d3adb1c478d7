// SPDX-License-Identifier: Apache-2.0
//
// What the controller was seen to report, arranged for inference. A number is one draw with noise of
// its own; what is common to all that were read at one setting (the step of the signal, the error of
// the input at that voltage) is one draw for its block:
//
//   y = prediction + block + own      block ~ N(0, step^2 / 12 + (2 mV slope)^2)
//                                     own   ~ N(0, step^2 / 12 + (1.5 mV slope)^2)
//
// slope: of the channel's table where the number was read. A block is what has one reading, one
// healthy prediction and one number read. A state (a 0/1 signal, a fault code) is equal or not.
// What the display says is judged apart (shown.h).
#ifndef DRYCRANK_DIAGNOSE_FACTS_H_
#define DRYCRANK_DIAGNOSE_FACTS_H_

#include <set>
#include <span>
#include <string>
#include <vector>

#include "diagnose/predict.h"
#include "types/points.h"

namespace drycrank::diagnose {

struct Fact {
  std::size_t situation = 0;
  std::size_t reading = 0;
  std::size_t value = 0;  // of the controller's values
  double seen = 0;        // NaN: nothing came
  bool state = false;
  double low = 0, high = 0;  // what its signal can carry
  double span = 1;           // of what the reading can be at all
  double noise = 1;          // own
  int block = -1;            // of a number that came
};

struct Block {
  std::size_t situation = 0;  // where it was first read
  std::size_t reading = 0, value = 0;
  double common = 0;  // deviation of the draw for all of it
};

class Facts {
 public:
  // Both must outlive it. Readings that no message ever brought are left out, and so are channels in
  // `without`.
  Facts(const Predictor& predictor, const Observation& observed, const std::set<int>& without = {});

  const std::vector<Fact>& all() const { return facts_; }
  const std::vector<Block>& blocks() const { return blocks_; }
  std::size_t situations() const { return situations_; }
  std::size_t values() const { return names_.size(); }  // of the controller
  // Which of the controller's values says what is wrong with this one; -1: none.
  int FaultOf(std::size_t value) const { return fault_of_[value]; }
  // The number of what belongs together: a channel's value and fault; speed and position.
  int ChannelOf(std::size_t value) const { return channel_of_[value]; }
  int channels() const { return channels_; }
  const std::string& NameOf(std::size_t value) const { return names_[value]; }

  // What a fact would be; messages in `missing` do not come.
  Prediction At(const std::vector<ControllerValues>& rows, const Fact& fact,
                const std::set<std::string>* missing = nullptr) const;
  // Of what the controller has for its value.
  static Prediction Sent(const Prediction& value, const Fact& fact);

 private:
  void Name(const profile::Controller& controller);
  bool EverCame(std::size_t reading, const Observation& observed) const;
  void Add(std::size_t reading, std::size_t value, const Observation& observed);
  std::vector<const Points*> TablesOf(const std::string& channel) const;
  static double SlopeAt(std::span<const Points* const> tables, double value);

  const Predictor& predictor_;
  std::size_t situations_ = 0;
  std::vector<std::string> names_, messages_;  // of values; of readings
  std::vector<int> fault_of_, channel_of_;
  int channels_ = 0;
  std::vector<Fact> facts_;
  std::vector<Block> blocks_;
};

// Of each block its draw's deviation.
std::vector<double> CommonOf(const Facts& facts);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_FACTS_H_
