// SPDX-License-Identifier: Apache-2.0
//
// Sheets in several layouts give the wires of the kart's bench, which was written by hand. The
// layouts in tests/schedule/layouts were made from it: semicolons.csv (German headings, decimal
// commas, byte-order mark, CR LF, a column of splices), tabs.csv (an end in one column, cm, a
// quoted line end), quoted.csv (everything quoted, mm, headings without sides, CR alone, a second
// page).
#include "schedule/import.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "profile/load.h"
#include "tests/schedule/text_of.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::schedule {
namespace {

std::vector<std::string> Lines(const Diagnostics& problems) {
  std::vector<std::string> lines;
  for (const Diagnostic& problem : problems) lines.push_back(Format(problem));
  return lines;
}

std::vector<std::string> WiresOf(const profile::Bench& bench) {
  std::vector<std::string> lines;
  for (const profile::Wire& w : bench.wires) {
    std::ostringstream line;
    line << w.circuit << ' ' << w.from << ' ' << w.to << ' ' << w.length_m << ' ' << w.gauge << ' '
         << w.mohm_per_m << ' ' << w.colour << ' ' << w.twist;
    lines.push_back(line.str());
  }
  return lines;
}

profile::Bench Kart() {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml").bench;
}

class Harnesses : public testing::Test {
 protected:
  std::string Write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_.Path(name), std::ios::binary) << text;
    return folder_.Path(name);
  }

 private:
  ScratchFolder folder_;
};

class Layout : public Harnesses, public testing::WithParamInterface<std::string> {};

// The bench of the kart with its own connectors, splices and wires cut out, and the harness
// included.
TEST_P(Layout, LoadsAsTheBenchItWasMadeFrom) {
  const std::string text = TextOf(GetParam());
  ASSERT_FALSE(text.empty());
  const Imported imported = ImportCsv(GetParam(), text);
  EXPECT_THAT(Lines(imported.problems), testing::IsEmpty());
  Write("harness.yaml", HarnessYaml(imported.schedule));
  std::string bench = TextOf(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
  const auto splices = bench.find("splices:");
  bench.erase(splices, bench.find("buses:") - splices);
  for (auto at = bench.find("../parts"); at != std::string::npos; at = bench.find("../parts")) {
    bench.replace(at, 2, DRYCRANK_PROFILES_DIR);
  }
  const auto loaded = profile::LoadBench(Write("bench.yaml", "include: harness.yaml\n" + bench));
  ASSERT_TRUE(loaded.bench) << testing::PrintToString(Lines(loaded.problems));
  EXPECT_EQ(WiresOf(*loaded.bench), WiresOf(Kart()));
  EXPECT_EQ(loaded.bench->splices.size(), 2u);
}

INSTANTIATE_TEST_SUITE_P(Schedule, Layout,
                         testing::Values(DRYCRANK_PROFILES_DIR "/schedules/kart.csv",
                                         DRYCRANK_TESTS_DIR "/schedule/layouts/semicolons.csv",
                                         DRYCRANK_TESTS_DIR "/schedule/layouts/tabs.csv",
                                         DRYCRANK_TESTS_DIR "/schedule/layouts/quoted.csv"));

// Pins of a harness alone: up to the highest used.
TEST_F(Harnesses, StandWithoutABenchsConnectors) {
  const Imported imported = ImportCsv("a.csv", TextOf(DRYCRANK_PROFILES_DIR "/schedules/kart.csv"));
  Write("harness.yaml", HarnessYaml(imported.schedule));
  const auto loaded = profile::LoadBench(Write(
      "bench.yaml", "kind: bench\nname: b\nengine: {firing_order: [1]}\ninclude: harness.yaml\n"));
  ASSERT_TRUE(loaded.bench) << testing::PrintToString(Lines(loaded.problems));
  EXPECT_EQ(WiresOf(*loaded.bench), WiresOf(Kart()));
  EXPECT_EQ(loaded.bench->connectors.size(), 12u);
}

TEST(Import, SaysLineByLineWhatItCannotRead) {
  const Imported imported = ImportCsv("a.csv",
                                      "From,From pin,To,To pin,Circuit,Gauge,Length,Splice\n"
                                      "CLT,1,ECU,20,coolant,0.5,1.7,\n"
                                      "CLT,2,ECU,,ground,0.5,1.7,\n"
                                      ",1,ECU,21,air,0.5,1.7,\n"
                                      "IAT,2,,,air_ground,0.5,1.7,\n"
                                      "IAT,1,ECU,21,air,0.05,wide,\n"
                                      "TPS,1,ECU,4,ref,0.5,1,S_5V\n"
                                      "!!,1,ECU,4,ref,0.5,1,\n");
  ASSERT_TRUE(imported.is_readable);
  EXPECT_THAT(
      Lines(imported.problems),
      testing::ElementsAre(
          "a.csv:3:7: connector 'ECU' has no pin here; write the pin; only a splice has none",
          "a.csv:4:2: pin '1' has no connector; write the connector in every line, even when it is "
          "that of the line above",
          "a.csv:5:7: the wire has no end 'to'; write its terminal, or its splice",
          testing::StartsWith(
              "a.csv:6:18: no resistance is known for gauge '0.05'; 0.13 to 120 mm2"),
          "a.csv:6:23: 'wide' is not a length; write a number, as 1.2 m or 850 mm",
          "a.csv:7:23: the wire has two ends and splice 'S_5V' too; leave the end empty that "
          "lies in the splice, or write two lines, one to the splice and one from it",
          "a.csv:8:1: '!!' is not a terminal; write connector and pin with letters and digits, as "
          "CLT.1"));
  EXPECT_EQ(imported.schedule.wires.size(), 2u);  // the first, and line 6 without its sizes
}

TEST(Import, TakesColumnsAsNamed) {
  const Imported imported = ImportCsv("a.csv", "Hier;x;Dort;y\nCLT;1;ECU;20\n",
                                      {{Column::kFromConnector, "hier"},
                                       {Column::kFromPin, "X"},
                                       {Column::kToConnector, "Dort"},
                                       {Column::kToPin, "y"}});
  ASSERT_TRUE(imported.is_readable);
  EXPECT_EQ(imported.schedule.wires.at(0).from.text, "CLT.1");
  EXPECT_EQ(imported.schedule.wires.at(0).to.text, "ECU.20");
  EXPECT_EQ(imported.schedule.wires.at(0).circuit.text, "CLT_1");
  EXPECT_EQ(imported.notes.size(), 1u);
}

TEST(Import, SaysWhichNamedColumnIsNotThere) {
  const Imported imported =
      ImportCsv("a.csv", "From,To,Colour\nCLT.1,ECU.2,red\n", {{Column::kGauge, "Colur"}});
  EXPECT_FALSE(imported.is_readable);
  EXPECT_THAT(Lines(imported.problems),
              testing::ElementsAre("a.csv:1:1: no column is headed 'Colur', to be taken for gauge; "
                                   "did you mean 'Colour'?"));
}

TEST(Import, SaysThatHeadingsAreMissing) {
  const Imported imported = ImportCsv("a.csv", "CLT;1;ECU;20\nCLT;2;ECU;3\n");
  EXPECT_FALSE(imported.is_readable);
  ASSERT_EQ(imported.problems.size(), 1u);
  EXPECT_THAT(imported.problems[0].remedy, testing::HasSubstr("CLT | 1 | ECU | 20"));
}

TEST(Import, HostileTextIsAnErrorAndNoMore) {
  EXPECT_FALSE(ImportCsv("a.csv", "").is_readable);
  EXPECT_FALSE(ImportCsv("a.csv", std::string(1 << 20, ',')).is_readable);
  EXPECT_FALSE(ImportCsv("a.csv", std::string(1 << 20, '"')).is_readable);
  std::string wide = "From,To\n";
  for (int i = 0; i < 200'000; ++i) wide += "a,";
  const Imported imported = ImportCsv("a.csv", wide + "\nCLT.1,ECU.1\n");
  EXPECT_THAT(Lines(imported.problems), testing::ElementsAre(testing::HasSubstr("256 columns")));
  EXPECT_EQ(imported.schedule.wires.size(), 1u);
}

TEST_F(Harnesses, OfSplicesAloneLoads) {
  const Imported imported = ImportCsv("a.csv", "From,To,Circuit\nS1,S2,a\nS2,S3,b\n");
  Write("harness.yaml", HarnessYaml(imported.schedule));
  const auto loaded = profile::LoadBench(Write(
      "bench.yaml", "kind: bench\nname: b\nengine: {firing_order: [1]}\ninclude: harness.yaml\n"));
  EXPECT_TRUE(loaded.bench) << testing::PrintToString(Lines(loaded.problems));
}

TEST(Import, YamlQuotesWhatYamlWouldReadOtherwise) {
  const Imported imported = ImportCsv(
      "a.csv", "From,To,Circuit,Colour,Notes\nnull.on,S1,no,\"red: \"\"x\"\"\",\"a\nb\"\n");
  EXPECT_THAT(HarnessYaml(imported.schedule),
              testing::HasSubstr("{circuit: \"no\", from: null.on, to: S1, colour: "
                                 "\"red: \\\"x\\\"\"}  # a b\n"));
}

}  // namespace
}  // namespace drycrank::schedule
