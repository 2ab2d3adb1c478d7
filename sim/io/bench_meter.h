// SPDX-License-Identifier: Apache-2.0
//
// A bench meter on TCP, read in the place of a person's eyes (protocol/scpi_meter.h). It is asked who it is, then
// one reading at a time; after each its list of errors is asked too. Ohms are asked for only where its volts say that
// there are none: a meter on ohms must meet no voltage.
//
// What it does not answer within kPatience is said and nothing is kept; the next question connects anew, so that a
// late answer is never taken for that of another question.
#ifndef DRYCRANK_IO_BENCH_METER_H_
#define DRYCRANK_IO_BENCH_METER_H_

#include <chrono>
#include <string>
#include <string_view>

#include "io/text_line.h"
#include "protocol/scpi_meter.h"

namespace drycrank::io {

class BenchMeter {
 public:
  static constexpr std::chrono::milliseconds kPatience{3000};
  static constexpr double kMostVoltsOnOhms = 0.1;
  static constexpr int kPort = 5025;  // of raw SCPI, by common practice, no source

  // "192.168.1.30:5025", "meter.local". Empty, or what is wrong with it.
  [[nodiscard]] std::string SetAddress(std::string_view text);
  void SetPatience(std::chrono::milliseconds patience) { patience_ = patience; }
  // Reaches it and asks who it is. Empty, or why not and what helps.
  [[nodiscard]] std::string Open();
  // Its own words of itself, one line; empty: it has never answered.
  const std::string& identity() const { return identity_; }

  struct [[nodiscard]] Reading {
    double value = 0;
    bool overload = false;
    std::string problem;  // empty: the others count
  };
  Reading Read(protocol::MeterQuantity quantity);

 private:
  Reading Ask(protocol::MeterQuantity quantity);
  Reading Silent(const std::string& why);
  std::string NextError();

  std::string host_;
  int port_ = kPort;
  std::chrono::milliseconds patience_ = kPatience;
  TextLine line_;
  std::string identity_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_BENCH_METER_H_
