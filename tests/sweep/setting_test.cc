// SPDX-License-Identifier: Apache-2.0
//
// One thing set otherwise on a bench worked by hand: the setting that is named first, what the
// display has, and what is to be typed. A layout chosen by a selector, a float, a key, and the
// small bench.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using profile::Multiplex;

profile::Bench Wide() {
  profile::Bench bench = SmallBench();
  bench.buses[0].messages[0].signals[0].not_available = 255;
  profile::Message keys;
  keys.name = "keys";
  keys.id = 0x150;
  keys.period_ms = 100;
  keys.signals = {SmallSignal("ack", 0, 1, 1, 0, ""), SmallSignal("ignition", 1, 1, 1, 0, ""),
                  SmallSignal("peak", 8, 8, 1, 0, "A")};
  profile::Message mux;
  mux.name = "mux";
  mux.id = 0x18FF1234;
  mux.extended = true;
  mux.period_ms = 100;
  mux.signals = {SmallSignal("bank", 0, 4, 1, 0, ""), SmallSignal("air", 8, 8, 1, -40, "degC"),
                 SmallSignal("volt", 8, 8, 0.1, 0, "V"), SmallSignal("lam", 32, 32, 1, 0, "lambda")};
  mux.signals[0].multiplex = Multiplex::kSelector;
  for (const int bank : {1, 2}) {
    profile::Signal& s = mux.signals[static_cast<std::size_t>(bank)];
    s.multiplex = Multiplex::kSelected;
    s.multiplex_value = bank;
  }
  mux.signals[3].is_float = true;
  mux.signals[3].min = 0.5;
  mux.signals[3].max = 2;
  bench.buses[0].messages.push_back(keys);
  bench.buses[0].messages.push_back(mux);
  bench.display->layouts = bench.buses[0].messages;
  const auto add = [&](const char* name, const char* message, const char* unit) -> profile::Gauge& {
    profile::Gauge gauge = SmallGauge(name, name, unit, 600);
    gauge.message = message;
    bench.display->gauges.push_back(gauge);
    return bench.display->gauges.back();
  };
  profile::Gauge& peak = add("peak", "keys", "A");
  peak.keeps = profile::Keeps::kHighest;
  peak.acknowledged_by = "keys.ack";
  add("air", "mux", "degC");
  profile::Gauge& volt = add("volt", "mux", "V");
  volt.decimals = 1;
  volt.warn_above = 15.5;
  volt.warn_below = 11.5;
  volt.hysteresis = 0.3;
  volt.hysteresis_below = 0.5;
  profile::Gauge& lam = add("lam", "mux", "lambda");
  lam.decimals = 2;
  lam.warn_above = 1.1;
  lam.hysteresis = 0.05;
  bench.switching = {0, 0, "keys.ignition", 1000};
  bench.display->switching = *bench.switching;
  bench.readouts = RequiredReadouts(bench);
  return bench;
}

profile::Gauge& GaugeOf(profile::Display& d, const char* name) {
  return d.gauges[static_cast<std::size_t>(profile::IndexOf(d.gauges, name))];
}
profile::Signal& SignalOf(profile::Display& d, std::size_t message, std::size_t signal) {
  return d.layouts[message].signals[signal];
}

struct Case {
  const char* name;
  std::function<void(profile::Display&)> edit;
  const char* named;  // setting: is -> becomes
};

const Case kCases[] = {
    {"limit_of_a_float", [](auto& d) { GaugeOf(d, "lam").warn_above = 1.11; },
     "warn_above of gauge lam: 1.1 -> 1.11"},
    {"scale_of_a_float", [](auto& d) { SignalOf(d, 2, 3).scale = 1.02; },
     "scale of mux.lam: 1 -> 1.02"},
    {"is_float", [](auto& d) { SignalOf(d, 2, 3).is_float = false; },
     "is_float of mux.lam: true -> false"},
    {"hysteresis_below_left_out", [](auto& d) { GaugeOf(d, "volt").hysteresis_below.reset(); },
     "hysteresis_below of gauge volt: 0.5 -> none"},
    {"code_254", [](auto& d) { SignalOf(d, 0, 0).not_available = 254; },
     "not_available of engine.coolant: 255 -> 254"},
    {"no_code", [](auto& d) { SignalOf(d, 0, 0).not_available.reset(); },
     "not_available of engine.coolant: 255 -> none"},
    {"bank", [](auto& d) { SignalOf(d, 2, 1).multiplex_value = 2; },
     "multiplex of mux.air: 1 -> 2"},
    {"selector", [](auto& d) { SignalOf(d, 2, 0).start_bit = 4; }, "start_bit of mux.bank: 0 -> 4"},
    {"switching_key", [](auto& d) { d.switching.key = "keys.ack"; },
     "key of switching: keys.ignition -> keys.ack"},
    {"identifier_of_keys", [](auto& d) { d.layouts[1].id = 0x140; },
     "identifier of message keys: 0x150 -> 0x140"},
    {"short_identifier",
     [](auto& d) {
       d.layouts[2].id = 0x234;
       d.layouts[2].extended = false;
     },
     "identifier of message mux: 0x18FF1234 (29 bits) -> 0x234"},
    {"words_left_out", [](auto& d) { GaugeOf(d, "gear").values.clear(); },
     "name of -1, 0 of gauge gear: R, N -> none, none"},
    {"words_exchanged", [](auto& d) { GaugeOf(d, "gear").values = {{-1, "N"}, {0, "R"}}; },
     "name of -1, 0 of gauge gear: R, N -> N, R"},
    {"never_gone", [](auto& d) { GaugeOf(d, "oil").stale_ms = 1e9; },
     "stale_ms of gauge oil: 600 -> one that never ends"},
    {"limit_whose_end_stays",
     [](auto& d) {
       GaugeOf(d, "coolant").warn_above = 110;
       GaugeOf(d, "coolant").hysteresis = 2;
     },
     "warn_above of gauge coolant: 112 -> 110"},
    {"key_of_what_is_kept", [](auto& d) { GaugeOf(d, "peak").acknowledged_by = "keys.ignition"; },
     "acknowledged_by of gauge peak: keys.ack -> keys.ignition"},
    {"no_key_of_what_is_kept", [](auto& d) { GaugeOf(d, "peak").acknowledged_by.clear(); },
     "acknowledged_by of gauge peak: keys.ack -> none"},
    {"odd_length", [](auto& d) { SignalOf(d, 0, 2).length_bits = 13; },
     "length_bits of engine.oil: 16 -> 13"},
};

class OneSetting : public testing::TestWithParam<Case> {};

TEST_P(OneSetting, IsNamedFirst) {
  profile::Bench bench = Wide();
  ASSERT_EQ(SweepStandin(AsRequired(bench), 1).facts, SweepStandin(bench, 1).facts);
  profile::Bench wrong = bench;
  GetParam().edit(*wrong.display);
  const Explained explained = WhichSetting(bench, SweepStandin(wrong, 1));
  ASSERT_FALSE(explained.by.empty()) << explained.tried << " tried";
  const Edit& first = explained.by.front();
  EXPECT_EQ(first.setting + ": " + first.is + " -> " + first.becomes, GetParam().named);
}

INSTANTIATE_TEST_SUITE_P(Each, OneSetting, testing::ValuesIn(kCases),
                         [](const auto& param) { return std::string(param.param.name); });

std::vector<std::string> NamedFor(const std::function<void(profile::Display&)>& edit) {
  profile::Bench bench = Wide(), wrong = bench;
  GaugeOf(*bench.display, "peak").acknowledged_by = "";
  GaugeOf(*bench.display, "peak").max = 100;
  for (profile::Readout& r : bench.readouts) {
    if (r.name == "peak") r.acknowledged_by = "", r.max = 100;
  }
  wrong = bench;
  edit(*wrong.display);
  std::vector<std::string> named;
  for (const Edit& edit_named : WhichSetting(bench, SweepStandin(wrong, 1)).by) {
    named.push_back(edit_named.setting + ": " + edit_named.is + " -> " + edit_named.becomes);
  }
  return named;
}

// Held at 0, -1 has the word of 0: as if that were its own word.
TEST(Setting, WhereAWordAndAnEndShowTheSameBothAreNamed) {
  EXPECT_THAT(NamedFor([](auto& d) { GaugeOf(d, "gear").min = 0; }),
              testing::IsSupersetOf({"name of -1 of gauge gear: R -> N",
                                     "min of gauge gear: -1 -> 0"}));
}

// Raw 255 is -1 then. It is sent before anything that is higher, so that nothing else explains it.
TEST(Setting, TheSignOfWhatIsKeptIsSeenAboveItsMax) {
  EXPECT_THAT(NamedFor([](auto& d) { SignalOf(d, 1, 2).is_signed = true; }),
              testing::ElementsAre("is_signed of keys.peak: false -> true"));
}

// Who types the other byte order for the same bytes types another start bit as well.
TEST(Setting, AnotherByteOrderOfTheSameBytesIsSaidWithItsStart) {
  const auto big = [](auto& d) {
    SignalOf(d, 0, 2).byte_order = profile::ByteOrder::kBig;
    SignalOf(d, 0, 2).start_bit = 23;
  };
  EXPECT_THAT(NamedFor(big), testing::ElementsAre("byte_order of engine.oil: little, start_bit 16 "
                                                  "-> big, start_bit 23"));
}

// From the wrong bench to what is required, where the identifier is one that no message of it has.
TEST(Setting, TheIdentifierThatIsSentIsNamedToo) {
  profile::Bench bench = Wide(), wrong = bench;
  wrong.display->layouts[1].id = 0x151;
  const Explained explained = WhichSetting(wrong, SweepStandin(bench, 1));
  ASSERT_FALSE(explained.by.empty());
  EXPECT_EQ(explained.by.front().becomes, "0x150");
}

}  // namespace
}  // namespace drycrank::sweep
