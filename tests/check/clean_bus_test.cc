// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

class CleanBusTest : public Table {
 protected:
  template <class Kind>
  Kind& ExpectOf() {
    AddStep("run", 10);
    auto& e = Expect<Kind>();
    e.bus = 0;
    e.bus_text = "vehicle";
    return e;
  }
  void Other(TimeNs t_ns, std::uint32_t id, bool error = false, int bus = 0,
             bool extended = false) {
    bus::TimedFrame frame;
    frame.t_ns = t_ns;
    frame.bus = bus;
    frame.frame.id = id;
    frame.frame.error = error;
    frame.frame.extended = extended;
    checker_->OnFrame(frame);
  }
};

TEST_F(CleanBusTest, KnownMessagesAreNoStrangers) {
  ExpectOf<expect::OnlyKnownMessages>().also = {0x7E8};
  Begin(0, 0);
  Sync(Ms(5), 3);
  Other(Ms(6), 0x7E8);
  Other(Ms(7), 0x088, true);     // an error report is nobody's frame
  Other(Ms(8), 0x55, false, 1);  // another bus
  const Verdict& verdict = Finish(Ms(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 2);
  EXPECT_EQ(verdict.detail, "no unknown identifier in 2 frames of bus vehicle");
}

TEST_F(CleanBusTest, UnknownIdentifiersAreCountedAndNamed) {
  ExpectOf<expect::OnlyKnownMessages>();
  Begin(0, 0);
  Sync(Ms(5), 3);
  for (const std::uint32_t id : {1u, 1u, 2u, 3u, 4u, 5u}) Other(Ms(6), id);
  Other(Ms(8), 0x100, false, 0, true);  // 29 bits: not engine_status
  const Verdict& verdict = Finish(Ms(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -7);
  EXPECT_EQ(verdict.detail,
            "7 of 8 frames of bus vehicle with an identifier that the bench does not know: "
            "0x1, 0x2, 0x3, 0x4 and others; the first at 0.006 s");
}

TEST_F(CleanBusTest, ErrorsAreCounted) {
  ExpectOf<expect::NoErrorFrames>();
  Begin(0, 0);
  Sync(Ms(5), 3);
  Other(Ms(6), 0x55);  // unknown, but no error
  Other(Ms(7), 0x088, true);
  const Verdict& verdict = Finish(Ms(10));
  EXPECT_DOUBLE_EQ(verdict.margin, -1);
  EXPECT_EQ(verdict.detail, "1 errors reported on bus vehicle, the first at 0.007 s");
}

TEST_F(CleanBusTest, NoErrorsIsMet) {
  ExpectOf<expect::NoErrorFrames>();
  Begin(0, 0);
  Sync(Ms(5), 3);
  EXPECT_EQ(Finish(Ms(10)).outcome, Outcome::kMet);
}

TEST_F(CleanBusTest, ASilentBusProvesNothing) {
  ExpectOf<expect::NoErrorFrames>();
  Begin(0, 0);
  const Verdict& verdict = Finish(Ms(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_EQ(verdict.detail, "nothing was seen on bus vehicle");
}

}  // namespace
}  // namespace drycrank::check
