// SPDX-License-Identifier: Apache-2.0
#include "profile/wire_gauge.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace drycrank::profile {
namespace {

// Every row of tests/reference/wire_resistance.csv that the table is made from: AWG (ASTM B258) and
// IEC 60228 class 5-6. The file names the sources.
TEST(WireGauge, AgreesWithThePublishedTable) {
  std::ifstream file(DRYCRANK_TESTS_DIR "/reference/wire_resistance.csv");
  int rows = 0;
  for (std::string line; std::getline(file, line);) {
    std::vector<std::string> fields;
    std::istringstream stream(line);
    for (std::string field; std::getline(stream, field, ',');) fields.push_back(field);
    const bool is_awg = fields[0] == "AWG";
    if (!is_awg && !(fields[0] == "MM2" && fields[3] == "5-6")) continue;
    const auto gauge = FindWireGauge(fields[1] + (is_awg ? " AWG" : " mm2"));
    ASSERT_TRUE(gauge) << line;
    EXPECT_DOUBLE_EQ(gauge->area_mm2, std::stod(fields[2])) << line;
    EXPECT_DOUBLE_EQ(gauge->mohm_per_m, std::stod(fields[5])) << line;
    ++rows;
  }
  EXPECT_EQ(rows, 13);
  EXPECT_EQ(WireGaugeNames().size(), 13u);
}

TEST(WireGauge, IsReadInTheSpellingsOfTheTrade) {
  EXPECT_DOUBLE_EQ(FindWireGauge("0.5 mm²")->mohm_per_m, 39.0);
  EXPECT_DOUBLE_EQ(FindWireGauge("0.50mm2")->mohm_per_m, 39.0);
  EXPECT_DOUBLE_EQ(FindWireGauge("20 AWG")->mohm_per_m, 33.301);
  EXPECT_DOUBLE_EQ(FindWireGauge("20AWG")->area_mm2, 0.5176);
}

TEST(WireGauge, GuessesNoOtherSize) {
  EXPECT_FALSE(FindWireGauge("0.6 mm2"));
  EXPECT_FALSE(FindWireGauge("21 AWG"));
  EXPECT_FALSE(FindWireGauge("0.5"));
  EXPECT_FALSE(FindWireGauge("thin"));
}

}  // namespace
}  // namespace drycrank::profile
