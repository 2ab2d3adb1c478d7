// SPDX-License-Identifier: Apache-2.0
//
// How a value is shown beyond its number, worked by hand on the small bench: a message without a
// value, lamps that blink, stay lit and are acknowledged, what is kept, the first second and the
// key.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

#include "sweep/compare_shown.h"
#include "sweep/person.h"
#include "sweep/person_manner.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::HasSubstr;

class Manner : public testing::Test {
 protected:
  Manner() {
    profile::Message keys;
    keys.name = "keys";
    keys.id = 0x150;
    keys.period_ms = 100;
    keys.signals = {SmallSignal("ack", 0, 1, 1, 0, ""), SmallSignal("ignition", 1, 1, 1, 0, "")};
    bench_.buses[0].messages.push_back(keys);
    bench_.buses[0].messages[0].signals[0].not_available = 255;
    bench_.display->layouts = bench_.buses[0].messages;
  }
  profile::Gauge& Coolant() { return bench_.display->gauges[0]; }
  WhatItShowed Showed() { return SweepStandin(bench_, 1); }
  Shown At(Step step) { return FactAt(step).shown; }
  ShownFact FactAt(Step step) {
    const auto facts = Showed().facts;
    const auto found = std::ranges::find_if(
        facts, [&](const ShownFact& f) { return f.readout == "coolant" && f.step == step; });
    EXPECT_NE(found, facts.end()) << Name(step);
    return found == facts.end() ? ShownFact() : *found;
  }
  // What must be shown is as it is set now; then `change` is set otherwise.
  template <class Change>
  void SetOtherwise(Change change) {
    bench_.readouts = RequiredReadouts(bench_);
    bench_.switching = bench_.display->switching;
    was_ = Showed();
    good_ = bench_;
    change();
    now_ = Showed();
  }
  std::string Sentences() const {
    std::string all;
    for (const ShownChange& c : Compare(was_, now_).changes)
      all += c.readout + ": " + c.sentence + "\n";
    return all;
  }
  // The first edit that is named, of the display as it should be.
  std::string Named() const {
    const Explained explained = WhichSetting(good_, now_);
    if (explained.by.empty()) return "none";
    return explained.by.front().setting + " " + explained.by.front().is + " -> " +
           explained.by.front().becomes;
  }

  profile::Bench bench_ = SmallBench(), good_;
  WhatItShowed was_, now_;
  std::uint64_t seed_ = 1;
};

TEST_F(Manner, AMessageWithoutAValueIsShownAsSuch) {
  EXPECT_EQ(At(Step::kNotAvailable), (Shown{1, "---", "degC", "not available", ""}));
  Coolant().not_available = "n/a";
  EXPECT_EQ(At(Step::kNotAvailable).text, "n/a");
}

TEST_F(Manner, AFloatThatIsNoNumberIsNoValue) {
  auto& oil = bench_.buses[0].messages[0].signals[2];
  oil = SmallSignal("oil", 16, 32, 1, 0, "kPa");
  oil.is_float = true;
  bench_.display->layouts = bench_.buses[0].messages;
  const auto facts = Showed().facts;
  const auto none = std::ranges::find_if(facts, [](const ShownFact& f) {
    return f.readout == "oil" && f.step == Step::kNotAvailable;
  });
  ASSERT_NE(none, facts.end());
  EXPECT_EQ(none->shown.text, "---");
  for (const ShownFact& f : facts) EXPECT_THAT(f.shown.text, testing::Not(HasSubstr("nan")));
}

// Raw 255 without its meaning is 255 - 40 = 215 degC, above 112.
TEST_F(Manner, ACodeThatIsTakenForANumberIsFoundAndNamed) {
  SetOtherwise([&] { bench_.display->layouts[0].signals[0].not_available.reset(); });
  EXPECT_EQ(Sentences(), "coolant: when its message has no value it now shows '215', was '---'\n");
  EXPECT_EQ(Named(), "not_available of engine.coolant 255 -> none");
}

TEST_F(Manner, ALampThatBlinksIsSeenToBlink) {
  SetOtherwise([&] { Coolant().lamp_blinks_hz = 2; });
  EXPECT_THAT(Sentences(), HasSubstr("while it warns the lamp is now red blinks 2 Hz, was red"));
  EXPECT_EQ(Named(), "lamp_blinks_hz of gauge coolant 0 -> 2");
}

TEST_F(Manner, ALampThatStaysLitIsDarkWhenAcknowledged) {
  Coolant().lamp_latches = true;
  Coolant().acknowledged_by = "keys.ack";
  EXPECT_EQ(At(Step::kAfterWarning).lamp, "red");
  EXPECT_EQ(At(Step::kAfterWarning).state, "ok");
  EXPECT_EQ(At(Step::kAcknowledged).lamp, "");
  EXPECT_EQ(At(Step::kAcknowledgedWarning).lamp, "red");
}

TEST_F(Manner, AcknowledgedWhileItWarnsABlinkingLampIsSteady) {
  Coolant().lamp_blinks_hz = 1.5;
  Coolant().acknowledged_by = "keys.ack";
  EXPECT_EQ(At(Step::kAcknowledgedWarning).lamp, "red");
  EXPECT_EQ(FactAt(Step::kWarnsAbove).shown.lamp, "red blinks 1.5 Hz");
}

TEST_F(Manner, ALampThatShouldStayLitAndDoesNotIsFoundAndNamed) {
  Coolant().lamp_latches = true;
  Coolant().acknowledged_by = "keys.ack";
  SetOtherwise([&] { Coolant().lamp_latches = false; });
  EXPECT_THAT(Sentences(), HasSubstr("when it does not warn the lamp is now dark, was red"));
  EXPECT_EQ(Named(), "lamp_latches of gauge coolant true -> false");
}

TEST_F(Manner, AKeyThatDoesNotAcknowledgeIsFoundAndNamed) {
  Coolant().lamp_latches = true;
  Coolant().acknowledged_by = "keys.ack";
  SetOtherwise([&] { Coolant().acknowledged_by = ""; });
  EXPECT_THAT(Sentences(), HasSubstr("acknowledged, the lamp is now red, was dark"));
  EXPECT_EQ(Named(), "acknowledged_by of gauge coolant keys.ack -> none");
}

TEST_F(Manner, TheHighestIsKept) {
  Coolant().keeps = profile::Keeps::kHighest;
  const auto facts = Showed().facts;
  for (const ShownFact& f : facts) {
    if (f.readout != "coolant" || f.step != Step::kDown) continue;
    EXPECT_EQ(f.shown.text, "214") << "254 is the highest raw value but for its code";
  }
}

TEST_F(Manner, WhatIsKeptAndShouldNotBeIsFoundAndNamed) {
  SetOtherwise([&] { Coolant().keeps = profile::Keeps::kHighest; });
  EXPECT_THAT(Sentences(), HasSubstr("coolant: "));
  EXPECT_EQ(Compare(was_, now_).readouts_identical, 2u);
  EXPECT_EQ(Named(), "keeps of gauge coolant nothing -> highest");
}

// Dark for 800 ms, then lamps for 1200 ms more: lit until 2 s. The key is heard at once.
TEST_F(Manner, TheFirstSecondAndTheKeyAreMeasured) {
  bench_.display->switching = {800, 1200, "keys.ignition", 2500};
  EXPECT_DOUBLE_EQ(FactAt(Step::kStandsAfter).input.value_or(0), 0.8);
  EXPECT_DOUBLE_EQ(FactAt(Step::kLampTest).input.value_or(0), 2.0);
  EXPECT_DOUBLE_EQ(FactAt(Step::kOffAfter).input.value_or(0), 2.5);
  EXPECT_EQ(At(Step::kOffAfter).state, "off");
  EXPECT_EQ(At(Step::kUp).state, "ok") << "it is on again";
}

TEST_F(Manner, EachTimeOfGoingOnAndOffIsFoundAndNamed) {
  bench_.display->switching = {800, 1200, "keys.ignition", 2500};
  SetOtherwise([&] { bench_.display->switching.dark_ms = 900; });
  EXPECT_THAT(Sentences(),
              HasSubstr("after power came it now stands after 0.9 s, was after 0.8 s"));
  EXPECT_EQ(Named(), "dark_ms of switching 800 -> 900");
  bench_ = good_;
  SetOtherwise([&] { bench_.display->switching.lamp_test_ms = 0; });
  EXPECT_THAT(Sentences(), HasSubstr("at power on its lamp is now lit never, was until 2 s"));
  EXPECT_EQ(Named(), "lamp_test_ms of switching 1200 -> 0");
  bench_ = good_;
  SetOtherwise([&] { bench_.display->switching.off_after_ms = 3000; });
  EXPECT_THAT(Sentences(), HasSubstr("with the key off it is now dark after 3 s, was after 2.5 s"));
  EXPECT_EQ(Named(), "off_after_ms of switching 2500 -> 3000");
}

TEST_F(Manner, SeedsChangeNothing) {
  Coolant().lamp_latches = true;
  Coolant().acknowledged_by = "keys.ack";
  bench_.display->switching = {300, 500, "keys.ignition", 1000};
  const auto facts = Showed().facts;
  for (std::uint64_t seed = 2; seed <= 8; ++seed)
    EXPECT_EQ(SweepStandin(bench_, seed).facts, facts);
}

// ---- layouts -----------------------------------------------------------------------------------

// Bank 1: raw - 40 in byte 1; bank 2: raw in byte 1.
profile::Bench BankBench() {
  profile::Bench bench = SmallBench();
  profile::Message message = bench.buses[0].messages[0];
  message.signals = {SmallSignal("bank", 0, 8, 1, 0, ""),
                     SmallSignal("coolant", 8, 8, 1, -40, "degC"),
                     SmallSignal("gear", 8, 8, 1, 0, "")};
  message.signals[0].multiplex = profile::Multiplex::kSelector;
  for (const std::size_t s : {1u, 2u}) {
    message.signals[s].multiplex = profile::Multiplex::kSelected;
    message.signals[s].multiplex_value = static_cast<std::int64_t>(s);
  }
  bench.buses[0].messages = {message};
  bench.display->layouts = {message};
  bench.display->gauges.pop_back();
  return bench;
}

TEST(Banks, BothStandAtOneMoment) {
  const profile::Bench bench = BankBench();
  StandinScreen screen(bench);
  SendRest(bench, 1, screen);
  screen.Send({0, 0, 1}, 95);
  screen.Send({0, 0, 2}, 3);
  const auto all = screen.LookAtAll();
  EXPECT_EQ(all[0].text, "95");
  EXPECT_EQ(all[1].text, "3");
}

TEST(Banks, EachQuestionOfAPersonReachesEachBank) {
  const profile::Bench bench = BankBench();
  StandinScreen screen(bench);
  const std::vector<profile::Readout> readouts =
      RequiredReadouts(bench);  // questions point to them
  for (const Question& question : QuestionsOf(readouts)) {
    SendQuestion(bench, question, screen);
    const bool silent = question.question == kQuestions;
    for (const Shown& shown : screen.LookAtAll()) {
      EXPECT_EQ(shown.state == "stale", silent) << question.question;
    }
  }
}

TEST(Banks, ADisplayThatDoesNotLookAtTheSelectorIsFound) {
  profile::Bench bench = BankBench();
  bench.readouts = RequiredReadouts(bench);
  const WhatItShowed was = SweepStandin(bench, 1);
  bench.display->layouts[0].signals[1].multiplex = profile::Multiplex::kNone;
  const Comparison comparison = Compare(was, SweepStandin(bench, 1));
  ASSERT_FALSE(comparison.changes.empty());
  EXPECT_EQ(comparison.changes.front().readout, "coolant");
  EXPECT_EQ(comparison.readouts_identical, 1u);
}

// Bytes 0 and 1 as two signals, or as one of 16 bits.
TEST(Alternatives, EachIsSwept) {
  profile::Bench bench = SmallBench();
  profile::Message& message = bench.buses[0].messages[0];
  message.signals.push_back(SmallSignal("both", 0, 16, 1, 0, ""));
  message.signals.back().instead_of = {0, 1};
  bench.display->layouts = bench.buses[0].messages;
  bench.display->gauges.push_back(SmallGauge("both", "both", "", 600));
  const auto facts = SweepStandin(bench, 1).facts;
  const auto highest = [&](const char* readout) {
    double most = -1e9;
    for (const ShownFact& f : facts) {
      if (f.readout == readout && f.step == Step::kUp)
        most = std::max(most, std::stod(f.shown.text));
    }
    return most;
  };
  EXPECT_EQ(highest("coolant"), 215) << "255 - 40";
  EXPECT_EQ(highest("both"), 65535);
}

// ---- a person ----------------------------------------------------------------------------------

Reading Read(int question, const char* readout, const char* text, const char* lamp) {
  return {question, 1, readout, text, lamp, {}};
}

// Oil warns below 15 psi, without a lamp. Raw 1035 is 15.0114 psi, 1034 is 14.9969.
TEST(APerson, SaysByAWordWhetherAReadoutWithoutALampWarns) {
  const profile::Bench bench = SmallBench();
  const auto compared = [&](const char* word) {
    const PersonSaw saw = TakeReadings(bench, {Read(3, "oil", "15", word)});
    return std::pair(CompareWithRequired({{}, saw.required}, {{}, saw.facts}).changes.size(),
                     std::ranges::count_if(saw.not_shown, [](const std::string& what) {
                       return what == "oil: question 3 on page 1: nobody saw whether it warns";
                     }));
  };
  EXPECT_EQ(compared("warns"), (std::pair<std::size_t, std::ptrdiff_t>(0, 0)));
  EXPECT_EQ(compared("quiet"), (std::pair<std::size_t, std::ptrdiff_t>(1, 0)));
  EXPECT_EQ(compared(""), (std::pair<std::size_t, std::ptrdiff_t>(0, 1))) << "not said, not shown";
}

TEST(APerson, DoesNotTellHowFastALampBlinks) {
  profile::Bench bench = SmallBench();
  bench.display->gauges[0].lamp_blinks_hz = 2;
  const auto changes = [&](const char* lamp) {
    const PersonSaw saw = TakeReadings(bench, {Read(3, "coolant", "113", lamp)});
    return CompareWithRequired({{}, saw.required}, {{}, saw.facts}).changes.size();
  };
  EXPECT_EQ(changes("red blinks"), 0u);
  EXPECT_EQ(changes("red"), 1u);
}

// The bench of Manner: coolant warns above 112 °C with a red lamp that blinks, stays lit and is
// acknowledged; raw 255 says that there is no value. Its quiet value lies between -40 and 108: 34.
class APersonIsAsked : public Manner {
 protected:
  APersonIsAsked() {
    Coolant().lamp_blinks_hz = 2;
    Coolant().lamp_latches = true;
    Coolant().acknowledged_by = "keys.ack";
    Coolant().not_available = "n/a";
    bench_.display->gauges[1].keeps = profile::Keeps::kHighest;
    bench_.display->switching = {800, 1200, "keys.ignition", 2500};
  }
  static int Asked(const char* name) { return QuestionNamed(name).value_or(0); }
  PersonSaw Saw(const char* question, const char* text, const char* lamp = "",
                const char* readout = "coolant") {
    return TakeReadings(bench_, {Read(Asked(question), readout, text, lamp)});
  }
  // What differs from what must be shown.
  std::string Differs(const char* question, const char* text, const char* lamp = "",
                      const char* readout = "coolant") {
    const PersonSaw saw = Saw(question, text, lamp, readout);
    EXPECT_EQ(saw.facts.size(), 1u);
    WhatItShowed required, showed;
    required.by.witness = showed.by.witness = "a person";
    required.facts = saw.required;
    showed.facts = saw.facts;
    std::string all;
    for (const auto& change : CompareWithRequired(required, showed).changes)
      all += change.sentence + "\n";
    return all;
  }
};

TEST_F(APersonIsAsked, OneQuestionForEachThingAndPage) {
  const auto readouts = RequiredReadouts(bench_);
  std::vector<std::string> asked;
  for (const Question& q : MannerQuestionsOf(bench_, readouts)) {
    std::string line = QuestionName(q.question) + ":";
    for (const auto* readout : q.readouts) line += " " + readout->name;
    asked.push_back(line);
  }
  EXPECT_THAT(asked, testing::ElementsAre(
                         "not available: coolant", "kept: gear", "after the warning: coolant",
                         "acknowledged: coolant", "acknowledged while it warns: coolant",
                         "stands after: coolant", "lamp test: coolant", "off after: coolant"));
}

TEST_F(APersonIsAsked, WhatStandsThereWithoutAValue) {
  EXPECT_EQ(Differs("not available", "n/a"), "");
  EXPECT_EQ(Differs("not available", "215"),
            "when its message has no value it shows '215', must be 'n/a'\n");
}

TEST_F(APersonIsAsked, WhetherTheLampStaysLit) {
  EXPECT_EQ(Differs("after the warning", "34", "red blinks"), "");
  EXPECT_EQ(Differs("after the warning", "34"),
            "after the warning the lamp is dark, must be red blinks\n");
}

TEST_F(APersonIsAsked, WhetherItIsAcknowledged) {
  EXPECT_EQ(Differs("acknowledged", "34"), "");
  EXPECT_EQ(Differs("acknowledged", "34", "red blinks"),
            "acknowledged, the lamp is red blinks, must be dark\n");
  EXPECT_EQ(Differs("acknowledged while it warns", "214", "red"), "");
  EXPECT_EQ(Differs("acknowledged while it warns", "214", "red blinks"),
            "acknowledged while it warns, the lamp is red blinks, must be red\n");
}

// Gear is held at 6 at most; what comes after is quiet.
TEST_F(APersonIsAsked, WhatIsKept) {
  EXPECT_EQ(Differs("kept", "6", "", "gear"), "");
  EXPECT_EQ(Differs("kept", "2", "", "gear"),
            "after the highest or lowest there is it shows '2', must be '6'\n");
}

// Dark for 0.8 s, lit until 2 s, dark 2.5 s after the key: counted to a second.
TEST_F(APersonIsAsked, SecondsOfPowerAndOfTheKey) {
  EXPECT_EQ(Differs("stands after", "1"), "");
  EXPECT_EQ(Differs("stands after", "2 s"),
            "after power came it stands after 2 s, must be after 0.8 s\n");
  EXPECT_EQ(Differs("lamp test", "2,5"), "");
  EXPECT_EQ(Differs("lamp test", "none"), "at power on its lamp is lit never, must be until 2 s\n");
  EXPECT_EQ(Differs("off after", "3 s"), "");
  EXPECT_EQ(Differs("off after", "never"),
            "with the key off it is dark never, must be after 2.5 s\n");
}

TEST_F(APersonIsAsked, WhatIsNotAnsweredIsListedAndNoDifference) {
  const PersonSaw saw = TakeReadings(bench_, {});
  EXPECT_TRUE(saw.facts.empty());
  EXPECT_EQ(saw.not_shown.size(), 3u * kQuestions + 8u);
  EXPECT_THAT(saw.not_shown,
              testing::IsSupersetOf(
                  {"coolant: what it shows when its message has no value was not answered",
                   "gear: what it keeps was not answered",
                   "coolant: its lamp once the warning is over was not answered",
                   "coolant: its lamp once it is acknowledged was not answered",
                   "coolant: its lamp acknowledged while it warns was not answered",
                   "coolant: how soon a value stands there when power comes was not answered",
                   "coolant: its lamp when power comes was not answered",
                   "coolant: how soon the screen is dark with the key off was not answered"}));
}

// Question 4 is the lower end, after 3 has warned: the lamp is lit still, and the value is in
// order.
TEST_F(APersonIsAsked, ALampThatStaysLitIsNoWarningOfTheNextQuestion) {
  const PersonSaw saw = TakeReadings(bench_, {Read(4, "coolant", "-40", "red blinks")});
  EXPECT_TRUE(CompareWithRequired({{}, saw.required}, {{}, saw.facts}).changes.empty());
  const PersonSaw dark = TakeReadings(bench_, {Read(4, "coolant", "-40", "")});
  EXPECT_FALSE(CompareWithRequired({{}, dark.required}, {{}, dark.facts}).changes.empty());
}

// Question 6 is silence, after 5 has warned: the lamp is lit still, and a picture may not show it.
TEST_F(APersonIsAsked, ALampThatNobodySawBesideAGoneValueIsNotShown) {
  const PersonSaw saw = TakeReadings(bench_, {Read(6, "coolant", "---", "?")});
  EXPECT_TRUE(CompareWithRequired({{}, saw.required}, {{}, saw.facts}).changes.empty());
  EXPECT_THAT(saw.not_shown,
              testing::Contains("coolant: question 6 on page 1: nobody saw its lamp"));
}

// With the key off it would be dark, and every reading wrong.
TEST_F(APersonIsAsked, TheKeyIsOnMeanwhile) {
  const PersonSaw saw = TakeReadings(bench_, {Read(4, "oil", "0", "warns")});
  ASSERT_EQ(saw.required.size(), 1u);
  EXPECT_EQ(saw.required[0].shown.text, "0");
}

TEST_F(APersonIsAsked, AnswersAreReadByTheNameOfTheThing) {
  const auto read = [&](const std::string& line) { return ParseReadings(bench_, "f", line); };
  const ReadAnswers good = read("lamp test,1,coolant,2 s\nnot available,1,coolant,n/a\n");
  ASSERT_TRUE(good.problems.empty()) << good.problems[0].what;
  EXPECT_EQ(good.readings[0].question, Asked("lamp test"));
  EXPECT_EQ(LineOf(good.readings[1]), "not available,1,coolant,n/a,,");
  EXPECT_THAT(read("kept,1,coolant,3\n").problems.at(0).what,
              HasSubstr("'kept' is not asked of 'coolant'"));
  EXPECT_THAT(read("off after,1,coolant,soon\n").problems.at(0).what, HasSubstr("no time"));
  EXPECT_THAT(read("9,1,coolant,3\n").problems.at(0).what, HasSubstr("there is no question '9'"));
}

TEST(APerson, WhatIsTooOldIsTakenOutAndSaid) {
  std::vector<Reading> readings{Read(1, "oil", "15", ""), Read(2, "oil", "16", ""),
                                Read(3, "oil", "17", "")};
  readings[0].at_s = 1000 * 3600;
  readings[1].at_s = 1025 * 3600;
  auto undated = readings;
  const auto said = TakeOutOld(readings, 1030 * 3600, 24, false);
  EXPECT_THAT(said, testing::ElementsAre(
                        "oil: question 1 on page 1 was read 30 h ago, and at most 24 h count"));
  EXPECT_EQ(readings.size(), 2u);
  EXPECT_THAT(TakeOutOld(undated, 1030 * 3600, 24, true),
              testing::Contains("oil: question 3 on page 1: nobody wrote down when it was read"));
}

TEST(APerson, AReadingIsWrittenAsItIsRead) {
  Reading reading = Read(2, "oil", "14,9 \"psi\"", "quiet");
  reading.at_s = 1772357400;  // 2026-03-01 09:30:00 UTC, by date -d
  EXPECT_EQ(LineOf(reading), "2,1,oil,\"14,9 \"\"psi\"\"\",quiet,2026-03-01T09:30:00Z");
  const ReadAnswers again = ParseReadings(SmallBench(), "f", LineOf(reading) + "\n");
  ASSERT_TRUE(again.problems.empty());
  EXPECT_EQ(again.readings.at(0).at_s, reading.at_s);
  EXPECT_EQ(again.readings.at(0).text, reading.text);
}

// ---- one key too many ---------------------------------------------------------------------------

// By some seeds the key rests high, and is pressed all the time: found as well.
TEST_F(Manner, AKeyTooManyIsFoundAndNamedWhateverTheSeed) {
  const std::function<void()> kinds[] = {[&] { Coolant().lamp_latches = true; },
                                         [&] { Coolant().lamp_blinks_hz = 2; },
                                         [&] {
                                           Coolant().keeps = profile::Keeps::kHighest;
                                           Coolant().warn_above.reset();
                                         }};
  const profile::Bench small = bench_;
  for (const auto& kind : kinds) {
    bench_ = small;
    kind();
    SetOtherwise([&] { Coolant().acknowledged_by = "keys.ack"; });
    for (seed_ = 1; seed_ <= 6; ++seed_) {
      now_ = SweepStandin(bench_, seed_);
      was_ = SweepStandin(good_, seed_);
      EXPECT_THAT(Sentences(), HasSubstr("coolant: ")) << seed_;
      const bool may_be_steady = Coolant().lamp_blinks_hz > 0;  // shows the same, acknowledged at once
      if (!may_be_steady) {
        EXPECT_EQ(Named(), "acknowledged_by of gauge coolant none -> keys.ack") << seed_;
      }
    }
  }
}

// With the key at rest, the others make it.
TEST_F(Manner, AKeyTooManyIsSaid) {
  Coolant().lamp_latches = true;
  SetOtherwise([&] { Coolant().acknowledged_by = "keys.ack"; });
  std::string said;
  for (seed_ = 1; seed_ <= 6; ++seed_) {
    now_ = SweepStandin(bench_, seed_);
    was_ = SweepStandin(good_, seed_);
    said += Sentences();
  }
  EXPECT_THAT(said, HasSubstr("when other keys are pressed the lamp is now dark, was red"));
}

// The bit beside it is another key, which the sweep presses too.
TEST_F(Manner, AKeyOfOneBitThatIsReadAsTwoIsFoundAndNamedWhateverTheSeed) {
  for (profile::Message* message : {&bench_.buses[0].messages[1], &bench_.display->layouts[1]}) {
    message->signals.push_back(SmallSignal("wipe", 2, 1, 1, 0, ""));
    message->signals[0].start_bit = 1;
    message->signals[1].start_bit = 0;
  }
  Coolant().lamp_latches = true;
  Coolant().acknowledged_by = "keys.ack";
  SetOtherwise([&] { bench_.display->layouts[1].signals[0].length_bits = 2; });
  for (seed_ = 1; seed_ <= 6; ++seed_) {
    now_ = SweepStandin(bench_, seed_);
    was_ = SweepStandin(good_, seed_);
    EXPECT_THAT(Sentences(), HasSubstr("coolant: ")) << seed_;
    EXPECT_EQ(Named(), "length_bits of keys.ack 1 -> 2") << seed_;
  }
}

// Kept until a key lets go of it: 112 - 4 degC is where it ends, with the key.
TEST_F(Manner, TheEndOfAWarningOfWhatIsKeptIsFoundAndNamed) {
  Coolant().keeps = profile::Keeps::kHighest;
  Coolant().acknowledged_by = "keys.ack";
  EXPECT_EQ(FactAt(Step::kEndsBelow).input, 108);
  SetOtherwise([&] { Coolant().hysteresis = 6; });
  EXPECT_THAT(Sentences(), HasSubstr("the high warning now ends at 106 °C, was 108 °C"));
  EXPECT_EQ(Named(), "hysteresis of gauge coolant 4 -> 6");
}

// ---- one that smooths ---------------------------------------------------------------------------

// From above a low pass stays above: 108 is not reached, and the warning ends at 107.
TEST_F(Manner, WhatIsSmoothedComesToItsEndFromOneSide) {
  const auto smoothed = SweepStandin(bench_, 1, false, true, {"coolant"}).facts;
  const auto end = std::ranges::find_if(smoothed, [](const ShownFact& f) {
    return f.readout == "coolant" && f.step == Step::kEndsBelow;
  });
  ASSERT_NE(end, smoothed.end());
  EXPECT_EQ(end->shown.text, "quiet at 107; warns at 108");
  const auto limit = std::ranges::find_if(smoothed, [](const ShownFact& f) {
    return f.readout == "coolant" && f.step == Step::kWarnsAbove;
  });
  EXPECT_EQ(limit->shown.text, "quiet at 112; warns at 113");
}

TEST_F(Manner, OfWhatIsSmoothedTheSettingIsNamed) {
  bench_.readouts = RequiredReadouts(bench_);
  profile::Bench wrong = bench_;
  wrong.display->gauges[0].hysteresis = 5;
  const Explained explained = WhichSetting(bench_, SweepStandin(wrong, 1, false, true, {"coolant"}));
  ASSERT_FALSE(explained.by.empty());
  EXPECT_EQ(explained.by.front().setting, "hysteresis of gauge coolant");
  EXPECT_EQ(explained.by.front().becomes, "5");
}

}  // namespace
}  // namespace drycrank::sweep
