// SPDX-License-Identifier: Apache-2.0
#include "schedule/cells.h"

#include <gtest/gtest.h>

namespace drycrank::schedule {
namespace {

double Length(std::string_view text, std::string_view unit = "", bool comma_is_decimal = true) {
  const auto read = ReadLength(text, unit, comma_is_decimal);
  return read.value ? *read.value : -1;
}

TEST(Cells, ReadLengthsAsPeopleWriteThem) {
  EXPECT_DOUBLE_EQ(Length("1.7"), 1.7);
  EXPECT_DOUBLE_EQ(Length(" 1,7 m"), 1.7);
  EXPECT_DOUBLE_EQ(Length("1700", "mm"), 1.7);
  EXPECT_DOUBLE_EQ(Length("85 cm", "mm"), 0.85);  // the cell's own unit wins
  EXPECT_DOUBLE_EQ(Length("67 in"), 1.7018);      // 1 in = 0.0254 m (NIST SP 811)
  EXPECT_DOUBLE_EQ(Length("67\""), 1.7018);
  EXPECT_DOUBLE_EQ(Length("1,250", "m", true), 1.25);
  EXPECT_DOUBLE_EQ(Length("0,250", "m", false), 0.25);  // no number has its thousands like that
}

TEST(Cells, RefuseLengthsThatCannotBeMeant) {
  EXPECT_EQ(ReadLength("1,700", "mm", false).remedy, "write 1.700 or 1700");
  EXPECT_NE(ReadLength("1700", "", true).remedy.find("heading"), std::string::npos);
  for (const char* text : {"long", "1.7 kg", "-1", "0", "nan", "1e9", "300 m", "1,7,3"}) {
    EXPECT_FALSE(ReadLength(text, "", true).value) << text;
  }
}

TEST(Cells, ReadGaugesAsPeopleWriteThem) {
  for (const char* text : {"0.5", "0,5", "0,50 mm²", "0.5mm2", "0.5 sqmm"}) {
    EXPECT_EQ(ReadGauge(text, "").value.value_or(""), "0.5 mm2") << text;
  }
  for (const char* text : {"20", "20 AWG", "AWG 20", "awg20", "#20", "20ga"}) {
    EXPECT_EQ(ReadGauge(text, "").value.value_or(""), "20 AWG") << text;
  }
  EXPECT_EQ(ReadGauge("16", "AWG").value.value_or(""), "16 AWG");
  for (const char* text : {"2/0 AWG", "AWG 2/0", "2/0awg"})
    EXPECT_EQ(ReadGauge(text, "").value.value_or(""), "2/0 AWG") << text;
  EXPECT_EQ(ReadGauge("0.6", "").value.value_or(""), "0.6 mm2");
  EXPECT_EQ(ReadGauge("21", "").value.value_or(""), "21 AWG");
  EXPECT_EQ(ReadGauge("20", "mm2").value.value_or(""), "20 mm2");
  EXPECT_EQ(ReadGauge("16", "mm2").value.value_or(""), "16 mm2");
}

TEST(Cells, GuessNoGauge) {
  for (const char* text : {"0.05", "30 AWG", "thin", "", "0.5 kg", "AWG 0.5", "AWG AWG"}) {
    EXPECT_FALSE(ReadGauge(text, "").value) << text;
  }
}

TEST(Cells, MakeNamesThatTheProfileTakes) {
  EXPECT_EQ(PlugName(" Motor-SG 1 "), "Motor-SG_1");
  EXPECT_EQ(PlugName("Öldruck"), "Oeldruck");
  EXPECT_EQ(PlugName("!!"), "");
  EXPECT_EQ(CircuitName("12V +"), "c_12V_plus");
  EXPECT_EQ(CircuitName("coolant-signal"), "coolant_signal");
  EXPECT_EQ(CircuitName("crank-"), "crank_minus");
}

TEST(Cells, SplitATerminalAtItsPin) {
  const auto split = [](std::string_view text) {
    const auto both = SplitTerminal(text);
    return both ? both->plug + "|" + both->pin : std::string("none");
  };
  EXPECT_EQ(split("CLT.1"), "CLT|1");
  EXPECT_EQ(split("CLT-1"), "CLT|1");
  EXPECT_EQ(split("MOT-ECU-12"), "MOT-ECU|12");
  EXPECT_EQ(split("ECU:A3"), "ECU|A3");
  EXPECT_EQ(split("ECU Pin 7"), "ECU|7");
  EXPECT_EQ(split("ECU / 7"), "ECU|7");
  EXPECT_EQ(split("S_GND"), "none");
  EXPECT_EQ(split("BAT-GROUND"), "none");
  EXPECT_EQ(split(".1"), "none");
}

}  // namespace
}  // namespace drycrank::schedule
