// SPDX-License-Identifier: Apache-2.0
//
// Every file in tests/bad_profiles is wrong in some way; the file beside it, with the ending
// .expected, has all that must be said about it, line by line. The bases they include are right, so
// that what is said comes from the file itself.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "profile/load.h"

namespace drycrank::profile {
namespace {

const std::string kFolder = DRYCRANK_TESTS_DIR "/bad_profiles/";

std::vector<std::string> BadFiles() {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(kFolder)) {
    if (entry.path().extension() == ".yaml") names.push_back(entry.path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::vector<std::string> Problems(const std::string& name) {
  const std::string path = kFolder + name + ".yaml";
  const Diagnostics problems =
      KindOfFile(path) == "scenario" ? LoadScenario(path).problems : LoadBench(path).problems;
  std::vector<std::string> lines;
  for (const Diagnostic& problem : problems) {
    std::string line = Format(problem);
    for (auto at = line.find(kFolder); at != std::string::npos; at = line.find(kFolder)) {
      line.erase(at, kFolder.size());
    }
    lines.push_back(std::move(line));
  }
  return lines;
}

std::vector<std::string> Expected(const std::string& name) {
  std::ifstream stream(kFolder + name + ".expected");
  std::vector<std::string> lines;
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

class BadProfile : public testing::TestWithParam<std::string> {};

TEST_P(BadProfile, IsToldAllThatIsWrong) {
  const auto expected = Expected(GetParam());
  ASSERT_FALSE(expected.empty()) << "no .expected beside it";
  EXPECT_EQ(Problems(GetParam()), expected);
}

INSTANTIATE_TEST_SUITE_P(Corpus, BadProfile, testing::ValuesIn(BadFiles()),
                         [](const auto& name) { return name.param; });

TEST(BadProfiles, AreManyAndTheirBasesAreGood) {
  EXPECT_GE(BadFiles().size(), 50u);
  EXPECT_THAT(Problems("base/minimal"), testing::IsEmpty());
  EXPECT_THAT(Problems("base/wired"), testing::IsEmpty());
  EXPECT_THAT(Problems("base/plain"), testing::IsEmpty());
}

}  // namespace
}  // namespace drycrank::profile
