// SPDX-License-Identifier: Apache-2.0
//
// A conversation at the terminal: the next test, the reading, what is left, until one repair is named.
// Each reading is kept before the next question (measurement_book.h). With a meter that can be read, a hand puts
// the probes, and Enter reads it; what it does not give may be typed.
#ifndef DRYCRANK_TOOLS_DIAGNOSE_QUESTIONS_H_
#define DRYCRANK_TOOLS_DIAGNOSE_QUESTIONS_H_

#include <string>
#include <vector>

#include "diagnose/narrowed.h"
#include "diagnose/next_test.h"
#include "report/what_is_left.h"
#include "tools/measurement_book.h"

namespace drycrank::io {
class BenchMeter;
}

namespace drycrank::tools {

// A diagnosis, and the readings that narrow it down.
class Case {
 public:
  // All must outlive it.
  Case(const profile::Bench& bench, diagnose::Predictor& predictor,
       const diagnose::Observation& observed, const diagnose::Diagnosis& diagnosis,
       MeasurementBook& book);

  // Everything in the book, read and weighed. Empty, or the line that cannot be read any more.
  [[nodiscard]] std::string Weigh();
  // Read, kept and weighed; empty, or what is wrong with it (and at which column).
  struct [[nodiscard]] Taken {
    std::string problem;
    int column = 1;
    bool not_kept = false;  // the disk, not the words
  };
  // `meter`: what it was read from; empty: somebody typed it.
  Taken Take(const std::string& said, const std::string& by, const std::string& meter = "");

  std::vector<diagnose::NextTest> Tests(std::size_t most);

  const profile::Bench& bench() const { return bench_; }
  MeasurementBook& book() { return book_; }
  diagnose::MeasuredModel& model() { return model_; }
  const diagnose::Narrowed& narrowed() const { return narrowed_; }
  const std::vector<report::GivenReading>& given() const { return given_; }
  // Not now, but perhaps later: not proposed again in this conversation.
  void Skip(const diagnose::Test& test) { skipped_.push_back(test); }

 private:
  const profile::Bench& bench_;
  const diagnose::Diagnosis& diagnosis_;
  MeasurementBook& book_;
  diagnose::MeasuredModel model_;
  diagnose::Repairs repairs_;
  diagnose::Narrowed narrowed_;
  diagnose::AtHand at_hand_;
  std::vector<report::GivenReading> given_;
  std::vector<diagnose::Test> skipped_;
};

// On standard output and input. `meter`: read on Enter; nullptr: there is none. Empty, or why it ended before
// its end.
std::string AskAtTheBench(Case& at_bench, const std::string& by, int columns,
                          io::BenchMeter* meter = nullptr);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DIAGNOSE_QUESTIONS_H_
