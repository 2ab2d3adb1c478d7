// SPDX-License-Identifier: Apache-2.0
//
// What the drawings say, read back from the SVG as text. How they look is for eyes; the notes show
// one.
#include "schedule/draw.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>

#include "profile/load.h"
#include "schedule/wire_colour.h"

namespace drycrank::schedule {
namespace {

using testing::HasSubstr;
using testing::Not;

profile::Bench Shipped(const std::string& name) {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml").bench;
}

std::size_t Count(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

// The part of the drawing that is not pale.
std::string InFront(const std::string& svg) {
  const auto end = svg.rfind("</g>");
  return end == std::string::npos ? svg : svg.substr(end);
}

TEST(Drawing, LabelsEveryWireOnce) {
  for (const char* name : {"kart", "hill_climb", "boat_v8", "generator"}) {
    const profile::Bench bench = Shipped(name);
    const std::string svg = HarnessSvg(bench).text();
    for (const profile::Wire& wire : bench.wires)
      EXPECT_THAT(svg, HasSubstr(">" + wire.circuit + " · "));
    for (const std::string& splice : bench.splices) EXPECT_THAT(svg, HasSubstr(">" + splice + "<"));
    EXPECT_EQ(Count(svg, " m · "), bench.wires.size());
    EXPECT_TRUE(svg.starts_with("<svg xmlns=") && svg.ends_with("</svg>\n"));
  }
}

TEST(Drawing, PutsMarkedWiresInFrontAndTheRestBehind) {
  const profile::Bench bench = Shipped("hill_climb");
  EXPECT_THAT(HarnessSvg(bench).text(), Not(HasSubstr("▶")));
  const std::string svg = HarnessSvg(bench, {{"cam_signal"}, {}}).text();
  EXPECT_THAT(InFront(svg), HasSubstr("▶ cam_signal · 0.5 mm2 · 2 m · yellow"));
  EXPECT_THAT(InFront(svg), Not(HasSubstr("coolant_signal")));
  EXPECT_THAT(svg, HasSubstr("coolant_signal"));
  // A terminal marks its wire, a splice all of its wires.
  EXPECT_THAT(InFront(HarnessSvg(bench, {{}, {"CLT.1"}}).text()), HasSubstr("▶ coolant_signal"));
  EXPECT_EQ(Count(InFront(HarnessSvg(bench, {{}, {"S_5V"}}).text()), "▶ "), 4u);
}

TEST(Drawing, ShowsWiresBetweenTwoPlugsOfOneSide) {
  profile::Bench bench = Shipped("kart");
  profile::Wire wire;
  wire.circuit = "across";
  wire.from = "HT.1";
  wire.to = "EX.1";
  bench.wires.push_back(wire);
  const std::string svg = HarnessSvg(bench).text();
  EXPECT_EQ(Count(svg, ">across · "), 2u);  // at both ends
  EXPECT_THAT(svg, HasSubstr("to EX.1"));
}

TEST(Drawing, EscapesWhatAProfileSays) {
  profile::Bench bench = Shipped("kart");
  bench.title = "<script>&\"'\x02\xFF";
  EXPECT_THAT(HarnessSvg(bench).text(), HasSubstr("&lt;script&gt;&amp;&quot;&#39;\uFFFD\uFFFD"));
  EXPECT_THAT(HarnessSvg(bench).text(), Not(HasSubstr("<script")));
}

TEST(Drawing, HoldsAThousandCircuits) {
  profile::Bench bench;
  profile::Connector plug;
  plug.name = "BIG";
  for (int i = 1; i <= 1000; ++i) plug.pins.push_back(std::to_string(i));
  bench.connectors.push_back(plug);
  bench.splices.push_back("S");
  for (int i = 1; i <= 1000; ++i) {
    profile::Wire wire;
    wire.circuit = "c" + std::to_string(i);
    wire.from = "BIG." + std::to_string(i);
    wire.to = "S";
    bench.wires.push_back(wire);
  }
  EXPECT_THAT(HarnessSvg(bench).text(), HasSubstr(">c1000 · "));
  EXPECT_THAT(FaceSvg(bench, plug).text(), HasSubstr(">c1000<"));
}

// Three rows of twelve: on the mating side pin 1 is at the left and 13 below it; on the wire side
// both are at the right.
TEST(Face, IsMirroredOnTheWireSide) {
  profile::Bench bench = Shipped("hill_climb");
  profile::Connector plug =
      bench.connectors[static_cast<std::size_t>(profile::IndexOf(bench.connectors, "CMP"))];
  const std::string svg = FaceSvg(bench, plug).text();
  EXPECT_THAT(svg, HasSubstr("Mating side"));
  EXPECT_THAT(svg, HasSubstr("Wire side"));
  std::vector<int> order;  // of the large pin numbers, left to right
  std::vector<std::pair<double, int>> at;
  for (int pin = 1; pin <= 3; ++pin) {
    const std::string number = ">" + std::to_string(pin) + "</text>";
    std::vector<double> x;
    for (auto end = svg.find(number); end != std::string::npos; end = svg.find(number, end + 1)) {
      const auto begin = svg.rfind("<text x=\"", end);
      const std::string text = svg.substr(begin, end - begin);
      if (text.find("font-size=\"17\"") != std::string::npos)
        x.push_back(std::stod(svg.substr(begin + 9)));
    }
    ASSERT_EQ(x.size(), 2u) << pin;
    at.emplace_back(x[0], pin);
    at.emplace_back(x[1], pin);
  }
  std::sort(at.begin(), at.end());
  for (const auto& [x, pin] : at) order.push_back(pin);
  EXPECT_THAT(order, testing::ElementsAre(1, 2, 3, 3, 2, 1));
}

TEST(Face, TellsWhatEachPinCarries) {
  const profile::Bench bench = Shipped("hill_climb");
  const auto& ecu =
      bench.connectors[static_cast<std::size_t>(profile::IndexOf(bench.connectors, "ECU"))];
  const std::string svg = FaceSvg(bench, ecu, {{}, {"ECU.12"}}).text();
  EXPECT_THAT(svg, HasSubstr(">cam_signal<"));
  EXPECT_THAT(svg, HasSubstr(">CMP.3<"));
  EXPECT_THAT(svg, HasSubstr("▶ 12"));
  EXPECT_THAT(svg, HasSubstr("free: 5–9, 13–19, 26–29, 32, 35–36"));
  EXPECT_THAT(svg, HasSubstr("Not to scale"));
}

TEST(WireColour, KnowsWordsAndCodes) {
  EXPECT_EQ(PaintOf("green").base, PaintOf("GN").base);
  EXPECT_EQ(PaintOf("grün").base, PaintOf("gn").base);
  EXPECT_EQ(PaintOf("green/white").stripe, PaintOf("white").base);
  EXPECT_EQ(PaintOf("GNYE").stripe, PaintOf("yellow").base);
  EXPECT_EQ(PaintOf("light blue").stripe, "");
  EXPECT_EQ(PaintOf("hellblau").base, PaintOf("light blue").base);
}

TEST(WireColour, GuessesNone) {
  for (const char* colour : {"", "gr", "mauve", "red/", "12"}) {
    EXPECT_EQ(PaintOf(colour).base, std::string(colour) == "red/" ? PaintOf("red").base : "")
        << colour;
  }
}

}  // namespace
}  // namespace drycrank::schedule
