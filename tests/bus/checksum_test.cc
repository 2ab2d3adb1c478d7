// SPDX-License-Identifier: Apache-2.0
#include "bus/checksum.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <string>

#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

YAML::Node Published() { return YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/crc.yaml"); }

std::vector<std::uint8_t> CheckInput() {
  const std::string digits = "123456789";
  return {digits.begin(), digits.end()};
}

// CRC RevEng catalogue: "check" is the CRC of the ASCII digits 1 to 9.
TEST(Checksum, MatchesTheCatalogue) {
  int seen = 0;
  for (const YAML::Node& entry : Published()["catalogue"]) {
    const auto check = entry["check"].as<std::uint32_t>();
    if (entry["name"].as<std::string>() == "CRC-8/SAE-J1850") {
      EXPECT_EQ(Crc8SaeJ1850(CheckInput()), check);
      ++seen;
    } else if (entry["name"].as<std::string>() == "CRC-8/AUTOSAR") {
      EXPECT_EQ(Crc8Autosar(CheckInput()), check);
      ++seen;
    }
  }
  EXPECT_EQ(seen, 2);
}

// AUTOSAR, Specification of CRC Routines: vectors of Crc_CalculateCRC8 and Crc_CalculateCRC8H2F.
TEST(Checksum, MatchesTheAutosarVectors) {
  const YAML::Node published = Published();
  int seen = 0;
  for (const auto& vector : published["autosar_vectors"]) {
    const std::vector<std::uint8_t> data = Bytes(vector.first.as<std::string>());
    EXPECT_EQ(Crc8SaeJ1850(data), vector.second[0].as<int>()) << vector.first;
    EXPECT_EQ(Crc8Autosar(data), vector.second[1].as<int>()) << vector.first;
    ++seen;
  }
  EXPECT_EQ(seen, 7);
}

TEST(Checksum, OneBitChangesIt) {
  std::vector<std::uint8_t> data = CheckInput();
  data[4] ^= 0x10;
  EXPECT_NE(Crc8SaeJ1850(data), 0x4B);
  EXPECT_NE(Crc8Autosar(data), 0xDF);
}

}  // namespace
}  // namespace drycrank::bus
