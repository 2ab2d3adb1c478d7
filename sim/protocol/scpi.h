// SPDX-License-Identifier: Apache-2.0
//
// Programmable instruments by lines of text: IEEE 488.2 (common commands, *IDN?) and SCPI-1999 (volume
// 2: SOURce, OUTPut, MEASure, SYSTem; volume 1: short and long forms, SYSTem:ERRor), as far as a
// supply and a meter need it. From memory.
//
//   request    VOLT 13.8          a command has no answer; whether it was taken says SYST:ERR?
//              SYST:ERR?          an answer is one line: 0,"No error"
//
// A keyword may be written short (capitals) or long: OUTPut is OUTP and output, nothing between.
#ifndef DRYCRANK_PROTOCOL_SCPI_H_
#define DRYCRANK_PROTOCOL_SCPI_H_

#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace drycrank::protocol {

// Is `text` this header? `pattern` as "[SOURce:]VOLTage", "MEASure:CURRent?"; parts in brackets may be
// left out.
bool IsHeader(std::string_view text, std::string_view pattern);

// A number as IEEE 488.2 writes it (NR1, NR2, NR3), nothing else. 9.9E37 and more is "no reading".
std::optional<double> ScpiNumber(std::string_view text);
inline constexpr double kNoReading = 9.9e37;

// -222,"Data out of range": code and text; 0 is none.
struct ScpiError {
  int code = 0;
  std::string text;
};
std::optional<ScpiError> ParseScpiError(std::string_view line);

// What a supply is told so that it gives `volts`, at most `amperes`: the limit first, then the volts, then
// the output. Each is followed by the question whether it was taken.
std::vector<std::string> SupplyOn(double volts, double amperes);
inline constexpr std::string_view kOutputOff = "OUTP OFF";
// A boolean is answered with 1 or 0 (SCPI-1999, volume 1, 7.3; from memory); some say OFF: common practice, no source.
inline constexpr std::string_view kAskOutput = "OUTP?";
constexpr bool SaysOff(std::string_view answer) { return answer == "0" || answer == "OFF"; }
inline constexpr std::string_view kAskError = "SYST:ERR?";

// Twin of a supply with a load of so many ohm, and of a meter at its terminals. Lines in, lines out.
class ScpiSupply {
 public:
  struct Limits {
    double volts = 32, amperes = 5;
  };
  ScpiSupply(std::string identity, Limits limits, double load_ohm)
      : identity_(std::move(identity)), limits_(limits), load_ohm_(load_ohm) {}

  // A line, without its end; commands in it are parted by semicolons. The answer without its end; nothing: it
  // asked nothing.
  std::optional<std::string> Take(std::string_view line);

  bool on() const { return on_; }
  double set_volts() const { return volts_; }
  double limit_amperes() const { return amperes_; }
  // At its terminals; the current limit holds.
  double Volts() const;
  double Amperes() const;
  void SetLoad(double ohm) { load_ohm_ = ohm; }

 private:
  std::optional<std::string> Do(std::string_view header, std::string_view value);
  std::optional<std::string> Ask(std::string_view header);
  void Set(double& what, std::string_view value, double most);
  void Switch(std::string_view value);
  void Reset();
  void Refuse(int code, const char* text);
  std::string NextError();

  std::string identity_;
  Limits limits_;
  double load_ohm_;
  double volts_ = 0, amperes_ = 0;
  bool on_ = false;
  std::deque<ScpiError> errors_;
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_SCPI_H_
