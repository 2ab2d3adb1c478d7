// SPDX-License-Identifier: Apache-2.0
#include "record/edge_file.h"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "record/edge_export.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::record {
namespace {

using Bytes = std::vector<std::uint8_t>;

const EdgeChannels kChannels = {{ChannelKind::kTrigger, "crank", 0},
                                {ChannelKind::kTrigger, "cam", 0},
                                {ChannelKind::kCoil, "coil_3", 3}};

Bytes BytesOf(const fmt::memory_buffer& buffer) {
  return {buffer.data(), buffer.data() + buffer.size()};
}

// What EdgeWriter leaves: `per_block` edges in each block.
std::string FileOf(const std::vector<ChannelEdge>& edges, std::size_t per_block = 1000) {
  const ScratchFolder scratch;
  EdgeWriter writer(kChannels, scratch.Path("edges.bin"));
  for (std::size_t i = 0; i < edges.size(); ++i) {
    writer.Add(edges[i]);
    if (i % per_block == per_block - 1) writer.Seal();
  }
  writer.Seal();
  EXPECT_EQ(writer.file().Close(), "");
  std::stringstream all;
  all << std::ifstream(scratch.Path("edges.bin"), std::ios::binary).rdbuf();
  return all.str();
}

struct Read {
  std::string problem;
  std::vector<ChannelEdge> edges;
  std::vector<bus::Damage> damage;
};
Read ReadAll(const std::string& bytes) {
  std::istringstream stream(bytes);
  EdgeReader reader(stream);
  Read read{reader.problem(), {}, {}};
  for (ReadBlock block; reader.Next(block);) {
    read.edges.insert(read.edges.end(), block.edges.begin(), block.edges.end());
  }
  read.damage = reader.damage();
  return read;
}

// A wheel at a steady speed, a cam edge at each twentieth, a coil ahead of them.
std::vector<ChannelEdge> SomeEdges(std::size_t count) {
  std::vector<ChannelEdge> edges;
  for (std::size_t i = 0; edges.size() < count; ++i) {
    const auto t_ns = static_cast<TimeNs>(1'000'000 + i * 526'316 + i % 7 * 31);
    edges.push_back({t_ns, 0, i % 2 == 0});
    if (i % 20 == 19) edges.push_back({t_ns + 1000, 1, i % 40 == 19});
    if (i % 50 == 49) edges.push_back({t_ns + 20'000'000, 2, i % 100 == 49});
  }
  edges.resize(count);
  return edges;
}

// RFC 3720 B.4: 32 bytes of zeroes, of ones, and 0 to 31. The catalogue's check: "123456789".
TEST(EdgeBlock, ChecksumIsThatOfTheStandard) {
  Bytes counting(32);
  for (std::size_t i = 0; i < 32; ++i) counting[i] = static_cast<std::uint8_t>(i);
  EXPECT_EQ(Crc32c(Bytes(32, 0x00)), 0x8A9136AAu);
  EXPECT_EQ(Crc32c(Bytes(32, 0xFF)), 0x62A8AB43u);
  EXPECT_EQ(Crc32c(counting), 0x46DD794Eu);
  const std::string_view check = "123456789";
  EXPECT_EQ(Crc32c({reinterpret_cast<const std::uint8_t*>(check.data()), check.size()}),
            0xE3069283u);
}

// Crank up at 1000, down at 1500, up at 2000; cam up at 2100. By hand:
//   1000: 0 after the first, channel said: 0*2+1; channel 0, up: 1
//   1500: 500 later, 0 expected: zigzag 1000, *2 = 2000 = 15*128 + 80: D0 0F.  2000: the same
//   2100: 1100 after 1000: zigzag 2200, *2+1 = 4401 = 34*128 + 49: B1 22; channel 1, up: 3
TEST(EdgeBlock, BytesAreThoseOfThePage) {
  EdgeBlock block(std::vector<Level>(2, Level::kUnknown));
  for (const ChannelEdge& edge : std::initializer_list<ChannelEdge>{
           {1000, 0, true}, {1500, 0, false}, {2000, 0, true}, {2100, 1, true}}) {
    block.Add(edge);
  }
  fmt::memory_buffer out;
  block.Seal(out);
  const Bytes bytes = BytesOf(out);
  const Bytes content = {'e', 0xE8, 3, 0,    0, 0,    0,    0,    0,    0x34, 8,    0, 0, 0,
                         0,   0,    0, 0xE8, 3, 0,    0,    0,    0,    0,    0,    4, 0, 0,
                         0,   2,    2, 1,    1, 0xD0, 0x0F, 0xD0, 0x0F, 0xB1, 0x22, 3};
  ASSERT_EQ(bytes.size(), kBlockHead + content.size());
  EXPECT_EQ(Bytes(bytes.begin(), bytes.begin() + 8), (Bytes{'E', 'D', 'G', 'E', 40, 0, 0, 0}));
  EXPECT_EQ(Bytes(bytes.begin() + kBlockHead, bytes.end()), content);
}

TEST(EdgeBlock, TheNextBeginsWithTheLevelsOfTheLast) {
  const Read read = ReadAll(FileOf(SomeEdges(500), 100));
  EXPECT_EQ(read.edges, SomeEdges(500));
  std::istringstream stream(FileOf(SomeEdges(500), 100));
  EdgeReader reader(stream);
  ReadBlock block;
  ASSERT_TRUE(reader.Next(block));
  EXPECT_EQ(block.before, (std::vector<Level>{Level::kUnknown, Level::kUnknown, Level::kLow}));
  ASSERT_TRUE(reader.Next(block));
  EXPECT_NE(block.before[0], Level::kUnknown);
}

TEST(EdgeFile, ASteadyWheelNeedsAboutTwoBytesAnEdge) {
  const std::string file = FileOf(SomeEdges(100'000), 4000);
  EXPECT_EQ(ReadAll(file).edges, SomeEdges(100'000));
  EXPECT_LT(static_cast<double>(file.size()) / 100'000, 2.5);
}

TEST(EdgeFile, EveryTimeUpToTheLastComesBack) {
  const std::vector<ChannelEdge> edges = {
      {kLastEdgeNs, 0, true}, {0, 0, false}, {kLastEdgeNs, 0, false},
      {kLastEdgeNs, 2, true}, {1, 1, true},  {0, 1, true}};
  EXPECT_EQ(ReadAll(FileOf(edges)).edges, edges);
}

TEST(EdgeFile, TornAnywhereItKeepsItsWholeBlocks) {
  const std::string whole = FileOf(SomeEdges(300), 100);
  std::size_t kept = 0;
  for (std::size_t size = whole.find("EDGE", 4); size < whole.size(); ++size) {
    const Read read = ReadAll(whole.substr(0, size));
    ASSERT_EQ(read.problem, "");
    ASSERT_EQ(read.edges.size() % 100, 0u);
    ASSERT_GE(read.edges.size(), kept);
    kept = read.edges.size();
  }
  EXPECT_EQ(kept, 200u);
}

TEST(EdgeFile, AChangedByteCostsItsBlockAndIsSaidWithItsOffset) {
  std::string file = FileOf(SomeEdges(300), 100);
  const std::size_t second = file.find("EDGE", file.find("EDGE", 4) + 4);
  file[second + 60] = static_cast<char>(file[second + 60] ^ 4);
  const Read read = ReadAll(file);
  EXPECT_EQ(read.edges.size(), 200u);
  ASSERT_EQ(read.damage.size(), 1u);
  EXPECT_EQ(read.damage[0].offset, second);
}

TEST(EdgeFile, ANewerFormatIsRefusedByName) {
  const std::string head = R"(h{"format":2,"channels":[]})";
  fmt::memory_buffer out;
  AppendBlock({reinterpret_cast<const std::uint8_t*>(head.data()), head.size()}, out);
  EXPECT_EQ(ReadAll(fmt::to_string(out)).problem,
            "edges: format 2 is newer than this program reads (1)");
}

TEST(EdgeFile, ABlockOfAnotherKindIsPassedOver) {
  const std::string file = FileOf(SomeEdges(200), 100);
  const std::size_t second = file.find("EDGE", file.find("EDGE", 4) + 4);
  const std::string later = "motion of a later version";
  fmt::memory_buffer out;
  AppendBlock({reinterpret_cast<const std::uint8_t*>(later.data()), later.size()}, out);
  const Read read = ReadAll(file.substr(0, second) + fmt::to_string(out) + file.substr(second));
  EXPECT_EQ(read.edges, SomeEdges(200));
  EXPECT_TRUE(read.damage.empty());
}

TEST(EdgeFile, WhatIsNoneIsSaid) {
  for (const char* none : {"", "EDGE", "0,crank,1\n", "EDGE\x05\0\0\0"}) {
    EXPECT_EQ(ReadAll(none).problem, "no file of edges, or its head is damaged");
  }
}

class EdgeExport : public testing::Test {
 protected:
  void SetUp() override {
    std::ofstream(scratch_.Path("edges.bin"), std::ios::binary) << FileOf({{1'000, 0, false},
                                                                           {2'000, 0, true},
                                                                           {2'500, 2, true},
                                                                           {3'000, 0, false},
                                                                           {3'200, 1, true},
                                                                           {4'000, 0, true}});
  }
  std::string Written(const std::string& name) const {
    std::stringstream all;
    all << std::ifstream(scratch_.Path("out/" + name)).rdbuf();
    return all.str();
  }
  ScratchFolder scratch_;
};

TEST_F(EdgeExport, AWindowBeginsWithTheLevelsThatHoldThere) {
  const ExportedEdges out =
      ExportEdges(scratch_.path().string(), {2'600, 4'000}, scratch_.Path("out"));
  EXPECT_EQ(out.problem, "");
  EXPECT_EQ(Written("edges.csv"), "3000,crank,0\n3200,cam,1\n");
  EXPECT_EQ(Written("outputs.csv"), "");
  const std::string dump = Written("edges.vcd");
  EXPECT_EQ(dump.substr(dump.find("#2600")), "#2600\n1!\nx\"\n1#\n#3000\n0!\n#3200\n1\"\n#4000\n");
}

TEST_F(EdgeExport, AllOfItWithoutAWindow) {
  const ExportedEdges out = ExportEdges(scratch_.path().string(), {}, scratch_.Path("out"));
  EXPECT_EQ(out.edges, 5u);
  EXPECT_EQ(Written("outputs.csv"), "2500,coil,3,on\n");
}

TEST_F(EdgeExport, ARecordOfFormatOneIsRefusedByNameWithTheRemedy) {
  std::filesystem::remove(scratch_.Path("edges.bin"));
  std::ofstream(scratch_.Path("edges.csv")) << "1000,crank,0\n";
  const ExportedEdges out = ExportEdges(scratch_.path().string(), {}, scratch_.Path("out"));
  EXPECT_TRUE(out.is_bad_input);
  EXPECT_NE(out.problem.find("record format 1: its edges.csv, edges.vcd and outputs.csv"),
            std::string::npos);
}

}  // namespace
}  // namespace drycrank::record
