// SPDX-License-Identifier: Apache-2.0
//
// Layouts against published scalings: SAE J1939-71 parameters and recorded frames (little-endian)
// and OBD service 01 responses, SAE J1979 / ISO 15031-5 (big-endian). Sources in tests/reference/.
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <fstream>
#include <map>
#include <sstream>

#include "bus/layout.h"
#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

using Row = std::vector<std::string>;

std::vector<Row> ReadCsv(const std::string& file) {
  std::vector<Row> rows;
  std::ifstream in(DRYCRANK_TESTS_DIR "/reference/" + file);
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    Row row;
    std::istringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');) row.push_back(cell);
    rows.push_back(row);
  }
  if (!rows.empty()) rows.erase(rows.begin());  // the heading
  return rows;
}

// Columns: pgn,pgn_hex,acronym,spn,name,start_byte,bits,resolution,offset,unit,min,max,...
std::map<int, profile::Signal> J1939Signals() {
  std::map<int, profile::Signal> signals;
  for (const Row& row : ReadCsv("j1939_spn.csv")) {
    profile::Signal signal = Little((std::stoi(row[5]) - 1) * 8, std::stoi(row[6]));
    signal.scale = std::stod(row[7]);
    signal.offset = std::stod(row[8]);
    signal.min = std::stod(row[10]);
    signal.max = std::stod(row[11]);
    signals[std::stoi(row[3])] = signal;
  }
  return signals;
}

YAML::Node J1939() { return YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/j1939_id.yaml"); }

// Keys are "spn190_rpm"; values as decoded by the publisher of the recording.
TEST(Reference, RecordedJ1939FramesDecode) {
  const std::map<int, profile::Signal> signals = J1939Signals();
  int seen = 0;
  for (const YAML::Node& recorded : J1939()["worked_frames"]) {
    const Frame frame =
        FrameOf(recorded["id"].as<std::uint32_t>(), true, recorded["data"].as<std::string>());
    for (const auto& entry : recorded) {
      const auto key = entry.first.as<std::string>();
      if (!key.starts_with("spn")) continue;
      const profile::Message message = MessageOf({signals.at(std::stoi(key.substr(3)))});
      const std::optional<double> value = Decode(message, 0, frame);
      ASSERT_TRUE(value.has_value()) << key;
      EXPECT_NEAR(*value, entry.second.as<double>(), 1e-6) << key;
      ++seen;
    }
  }
  EXPECT_EQ(seen, 7);
}

TEST(Reference, J1939ValuesEncode) {
  const std::map<int, profile::Signal> signals = J1939Signals();
  int seen = 0;
  for (const YAML::Node& example : J1939()["encode_examples"]) {
    const profile::Signal& signal = signals.at(example["spn"].as<int>());
    const double value[] = {example["value"].as<double>()};
    EXPECT_EQ(BitsFor(signal, value[0]), example["raw"].as<std::uint64_t>()) << example;
    const std::vector<std::uint8_t> data = DataOf(Encode(MessageOf({signal}), value, 0));
    const std::vector<std::uint8_t> wanted = Bytes(example["bytes"].as<std::string>());
    const auto first = static_cast<std::size_t>(signal.start_bit / 8);
    for (std::size_t i = 0; i < wanted.size(); ++i)
      EXPECT_EQ(data[first + i], wanted[i]) << example;
    ++seen;
  }
  EXPECT_EQ(seen, 8);
}

// SAE J1939-71: the largest valid raw value is 0xFA, 0xFAFF, 0xFAFFFFFF; above it lie indicators.
TEST(Reference, J1939ValuesSaturateBelowTheIndicators) {
  const YAML::Node largest = J1939()["special_values"]["valid_max"];
  for (const auto& [spn, signal] : J1939Signals()) {
    const auto valid = largest["u" + std::to_string(signal.length_bits)].as<std::uint64_t>();
    EXPECT_EQ(BitsFor(signal, 1e12), valid) << spn;
    EXPECT_EQ(BitsFor(signal, -1e12), 0u) << spn;
  }
}

// Formulas of obd_pids.csv as scale and offset of the one big-endian number made of A (and B).
std::pair<double, double> ObdScaling(const std::string& formula) {
  static const std::map<std::string, std::pair<double, double>> kKnown = {
      {"A", {1, 0}},
      {"A-40", {1, -40}},
      {"A/2-64", {0.5, -64}},
      {"A*100/255", {100.0 / 255, 0}},
      {"(256*A+B)/4", {0.25, 0}},
      {"(256*A+B)/100", {0.01, 0}},
      {"(256*A+B)/1000", {0.001, 0}},
  };
  return kKnown.at(formula);
}

// Columns: pid,name,bytes,formula,min,max,unit,example_response,example_value. The response is
// 41, PID, A, B; the example values are printed to three decimals.
TEST(Reference, ObdResponsesDecodeAndEncode) {
  int seen = 0;
  for (const Row& row : ReadCsv("obd_pids.csv")) {
    const auto [scale, offset] = ObdScaling(row[3]);
    profile::Message message = MessageOf({Scaled(Big(23, 8 * std::stoi(row[2])), scale, offset)});
    const Frame frame = FrameOf(0x123, false, row[7]);
    message.length_bytes = frame.length;
    EXPECT_NEAR(Decode(message, 0, frame).value(), std::stod(row[8]), 0.0006) << row[1];

    const double value[] = {std::stod(row[8])};
    std::vector<std::uint8_t> wanted = DataOf(frame);
    wanted[0] = wanted[1] = 0;  // 41 and PID are no signals here
    EXPECT_EQ(DataOf(Encode(message, value, 0)), wanted) << row[1];
    const std::uint64_t highest = std::stoi(row[2]) == 1 ? 0xFF : 0xFFFF;
    EXPECT_EQ(BitsFor(message.signals[0], std::stod(row[5])), highest) << row[1];
    EXPECT_EQ(BitsFor(message.signals[0], std::stod(row[4])), 0u) << row[1];
    ++seen;
  }
  EXPECT_EQ(seen, 13);
}

}  // namespace
}  // namespace drycrank::bus
