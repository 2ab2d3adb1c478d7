// SPDX-License-Identifier: Apache-2.0
//
// Files that are made to hurt, and paths that are no files: told so, within the limits of load.h.
#include <gmock/gmock.h>

#include "tests/profile/scratch.h"

namespace drycrank::profile {
namespace {

using testing::HasSubstr;

class Hostile : public Scratch {
 protected:
  std::string Said(const std::string& text) { return Text(Load(text).problems); }
  static std::string Times(const std::string& text, std::size_t count) {
    std::string all;
    for (std::size_t i = 0; i < count; ++i) all += text;
    return all;
  }
  static constexpr const char* kSmall = "kind: bench\nname: a\nengine: {firing_order: [1]}\n";
};

TEST_F(Hostile, FileThatIsNotThere) {
  const LoadedBench loaded = LoadBench(Path("none.yaml"));
  EXPECT_FALSE(loaded.bench);
  EXPECT_THAT(Text(loaded.problems), HasSubstr("there is no file"));
  EXPECT_EQ(KindOfFile(Path("none.yaml")), "");
}

TEST_F(Hostile, Folder) {
  EXPECT_THAT(Text(LoadBench(Path(".")).problems), HasSubstr("is a folder"));
  EXPECT_THAT(Text(LoadScenario(Path(".")).problems), HasSubstr("is a folder"));
}

TEST_F(Hostile, DeviceFile) {
  EXPECT_THAT(Text(LoadBench("/dev/zero").problems), HasSubstr("is not a regular file"));
}

TEST_F(Hostile, OneMebibyteIsReadAndOneByteMoreIsNot) {
  std::string text = kSmall;
  text += "#" + std::string((std::size_t{1} << 20) - text.size() - 1, 'x');
  EXPECT_EQ(Said(text), "");
  EXPECT_THAT(Said(text + "x"), HasSubstr("has 1048577 bytes"));
}

TEST_F(Hostile, BytesThatAreNoText) {
  EXPECT_THAT(Said(std::string("kind: bench\0", 12)), HasSubstr(":1:12: the control character U+0000"));
  EXPECT_THAT(Said("\xff\xfe"
                   "k\0"),
              HasSubstr(":1:1: a byte that is not UTF-8"));
  EXPECT_THAT(Said("a: \xc0\xaf"), HasSubstr("not UTF-8"));      // overlong '/', RFC 3629
  EXPECT_THAT(Said("a: \xed\xa0\x80"), HasSubstr("not UTF-8"));  // surrogate, RFC 3629
}

TEST_F(Hostile, MebibytesOfBracketsAndDashes) {
  for (const char* piece :
       {"[",   "{",      "[[]", "- ",    "? ", "{a: ", "&a ", "*a ", "!", "'", "\"",
        "|\n", "a: b: ", "-\n", "? -\n", "]",  "}",    ",",   "%",   "@", "\t"}) {
    const std::string text =
        kSmall + ("note: " + Times(piece, 200'000 / std::string(piece).size()));
    EXPECT_NE(Said(text), "") << piece;
  }
}

TEST_F(Hostile, AliasesThatUnfoldToBillions) {
  std::string text = kSmall;
  text += "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 12; ++i) {
    const std::string one = "*a" + std::to_string(i - 1) + ", ";
    text += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [" + Times(one, 10) + "x]\n";
  }
  EXPECT_THAT(Said(text), HasSubstr("more than 200000 values, aliases unfolded"));
}

// Each file includes the next one twice: 2^40 inclusions, were they all made.
TEST_F(Hostile, IncludesThatUnfoldToBillions) {
  for (int i = 0; i < 40; ++i) {
    const std::string next = "p" + std::to_string(i + 1) + ".yaml";
    Write("p" + std::to_string(i) + ".yaml", "include: [" + next + ", " + next + "]\n");
  }
  Write("p40.yaml", "plus: BAT.1\n");
  EXPECT_THAT(Said(kSmall + std::string("loads: {a: {include: p0.yaml}}\n")),
              HasSubstr("more than 200000 values, includes expanded"));
}

TEST_F(Hostile, NestingThroughIncludes) {
  for (int i = 0; i < 40; ++i) {
    Write("p" + std::to_string(i) + ".yaml",
          "plus: {include: p" + std::to_string(i + 1) + ".yaml}\n");
  }
  Write("p40.yaml", "plus: BAT.1\n");
  EXPECT_THAT(Said(kSmall + std::string("loads: {a: {include: p0.yaml}}\n")),
              HasSubstr("nested deeper than 32 levels, includes expanded"));
}

TEST_F(Hostile, MoreThan64Files) {
  std::string names;
  for (int i = 0; i < 70; ++i) {
    const std::string name = "p" + std::to_string(i) + ".yaml";
    Write(name, "note: a\n");
    names += name + ", ";
  }
  const LoadedBench loaded = Load(kSmall + ("include: [" + names + "]\n"));
  EXPECT_THAT(Text(loaded.problems), HasSubstr("more than 64 files"));
  EXPECT_LE(loaded.files.size(), 64u);
}

TEST_F(Hostile, TenThousandUnknownKeysAreTold500Times) {
  std::string text = kSmall;
  for (int i = 0; i < 10'000; ++i) text += "key" + std::to_string(i) + ": 1\n";
  EXPECT_EQ(Load(text).problems.size(), 501u);
}

}  // namespace
}  // namespace drycrank::profile
