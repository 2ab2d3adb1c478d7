// SPDX-License-Identifier: Apache-2.0
//
// SAE J1979 / ISO 15031-5: parameters and worked answers in tests/reference/obd_pids.csv and
// obd_transport.yaml.
#include "protocol/obd.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "tests/bus/build_signal.h"
#include "tests/protocol/fake_source.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using Text = std::vector<std::uint8_t>;

Text Ask(AnswerSource& source, const std::string& request, bool functional = true) {
  Text out(512);
  out.resize(AnswerObd(source, Bytes(request), functional, out));
  return out;
}

// Columns: pid,name,bytes,formula,min,max,unit,example_response,example_value,how
std::vector<std::vector<std::string>> PublishedPids() {
  std::vector<std::vector<std::string>> rows;
  std::ifstream in(DRYCRANK_TESTS_DIR "/reference/obd_pids.csv");
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || line.starts_with("pid,")) continue;
    std::vector<std::string> row;
    std::istringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');) row.push_back(cell);
    rows.push_back(row);
  }
  return rows;
}

TEST(Obd, EveryPublishedParameterBothWays) {
  int seen = 0;
  for (const auto& row : PublishedPids()) {
    const int number = std::stoi(row[0], nullptr, 16);
    const profile::Pid* pid = profile::FindPid(number);
    ASSERT_NE(pid, nullptr) << row[0];
    const Text answer = Bytes(row[7]);
    EXPECT_NEAR(ReadPid(answer, *pid).value_or(-1), std::stod(row[8]), 6e-4) << row[0];
    EXPECT_EQ(pid->name, row[1]);
    EXPECT_NEAR(DecodePid(*pid, Bytes("0000")), std::stod(row[4]), 1e-9) << row[0];
    EXPECT_NEAR(DecodePid(*pid, Bytes("FFFF")), std::stod(row[5]), 1e-9) << row[0];
    FakeSource source;
    source.values[number] = std::stod(row[8]);
    EXPECT_EQ(Ask(source, "01" + row[0]), answer) << row[0];
    ++seen;
  }
  EXPECT_EQ(seen, 13);
}

TEST(Obd, ValuesAreHeldWithinTheirBytes) {
  const profile::Pid& coolant = *profile::FindPid(0x05);
  EXPECT_EQ(EncodePid(coolant, 500), 255u);
  EXPECT_EQ(EncodePid(coolant, -300), 0u);
  EXPECT_EQ(EncodePid(coolant, std::nan("")), 0u);
}

// Published bitmap 18 3F 80 01 of 04 05 0B..11 and 20; here with 01, which every controller has
// (bit 31), so 98 3F 80 01. 20 is set since 42 is there, which is bit 33 - 0x22 in the third.
TEST(Obd, SupportedParametersAreABitmap) {
  const YAML::Node example =
      YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/obd_transport.yaml")["examples"][2];
  FakeSource source;
  for (const YAML::Node& pid : example["pids"]) {
    if (pid.as<int>() != 0x20) source.values[pid.as<int>()] = 0;
  }
  source.values[0x42] = 13.8;
  Text expected = Bytes("4100" + example["pid00_bytes"].as<std::string>());
  expected[2] |= 0x80;
  EXPECT_EQ(Ask(source, "0100"), expected);
  EXPECT_EQ(Ask(source, "0120"), Bytes("412000000001"));  // only 40
  EXPECT_EQ(Ask(source, "0140"), Bytes("414040000000"));  // 42: second bit from the top
  EXPECT_EQ(Ask(source, "0160"), Text());
}

TEST(Obd, SeveralParametersInOneRequest) {
  FakeSource source;
  source.values = {{0x05, 83}, {0x0C, 1726}};
  EXPECT_EQ(Ask(source, "01050C0D"), Bytes("41057B0C1AF8"));
  EXPECT_DOUBLE_EQ(ReadPid(Bytes("41057B0C1AF8"), *profile::FindPid(0x0C)).value_or(0), 1726);
  EXPECT_FALSE(ReadPid(Bytes("41057B"), *profile::FindPid(0x0C)).has_value());
  EXPECT_FALSE(ReadPid(Bytes("410C1A"), *profile::FindPid(0x0C)).has_value());
  EXPECT_EQ(Ask(source, "01"), Text());
  EXPECT_EQ(Ask(source, "0105050505050505"), Text());  // seven
}

// P0118 is 01 18 and U0100 is C1 00 (SAE J2012: P C B U are the top two bits).
TEST(Obd, StoredAndPendingCodesAreListed) {
  FakeSource source;
  EXPECT_EQ(Ask(source, "03"), Bytes("4300"));
  source.troubles = {{0x0118, kAllStatus}, {0xC100, kPending}};
  EXPECT_EQ(Ask(source, "03"), Bytes("43010118"));
  EXPECT_EQ(Ask(source, "07"), Bytes("47020118C100"));
  EXPECT_EQ(Ask(source, "0101"), Bytes("410181000000"));  // lamp on, one stored
  const Text list = Bytes("47020118C100");
  const auto codes = ReadCodes(list);
  ASSERT_TRUE(codes.has_value());
  EXPECT_TRUE(codes->Has(0xC100));
  EXPECT_FALSE(codes->Has(0x0113));
  EXPECT_FALSE(ReadCodes(Bytes("430201")).has_value());
  EXPECT_EQ(Ask(source, "04"), Bytes("44"));
  EXPECT_EQ(Ask(source, "03"), Bytes("4300"));
}

TEST(Obd, VehicleIdentificationNumberIsSent) {
  FakeSource source;
  EXPECT_EQ(Ask(source, "0900"), Bytes("490040000000"));
  Text expected = Bytes("490201");
  expected.insert(expected.end(), source.vehicle_id.begin(), source.vehicle_id.end());
  EXPECT_EQ(Ask(source, "0902"), expected);
  EXPECT_EQ(Ask(source, "0904"), Text());
}

TEST(Obd, UnknownIsRefusedOnlyWhenAskedAlone) {
  FakeSource source;
  EXPECT_EQ(Ask(source, "0105", true), Text());
  EXPECT_EQ(Ask(source, "0105", false), Bytes("7F0112"));
  EXPECT_EQ(Ask(source, "08", false), Bytes("7F0811"));
  EXPECT_EQ(ReadNegative(Bytes("7F0112"))->code, kSubFunctionNotSupported);
  EXPECT_FALSE(ReadNegative(Bytes("41057B")).has_value());
}

TEST(Obd, TroubleCodesHaveTheirNames) {
  EXPECT_EQ(profile::ParseTroubleCode("P0118"), 0x0118);
  EXPECT_EQ(profile::ParseTroubleCode("U0100"), 0xC100);
  EXPECT_EQ(profile::ParseTroubleCode("B1A2F"), 0x9A2F);
  EXPECT_EQ(profile::TroubleCodeText(0x0118), "P0118");
  EXPECT_EQ(profile::TroubleCodeText(0x9A2F), "B1A2F");
  for (const char* bad : {"", "P011", "P01188", "X0118", "P4118", "P01g8", "p0118"}) {
    EXPECT_FALSE(profile::ParseTroubleCode(bad).has_value()) << bad;
  }
}

}  // namespace
}  // namespace drycrank::protocol
