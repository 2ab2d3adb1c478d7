// SPDX-License-Identifier: Apache-2.0
//
// Two cams that the scenario moves, each on its own way: stimulus, wheel, Hall sensor, wires,
// controller, frame. The hill-climb bench with an exhaust cam added, all invented.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "profile/load.h"
#include "run/runner.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

std::string TextOf(const std::string& path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

void PutAfter(std::string& text, const std::string& line, const std::string& more) {
  const auto at = text.find(line);
  ASSERT_NE(at, std::string::npos) << line;
  ASSERT_EQ(text.find(line, at + 1), std::string::npos) << line;
  text.insert(text.find('\n', at) + 1, more);
}

// Its wheel is another than the intake cam's: three teeth of unequal widths.
std::string BenchText() {
  const std::string profiles = DRYCRANK_PROFILES_DIR;
  std::string text = TextOf(profiles + "/benches/hill_climb.yaml");
  for (auto at = text.find("../parts"); at != std::string::npos; at = text.find("../parts", at)) {
    text.replace(at, 8, profiles + "/parts");
  }
  PutAfter(text, "  intake_cam_advance: {",
           "  exhaust_cam_advance: {unit: deg, initial: 0, min: -40, max: 0}\n");
  PutAfter(text, "  CMP: {label", "  CMX: {label: Exhaust cam sensor, pins: 3}\n");
  PutAfter(text, "    pickup: {kind: hall, supply: CMP.1",
           "  cam_exhaust:\n"
           "    shaft: cam\n"
           "    wheel: {tooth_edges_deg: [[0, 30], [110, 150], [220, 300]]}\n"
           "    offset_deg: 50\n"
           "    advance: exhaust_cam_advance\n"
           "    pickup: {kind: hall, supply: CMX.1, ground: CMX.2, signal: CMX.3}\n");
  PutAfter(text, "  - {circuit: cam_signal,",
           "  - {circuit: exhaust_supply, from: CMX.1, to: S_12V, length_m: 1.4, gauge: 0.5 mm2}\n"
           "  - {circuit: exhaust_ground, from: CMX.2, to: S_GND, length_m: 0.6, gauge: 0.5 mm2}\n"
           "  - {circuit: exhaust_signal, from: CMX.3, to: ECU.13, length_m: 2, gauge: 0.5 mm2}\n");
  PutAfter(text, "    - {terminal: ECU.12, pull_up",
           "    - {terminal: ECU.13, pull_up_ohm: 2.2 kohm}\n");
  PutAfter(text, "      window_deg: 45",
           "    cam_exhaust:\n"
           "      terminal: ECU.13\n"
           "      conditioning: threshold\n"
           "      high_v: 3.0 V\n"
           "      low_v: 1.5 V\n"
           "      edge: falling\n"
           "      point: begin\n"
           "      shaft: cam\n"
           "      wheel: {tooth_edges_deg: [[0, 30], [110, 150], [220, 300]]}\n"
           "      offset_deg: 50\n"
           "      window_deg: 45\n");
  text.replace(text.find("cams: [cam_intake]"), 18, "cams: [cam_intake, cam_exhaust]");
  PutAfter(text, "      display: {high: DSP.3",
           "  cams:\n"
           "    bitrate_bps: 500 kbit/s\n"
           "    messages:\n"
           "      angles:\n"
           "        id: 0x300\n"
           "        length_bytes: 4\n"
           "        sender: controller\n"
           "        period_ms: 10 ms\n"
           "        signals:\n"
           "          intake: {start_bit: 0, length_bits: 16, is_signed: true, scale: 0.01,"
           " unit: deg, carries: cam_angle.cam_intake}\n"
           "          exhaust: {start_bit: 16, length_bits: 16, is_signed: true, scale: 0.01,"
           " unit: deg, carries: cam_angle.cam_exhaust}\n");
  return text;
}

// One goes up and stays at 25 degrees, the other goes down to -30 and half of the way back.
constexpr const char* kScenario = R"(
kind: scenario
name: two_cams
bench: bench.yaml
steps:
  - {name: start, for_s: 1 s, drive: {engine_speed: 2000 rpm}}
  - name: apart
    for_s: 2 s
    drive:
      intake_cam_advance: {ramp: 25, over_s: 1 s}
      exhaust_cam_advance: {ramp: -30, over_s: 1 s}
  - {name: back, for_s: 2 s, drive: {exhaust_cam_advance: {ramp: -15, over_s: 1 s}}}
expect:
  - name: intake
    kind: follows
    signal: angles.intake
    stimulus: intake_cam_advance
    tolerance: 2.5 deg
    settle_s: 0.5 s
    means: the intake cam is elsewhere
  - name: exhaust
    kind: follows
    signal: angles.exhaust
    stimulus: exhaust_cam_advance
    tolerance: 2.5 deg
    settle_s: 0.5 s
    means: the exhaust cam is elsewhere
)";

class TwoCamsTest : public testing::Test, public RunObserver {
 protected:
  // Frames by hand: two 16-bit numbers with sign, hundredths of a degree, low byte first.
  void OnFrame(const bus::TimedFrame& frame) override {
    if (frame.frame.id != 0x300 || frame.t_ns > until_ns_) return;
    const auto& d = frame.frame.data;
    intake_deg_ = static_cast<std::int16_t>(d[0] | d[1] << 8) / 100.0;
    exhaust_deg_ = static_cast<std::int16_t>(d[2] | d[3] << 8) / 100.0;
  }
  // Names of what failed; the angles are those of the last frame before `until_ns`.
  std::vector<std::string> Run(const std::string& fault, TimeNs until_ns = 60 * kNsPerS) {
    until_ns_ = until_ns;
    std::ofstream(folder_.Path("bench.yaml")) << BenchText();
    std::ofstream(folder_.Path("s.yaml")) << kScenario << fault;
    const profile::LoadedScenario loaded = profile::LoadScenario(folder_.Path("s.yaml"));
    for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
    std::vector<std::string> failed;
    if (!loaded.scenario) return {"does not load"};
    Runner runner(*loaded.bench, *loaded.scenario, {});
    runner.AddObserver(this);
    runner.Start();
    runner.RunTo(60 * kNsPerS);
    for (const check::Verdict& v : runner.checker().verdicts()) {
      if (v.outcome == check::Outcome::kMet) continue;
      failed.push_back(loaded.scenario->expectations[static_cast<std::size_t>(v.expectation)].name);
    }
    return failed;
  }

  ScratchFolder folder_;
  TimeNs until_ns_ = 0;
  double intake_deg_ = 0, exhaust_deg_ = 0;
};

TEST_F(TwoCamsTest, EachIsReportedWhereTheScenarioPutIt) {
  EXPECT_THAT(Run(""), IsEmpty());
  EXPECT_NEAR(intake_deg_, 25, 0.1);
  EXPECT_NEAR(exhaust_deg_, -15, 0.1);
  Run("", 3 * kNsPerS);
  EXPECT_NEAR(intake_deg_, 25, 0.1);
  EXPECT_NEAR(exhaust_deg_, -30, 0.1);
}

// 18 degrees of crank late, as in the shipped cam_one_tooth_late.
TEST_F(TwoCamsTest, ALateExhaustCamIsTheExhaustCamAlone) {
  EXPECT_THAT(Run("faults: [{name: f, kind: wheel_offset, at: cam_exhaust, deg: 18}]"),
              ElementsAre("exhaust"));
  EXPECT_NEAR(intake_deg_, 25, 0.1);
  EXPECT_NEAR(exhaust_deg_, -15 - 18, 0.1);
}

TEST_F(TwoCamsTest, AnOpenExhaustSignalIsTheExhaustCamAlone) {
  EXPECT_THAT(Run("faults: [{name: f, kind: open, at: CMX.3}]"), ElementsAre("exhaust"));
}

}  // namespace
}  // namespace drycrank::run
