// SPDX-License-Identifier: Apache-2.0
#include "profile/answers.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "profile/load.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::profile {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class Answers : public testing::Test {
 protected:
  LoadedAnswers Load(const std::string& name, const std::string& text) {
    const std::string path = folder_.Path(name);
    std::ofstream(path) << text;
    return LoadAnswers(*bench_.bench, path);
  }
  std::vector<std::string> Problems(const std::string& name, const std::string& text) {
    std::vector<std::string> lines;
    for (const Diagnostic& problem : Load(name, text).problems) {
      lines.push_back(Format(problem).substr(folder_.path().string().size() + 1));
    }
    return lines;
  }
  ScratchFolder folder_;
  LoadedBench bench_ = LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
};

// The buggy's display sends nothing.
TEST_F(Answers, DarkAndDashesAreSaidOfADisplayAlone) {
  bench_ = LoadBench(DRYCRANK_PROFILES_DIR "/benches/buggy.yaml");
  EXPECT_EQ(Load("a.yaml", "display: dashes\n").answers.at(0).answer, Answer::kOnlyDashes);
  EXPECT_EQ(Load("a.yaml", "display: dark\n").answers.at(0).answer, Answer::kDark);
  EXPECT_EQ(Load("a.yaml", "termination_vehicle: no\n").answers.at(0).answer, Answer::kNo);
  EXPECT_THAT(Problems("a.yaml", "termination_vehicle: dark\n"),
              ElementsAre("a.yaml:1:22: 'dark' is not an answer; yes, no, skip or not_fitted"));
  EXPECT_THAT(Problems("a.yaml", "display: dim\n"),
              ElementsAre("a.yaml:1:10: 'dim' is not an answer; yes, dark, dashes, no, skip or "
                          "not_fitted"));
}

TEST_F(Answers, YamlAndCsvSayTheSame) {
  const LoadedAnswers yaml = Load("a.yaml", "coil: yes\nlamp_switched: not_fitted\ninjector: No\n");
  const LoadedAnswers csv =
      Load("a.csv", "circuit,answer\n# by hand\ncoil, y\n\"lamp_switched\";f\r\ninjector,no\n");
  for (const LoadedAnswers& loaded : {yaml, csv}) {
    ASSERT_THAT(loaded.problems, IsEmpty());
    ASSERT_EQ(loaded.answers.size(), 3u);
    EXPECT_EQ(loaded.answers[0].about, "coil");
    EXPECT_EQ(loaded.answers[0].answer, Answer::kYes);
    EXPECT_EQ(loaded.answers[1].about, "lamp_switched");
    EXPECT_EQ(loaded.answers[1].answer, Answer::kNotFitted);
    EXPECT_EQ(loaded.answers[2].answer, Answer::kNo);
  }
}

TEST_F(Answers, AllThatIsWrongIsToldAtOnce) {
  EXPECT_THAT(Problems("a.yaml", "coyl: yes\ncoil: perhaps\npump: []\n"),
              ElementsAre("a.yaml:1:1: there is no output or circuit 'coyl'; did you mean 'coil'?",
                          "a.yaml:2:7: 'perhaps' is not an answer; yes, no, skip or not_fitted",
                          "a.yaml:3:7: '' is not an answer; yes, no, skip or not_fitted"));
  EXPECT_THAT(Problems("a.csv", "circuit,answer\ncoil,yes\ncoil,no\npump\n"),
              ElementsAre("a.csv:3:1: 'coil' is answered twice; keep one",
                          "a.csv:4:1: a line without comma; write a circuit and an answer, as "
                          "radiator_fan,yes"));
  EXPECT_THAT(Problems("b.csv", "coil,yes\n"),
              ElementsAre(HasSubstr("the first line does not name the columns")));
  EXPECT_THAT(LoadAnswers(*bench_.bench, "/nowhere.yaml").problems.size(), 1u);
}

// A million blanks before one word: looked at once each. Taking them off the front one by one moves
// half a billion kilobytes.
TEST_F(Answers, AreReadInOnePass) {
  EXPECT_EQ(
      Load("a.csv", "circuit,answer\ncoil," + std::string(1'000'000, ' ') + "yes\n").answers.size(),
      1u);
}

TEST_F(Answers, AFileOfSomethingElseEndsAfterAHundredProblems) {
  std::string text = "circuit,answer\n";
  for (int i = 0; i < 20'000; ++i) text += fmt::format("wrong_{},yes\n", i);
  const std::vector<std::string> problems = Problems("a.csv", text);
  ASSERT_EQ(problems.size(), 101u);
  EXPECT_EQ(problems.back(),
            "a.csv:102:1: 100 problems; reading ends here; look at the first of them");
}

}  // namespace
}  // namespace drycrank::profile
