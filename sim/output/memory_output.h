// SPDX-License-Identifier: Apache-2.0
//
// The in-memory twin of an output: keeps what it was given, and is what it was last told to be. One
// that is not armed takes nothing.
#ifndef DRYCRANK_OUTPUT_MEMORY_OUTPUT_H_
#define DRYCRANK_OUTPUT_MEMORY_OUTPUT_H_

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "output/output.h"

namespace drycrank::output {

class MemoryOutput : public Output {
 public:
  // Keeps so many; one more is a failure.
  explicit MemoryOutput(std::vector<Ability> abilities, std::size_t most = 10'000)
      : abilities_(std::move(abilities)), most_(most) {}

  std::string Description() const override { return "memory"; }
  std::span<const Ability> abilities() const override { return abilities_; }
  std::string Open() override;
  std::string Arm() override;
  void Give(const Given& given) override;
  void Beat(TimeNs now_ns) override { beat_ns_ = now_ns; }
  void Disarm() override { armed_ = false; }
  std::string failure() const override { return failure_; }

  // As the world does: from now on it fails.
  void Break(std::string why) {
    failure_ = std::move(why);
    Disarm();
  }

  bool armed() const { return armed_; }
  const std::vector<Given>& given() const { return given_; }
  TimeNs beat_ns() const { return beat_ns_; }

 private:
  std::vector<Ability> abilities_;
  std::size_t most_;
  bool open_ = false, armed_ = false;
  std::vector<Given> given_;
  TimeNs beat_ns_ = -1;
  std::string failure_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_MEMORY_OUTPUT_H_
