// SPDX-License-Identifier: Apache-2.0
//
// What `drycrank settings` prints of two benches, against values worked by hand from their built
// sides. Volts: R is the sensor's, in parallel with the pin's own 1 Mohm (Rp), behind the pull-up
// to 5 V; wires and the sensor ground that all share add some millivolts: 60 mA at most, all
// sensors together, through 1.6 m of 0.75 mm2 (39 mohm), 20 mohm in the controller and two
// contacts, is less than 5 mV.
#include "proofread/settings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <utility>

#include "profile/load.h"
#include "profile/triggers.h"
#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using nlohmann::json;
using testing::HasSubstr;
using testing::Not;

constexpr double kWiresV = 0.005;

profile::Bench Shipped(const std::string& name) {
  auto loaded = profile::LoadBench(std::string(DRYCRANK_PROFILES_DIR) + "/benches/" + name);
  EXPECT_TRUE(loaded.bench);
  return std::move(*loaded.bench);
}

class OfABench : public testing::Test {
 protected:
  explicit OfABench(const std::string& name)
      : bench_(Shipped(name)),
        settings_(SettingsOf(bench_)),
        json_(json::parse(SettingsJson(bench_, settings_))) {}

  const json& Named(const char* list, const std::string& name) const {
    for (const json& entry : json_[list]) {
      if (entry["name"] == name) return entry;
    }
    ADD_FAILURE() << "no " << name;
    return json_;
  }
  // Volts in the row of this value.
  double Volts(const std::string& table, double value) const {
    for (const json& row : Named("tables", table)["rows"]) {
      if (std::abs(row[1].get<double>() - value) < 1e-6) return row[0];
    }
    ADD_FAILURE() << table << " has no row of " << value;
    return 0;
  }

  profile::Bench bench_;
  Settings settings_;
  json json_;
};

// ---- hill_climb -------------------------------------------------------------------------------

class HillClimbSettings : public OfABench {
 protected:
  HillClimbSettings() : OfABench("hill_climb.yaml") {}
};

// Four cylinders share 720 degrees: one every 180.
TEST_F(HillClimbSettings, Engine) {
  const json& engine = json_["engine"];
  EXPECT_EQ(json_["format"], "drycrank settings");
  EXPECT_EQ(json_["format_version"], 1);
  EXPECT_EQ(engine["strokes"], 4);
  EXPECT_EQ(engine["firing_order"], json({1, 3, 4, 2}));
  EXPECT_EQ(engine["firing_angles_deg"], json({0, 180, 360, 540}));
  EXPECT_EQ(engine["advance_deg"], 12);
}

// 60 places of 6 degrees, tooth 3 degrees wide, its begin at 300: its centre at 301.5. A coil whose
// plus lead is at the plus pin falls through zero there.
TEST_F(HillClimbSettings, CrankWheel) {
  const json& crank = Named("triggers", "crank");
  EXPECT_EQ(crank["terminal"], "ECU.10");
  EXPECT_EQ(crank["minus"], "ECU.11");
  EXPECT_EQ(crank["pickup"], "coil");
  EXPECT_EQ(crank["teeth"], 58);
  EXPECT_EQ(crank["places"], 60);
  EXPECT_EQ(crank["missing"], json({59, 60}));
  EXPECT_EQ(crank["edge"], "falling");
  EXPECT_EQ(crank["edge_is"], "centre");
  EXPECT_EQ(crank["wheel_zero_deg"], 300);
  EXPECT_EQ(crank["tooth_one_deg"], 301.5);
}

// Teeth begin at 0, 70, 180 and 310 of the cam: 20 + 2 x that of the crank. It is turned by 40.
TEST_F(HillClimbSettings, CamWheel) {
  const json& cam = Named("triggers", "cam_intake");
  EXPECT_EQ(cam["shaft"], "cam");
  EXPECT_EQ(cam["edge"], "falling");
  EXPECT_EQ(cam["edge_is"], "begin");
  EXPECT_EQ(cam["edges_deg"], json({20, 160, 380, 640}));
  EXPECT_EQ(cam["least_window_deg"], 40);
  // 25 ohm below 2.2 kohm: 5 x 25 / 2225 = 0.056 V; open 5 V, but for 5 Mohm and 1 Mohm to ground:
  // 5 x 833.3 / 835.5 = 4.987 V.
  EXPECT_NEAR(cam["low_v"], 0.056, kWiresV);
  EXPECT_NEAR(cam["high_v"], 4.987, kWiresV);
}

// R: rows of tests/reference/temp_ntc.yaml (data logger's manual). 0 degC: Rp = 32650.9 || 1e6 =
// 31618.6, 5 x 31618.6 / 33818.6 = 4.6747. 50: 3601.04 -> 3588.12, 3.0995. 100: 678.42 -> 677.96,
// 1.1778. -40: 336103.2 -> 251554.7, 4.9567: not the 4.9675 of a pin without resistance.
TEST_F(HillClimbSettings, ThermistorBehindItsPullUp) {
  const json& coolant = Named("tables", "coolant");
  EXPECT_EQ(coolant["terminal"], "ECU.20");
  EXPECT_EQ(coolant["pull_up_ohm"], 2200);
  EXPECT_EQ(coolant["volts_are"], "at_pin");
  EXPECT_NEAR(Volts("coolant", 0), 4.6747, kWiresV);
  EXPECT_NEAR(Volts("coolant", 50), 3.0995, kWiresV);
  EXPECT_NEAR(Volts("coolant", 100), 1.1778, kWiresV);
  EXPECT_NEAR(Volts("coolant", -40), 4.9567, kWiresV);
}

// 10 % at 20 kPa, 90 % at 400: 0.5 and 4.5 V of 5, 210 kPa in the middle; 50 ohm of the sensor
// against 470 kohm of the pin take 0.01 %.
TEST_F(HillClimbSettings, PressureIsAbsoluteAsTheSensorSenses) {
  const json& manifold = Named("tables", "manifold");
  EXPECT_EQ(manifold["unit"], "kPa");
  EXPECT_EQ(manifold["zero"], "absolute");
  EXPECT_EQ(manifold["volts_are"], "of_reference");
  ASSERT_EQ(manifold["rows"].size(), 3u);
  EXPECT_NEAR(manifold["rows"][0][1], 20, 1e-9);
  EXPECT_NEAR(Volts("manifold", 210), 2.5, kWiresV);
  EXPECT_NEAR(Volts("manifold", 400), 4.5, kWiresV);
}

// tests/reference/wheel_speed_tyre.yaml: 671.646 Hz at 100 km/h. 100 km take an hour: 36 x 671.646
// = 24179.3 pulses a kilometre.
TEST_F(HillClimbSettings, PulsesOfTheWheelAndOfTheFuel) {
  EXPECT_NEAR(Named("pulses", "wheel_speed")["hz_per_unit"], 6.71646, 1e-9);
  EXPECT_THAT(SettingsText(bench_, settings_), HasSubstr("24179.3 pulses a kilometre"));
  const json& fuel = Named("pulses", "fuel");
  EXPECT_EQ(fuel["hz_at_zero"], 50);
  EXPECT_EQ(fuel["hz_per_unit"], 1);
  EXPECT_EQ(fuel["low_ms"], json({{1, -40}, {5, 125}}));
  EXPECT_EQ(fuel["width_of"], "fuel_temperature");
}

// As the bench's file has it.
TEST_F(HillClimbSettings, Protections) {
  EXPECT_THAT(
      SettingsText(bench_, settings_),
      HasSubstr("coolant_hot          no more than 4000 r/min while coolant_temperature is above "
                "118 °C, until 108 °C, after 2000 ms, from 2000 r/min on\n"));
  EXPECT_EQ(json_["protections"].size(), 3u);
  EXPECT_EQ(json_["protections"][0]["side"], "below");
  EXPECT_EQ(json_["protections"][0]["limit"], 120);
}

TEST_F(HillClimbSettings, MessagesForTheDisplayAreThoseThatOthersSend) {
  const json& temps = Named("messages", "engine_temps");
  EXPECT_EQ(temps["bus"], "vehicle");
  EXPECT_EQ(temps["signals"][0]["name"], "coolant");
  EXPECT_EQ(temps["signals"][0]["offset"], -40);
  for (const json& message : json_["messages"]) EXPECT_NE(message["sender"], "display");
}

// A count has a unit in the file and none for people.
TEST_F(HillClimbSettings, NoLineEndsBeforeItsUnit) {
  EXPECT_THAT(SettingsText(bench_, settings_), Not(HasSubstr(", in \n")));
}

// ---- boat_v8 ----------------------------------------------------------------------------------

class BoatSettings : public OfABench {
 protected:
  BoatSettings() : OfABench("boat_v8.yaml") {}
};

// Eight cylinders: one every 90 degrees.
TEST_F(BoatSettings, Engine) {
  EXPECT_EQ(json_["engine"]["firing_order"], json({1, 8, 4, 3, 6, 5, 7, 2}));
  EXPECT_EQ(json_["engine"]["firing_angles_deg"], json({0, 90, 180, 270, 360, 450, 540, 630}));
  EXPECT_EQ(json_["engine"]["advance_deg"], 10);
}

// 36 places of 10 degrees, tooth 5 degrees wide from 270 on: centre at 272.5. The half-moon begins
// at 330 and nowhere else.
TEST_F(BoatSettings, Wheels) {
  const json& crank = Named("triggers", "crank");
  EXPECT_EQ(crank["teeth"], 35);
  EXPECT_EQ(crank["places"], 36);
  EXPECT_EQ(crank["missing"], json({36}));
  EXPECT_EQ(crank["tooth_one_deg"], 272.5);
  const json& cam = Named("triggers", "cam");
  EXPECT_EQ(cam["edges_deg"], json({330}));
  EXPECT_EQ(cam["least_window_deg"], 0);
}

// IEC 60539-1: R = 10000 exp(3977 (1/T - 1/298.15)). 0 degC: 33896 ohm or so. 100 degC: T = 373.15,
// exponent 3977 x (0.00267989 - 0.00335402) = -2.6810, 684.9 ohm -> 684.5, 5 x 684.5 / 3984.5 =
// 0.8589. 20 degC: exponent 3977 x (0.00341122 - 0.00335402) = 0.22748, 12554 -> 12399, 3.9490.
TEST_F(BoatSettings, ThermistorOfABValue) {
  EXPECT_NEAR(Volts("coolant", 100), 0.8589, kWiresV);
  EXPECT_NEAR(Volts("coolant", 20), 3.9490, kWiresV);
}

// IEC 60751: 1000 ohm at 0 degC, 1385.1 at 100, behind 1.5 kohm: 999.0 -> 1.9988 V, 1383.2 ->
// 2.3988 V. NIST Monograph 175: 33.275 mV at 800 degC and 1.000 at 25, where its leads end.
TEST_F(BoatSettings, PlatinumAndThermocouple) {
  EXPECT_NEAR(Volts("gear_oil", 0), 1.9988, kWiresV);
  EXPECT_NEAR(Volts("gear_oil", 100), 2.3987, kWiresV);
  EXPECT_NEAR(Volts("exhaust", 800), 0.032275, 2e-6);
}

// The lines of its law are written in psi: 0 to 100 psi are 0 to 689.476 kPa (NIST SP 811).
TEST_F(BoatSettings, OilPressureInTheUnitOfItsQuantity) {
  EXPECT_EQ(Named("tables", "oil_pressure")["zero"], "gauge");
  EXPECT_NEAR(Named("tables", "oil_pressure")["rows"][2][1], 689.476, 0.001);
  EXPECT_NEAR(Named("tables", "oil_pressure")["rows"][2][0], 4.5, kWiresV);
}

// Closed it pulls the pin to ground, open the 4.7 kohm pull it to 5 V.
TEST_F(BoatSettings, ASwitchHasTwoRows) {
  EXPECT_NEAR(Volts("bilge", 0), 4.98, 0.02);
  EXPECT_NEAR(Volts("bilge", 1), 0, kWiresV);
}

// ---- a display ----------------------------------------------------------------------------------

// Of the shipped bench with all that a readout can say.
class DisplaySettings : public testing::Test {
 protected:
  DisplaySettings() {
    bench_.readouts = {Coolant()};
    bench_.switching = {800, 1200, "body.charge", 2500};
    Temps().signals[0].not_available = 255;
  }
  profile::Readout Coolant() const {
    profile::Readout r = *std::ranges::find(bench_.readouts, "coolant", &profile::Readout::name);
    r.page = 3;
    r.warn_above = 110;
    r.warn_above_ends = 106;
    r.lamp = "red";
    r.priority = 1;
    r.lamp_blinks_hz = 2;
    r.lamp_latches = true;
    r.acknowledged_by = "body.charge";
    r.keeps = profile::Keeps::kHighest;
    r.dashes = "--";
    r.dashes_after_ms = 500;
    r.not_available = "n/a";
    return r;
  }
  profile::Message& Temps() {
    auto& messages = bench_.buses[0].messages;
    return *std::ranges::find(messages, "engine_temps", &profile::Message::name);
  }
  std::string Text() const { return SettingsText(bench_, SettingsOf(bench_)); }
  json Json() const { return json::parse(SettingsJson(bench_, SettingsOf(bench_))); }

  profile::Bench bench_ = Shipped("hill_climb.yaml");
};

TEST_F(DisplaySettings, WhatAReadoutMustShow) {
  EXPECT_THAT(
      Text(),
      HasSubstr("\nDisplay: page 3\n  coolant                engine_temps.coolant, in °C, "));
  EXPECT_THAT(Text(), HasSubstr(", keeps the highest\n"));
  EXPECT_THAT(Text(), HasSubstr("warns above 110 °C until 106 °C, lamp red, blinks 2 times a "
                                "second, stays lit after the warning\n"));
  EXPECT_THAT(Text(), HasSubstr("acknowledged by body.charge\n"));
  EXPECT_THAT(Text(),
              HasSubstr("-- after 500 ms without its message; n/a where it has no value\n"));
  const json readout = Json()["readouts"][0];
  EXPECT_EQ(readout["signal"], "engine_temps.coolant");
  EXPECT_EQ(readout["lamp_blinks_hz"], 2);
  EXPECT_EQ(readout["lamp_latches"], true);
  EXPECT_EQ(readout["acknowledged_by"], "body.charge");
  EXPECT_EQ(readout["keeps"], "highest");
  EXPECT_EQ(readout["not_available"], "n/a");
}

TEST_F(DisplaySettings, HowItGoesOnAndOff) {
  EXPECT_THAT(Text(),
              HasSubstr("\nDisplay: on and off\n"
                        "  dark                   for 800 ms when power comes\n"
                        "  all lamps lit          for 1200 ms then\n"
                        "  key                    body.charge; dark 2500 ms after it goes to 0\n"));
  EXPECT_EQ(Json()["switching"]["off_after_ms"], 2500);
  bench_.switching.reset();
  EXPECT_TRUE(Json()["switching"].is_null());
}

TEST_F(DisplaySettings, WhatTheBitsOfASignalMean) {
  auto& signals = Temps().signals;
  signals[0].not_available.reset();
  signals[0].multiplex = profile::Multiplex::kSelector;
  signals[1].multiplex = profile::Multiplex::kSelected;
  signals[1].multiplex_value = 3;
  signals[2].not_available = 255;
  signals[3].instead_of = {1, 2};
  EXPECT_THAT(Text(), HasSubstr("plus -40, in °C, tells the layout\n"));
  EXPECT_THAT(Text(), HasSubstr("plus -40, in °C, while coolant is 3\n"));
  EXPECT_THAT(Text(), HasSubstr("plus -40, in °C, 255 is no value\n"));
  EXPECT_THAT(Text(), HasSubstr("plus -40, in °C, or instead of it air and oil_temperature\n"));
  for (const json& message : Json()["messages"]) {
    if (message["name"] != "engine_temps") continue;
    EXPECT_EQ(message["signals"][0]["multiplex"], "selector");
    EXPECT_EQ(message["signals"][1]["multiplex_value"], 3);
    EXPECT_EQ(message["signals"][2]["not_available"], 255);
    EXPECT_EQ(message["signals"][3]["instead_of"], json({"air", "oil_temperature"}));
  }
}

TEST_F(DisplaySettings, OfOneOfWhichNothingIsRequiredThatIsSaid) {
  EXPECT_THAT(Text(), Not(HasSubstr("what the display must show: write it")));
  bench_.readouts.clear();
  EXPECT_THAT(Text(), HasSubstr("what the display must show: write it under readouts\n"));
}

// ---- how the controller fires, and what it reads of a cam -----------------------------------------

TEST(Settings, WithACamEachCylinderByItselfWithoutOneInPairs) {
  profile::Bench bench = Shipped("hill_climb.yaml");
  const auto firing = [&] {
    return json::parse(SettingsJson(bench, SettingsOf(bench)))["engine"]["firing"];
  };
  EXPECT_EQ(firing(), "sequential");
  bench.triggers.pop_back();  // the cam
  EXPECT_EQ(firing(), "paired");
  EXPECT_THAT(SettingsText(bench, SettingsOf(bench)), HasSubstr("each acts            in pairs"));
  bench.engine.strokes = 2;
  EXPECT_EQ(firing(), "sequential");
}

// Begins every 90 degrees of the cam, ends at 20, 130, 190 and 300: turned by a quarter they are
// 20 and 40 degrees beside each other, of the crank 40 and 80: beyond a window of 20.
TEST(Settings, BothEdgesAreReadWhereWidthsAloneTellTeethApart) {
  profile::Bench bench = Shipped("hill_climb.yaml");
  const auto both = [&] {
    return json::parse(SettingsJson(bench, SettingsOf(bench)))["triggers"][1]["both_edges"];
  };
  EXPECT_EQ(both(), false) << "its teeth stand unevenly";
  bench.triggers[1].wheel.teeth = {{0, 20}, {90, 130}, {180, 190}, {270, 300}};
  EXPECT_EQ(both(), true);
  EXPECT_THAT(SettingsText(bench, SettingsOf(bench)), HasSubstr("both edges           are read"));
  bench.triggers[1].wheel.teeth = {{0, 20}, {90, 110}, {180, 200}, {270, 290}};
  EXPECT_EQ(both(), false) << "no width tells them apart either";
}

// ---- from what is built alone -------------------------------------------------------------------

// All that has been told is told otherwise; what is to be set stays the same to the byte.
TEST(Settings, WhatHasBeenToldPlaysNoPart) {
  EditedBench told("hill_climb");
  const std::string right = SettingsJson(*told.Read().bench, SettingsOf(*told.Read().bench));
  const char* kController = "\ncontroller:";
  told.Edit(kController, "wheels/60-2.yaml", "wheels/36-1.yaml");
  told.Edit(kController, "offset_deg: 300", "offset_deg: 10");
  told.Edit(kController, "edge: falling", "edge: rising");
  told.Edit(kController, "window_deg: 45", "window_deg: 5");
  told.Edit(kController, "[[0.5, 20], [4.5, 400]]", "[[0.5, 0], [4.5, 1]]");
  told.Edit(kController, "[[50, 0], [150, 100]]", "[[50, 0], [151, 1]]");
  told.Edit("\n  decoder:", "[1, 3, 4, 2]", "[1, 2, 4, 3]");
  told.Edit("\n  decoder:", "advance_deg: 12", "advance_deg: 42");
  const Proof proof = told.Read();
  ASSERT_TRUE(proof.bench);
  EXPECT_GT(proof.problems.size(), 5u);
  EXPECT_EQ(SettingsJson(*proof.bench, SettingsOf(*proof.bench)), right);
}

// The twin: what is built changes it.
TEST(Settings, FollowWhatIsBuilt) {
  EditedBench built("hill_climb");
  built.Edit("\ntriggers:", "offset_deg: 300", "offset_deg: 310");
  built.Edit("\n  cam_intake:", "signal: CMP.3", "signal: CMP.3, low_at_tooth: false");
  const Settings settings = SettingsOf(*built.Read().bench);
  EXPECT_EQ(settings.triggers[0].tooth_one_deg, 311.5);
  EXPECT_EQ(settings.triggers[1].wheel.point, profile::ToothPoint::kEnd);
}

TEST(Settings, WhatTheBenchDoesNotSayIsListed) {
  EditedBench bench("hill_climb");
  bench.Edit("\nengine:", "  advance_deg: 12", "  # advance_deg: 12");
  bench.Edit("  - {circuit: oil_pressure_signal", "  - {", "  # - {");
  const auto loaded = bench.Read();
  const std::string text = SettingsText(*loaded.bench, SettingsOf(*loaded.bench));
  EXPECT_THAT(text, HasSubstr("ignition advance: what the engine was designed for"));
  EXPECT_THAT(text, HasSubstr("sensor oil_pressure: no wire leads from it"));
}

}  // namespace
}  // namespace drycrank::proofread
