// SPDX-License-Identifier: Apache-2.0
#include "output/safe_setting.h"

#include <gtest/gtest.h>

namespace drycrank::output {
namespace {

TEST(SafeSetting, EachKindIsALineOfItsOwn) {
  EXPECT_EQ(Line(SafeLevel{"/dev/gpiochip0", 5, true}), "gpio\t/dev/gpiochip0\t5\t1");
  EXPECT_EQ(Line(SafeText{"/sys/a b/out_voltage0_raw", "0"}), "file\t/sys/a b/out_voltage0_raw\t0");
  EXPECT_EQ(Line(SafeRequest{"192.0.2.1", 5025, "OUTP OFF"}), "tcp\t192.0.2.1\t5025\tOUTP OFF");
  EXPECT_EQ(Line(SafeRequest{"192.0.2.1", 5025, "OUTP OFF", "OUTP?"}),
            "tcp\t192.0.2.1\t5025\tOUTP OFF\tOUTP?");
}

TEST(SafeSetting, WhatIsReadIsWhatWasWritten) {
  for (const SafeSetting& setting :
       {SafeSetting(SafeLevel{"/dev/gpiochip1", 0, false}), SafeSetting(SafeText{"a b", ""}),
        SafeSetting(SafeRequest{"::1", 65535, "OUTP 0"}),
        SafeSetting(SafeRequest{"::1", 65535, "OUTP 0", "OUTP?"})}) {
    const ReadSetting read = ParseSafeSetting(Line(setting));
    EXPECT_EQ(read.error, "");
    EXPECT_EQ(read.setting, setting) << Line(setting);
  }
}

TEST(SafeSetting, WhatIsWrongIsSaidWithWhatWouldBeRight) {
  const auto why = [](const char* line) { return ParseSafeSetting(line).error; };
  EXPECT_EQ(why("lamp\ton"),
            "\"lamp\" is no kind of safe setting; give gpio, file or tcp");
  EXPECT_EQ(why("gpio\tchip\t-1\t0"), "\"-1\" is no line of a chip; give 0 or more");
  EXPECT_EQ(why("gpio\tchip\t1\tlow"), "\"low\" is no level; give 0 for low or 1 for high");
  EXPECT_EQ(why("gpio\tchip\t1"),
            "2 words after \"gpio\"; write gpio CHIP LINE LEVEL, with a tab between");
  EXPECT_EQ(why("can\tsocketcan:can0\t000#0205"),
            "\"can\" is no kind of safe setting; give gpio, file or tcp");
  EXPECT_EQ(why("tcp\thost\t65536\tOUTP OFF"),
            "\"65536\" is not a TCP port; give 1 to 65535, as 5025");
  EXPECT_EQ(why("file\ta\tb\nfile\tc\td"), "a safe setting is one line of text");
}

}  // namespace
}  // namespace drycrank::output
