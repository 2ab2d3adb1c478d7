// SPDX-License-Identifier: Apache-2.0
//
// ISO 14229-1 and SAE J1979-2, frames by hand from the layouts in uds.h; identifiers F802 and F4xx
// of J1979-2 from memory.
#include "protocol/uds.h"

#include <gtest/gtest.h>

#include <array>

#include "protocol/obd.h"
#include "tests/bus/build_signal.h"
#include "tests/protocol/fake_source.h"
#include "types/random.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using Text = std::vector<std::uint8_t>;

Text Ask(AnswerSource& source, const std::string& request, bool functional = false) {
  Text out(512);
  out.resize(AnswerUds(source, Bytes(request), functional, out));
  return out;
}

TEST(Uds, ParametersAreDataIdentifiers) {
  FakeSource source;
  source.values = {{0x05, 83}, {0x0C, 1726}};
  EXPECT_EQ(Ask(source, "22F40C"), Bytes("62F40C1AF8"));
  EXPECT_EQ(Ask(source, "22F40CF405"), Bytes("62F40C1AF8F4057B"));
  EXPECT_DOUBLE_EQ(ReadPid(Bytes("62F40C1AF8F4057B"), *profile::FindPid(0x05)).value_or(0), 83);
  EXPECT_EQ(Ask(source, "22F40D"), Bytes("7F2231"));
  EXPECT_EQ(Ask(source, "22F4"), Bytes("7F2213"));
}

TEST(Uds, VehicleIdentificationNumberIsRead) {
  FakeSource source;
  Text expected = Bytes("62F190");
  expected.insert(expected.end(), source.vehicle_id.begin(), source.vehicle_id.end());
  EXPECT_EQ(Ask(source, "22F190"), expected);
}

TEST(Uds, CodesAreReadByStatusMask) {
  FakeSource source;
  source.troubles = {{0x0118, kAllStatus}, {0x0113, kPending}};
  EXPECT_EQ(Ask(source, "190208"), Bytes("59020D0118000D"));
  EXPECT_EQ(Ask(source, "190204"), Bytes("59020D0118000D01130004"));
  EXPECT_EQ(Ask(source, "190202"), Bytes("59020D"));  // a bit that it does not keep
  EXPECT_EQ(Ask(source, "19010C"), Bytes("59010D010002"));
  const Text list = Bytes("59020D0118000D01130004");
  const auto codes = ReadCodes(list);
  ASSERT_TRUE(codes.has_value());
  EXPECT_EQ(codes->size(), 2u);
  EXPECT_TRUE(codes->Has(0x0113));
  EXPECT_EQ(Ask(source, "1906"), Bytes("7F1912"));
  EXPECT_EQ(Ask(source, "1902"), Bytes("7F1913"));
}

TEST(Uds, CodesAreCleared) {
  FakeSource source;
  source.troubles = {{0x0118, kAllStatus}};
  EXPECT_EQ(Ask(source, "14000100"), Bytes("7F1431"));
  EXPECT_EQ(source.troubles.size(), 1u);
  EXPECT_EQ(Ask(source, "14FFFFFF"), Bytes("54"));
  EXPECT_EQ(Ask(source, "190208"), Bytes("59020D"));
}

TEST(Uds, RefusalsToAllAreNotSent) {
  FakeSource source;
  EXPECT_EQ(Ask(source, "31010203", false), Bytes("7F3111"));
  EXPECT_EQ(Ask(source, "31010203", true), Text());
  EXPECT_EQ(Ask(source, "22F40D", true), Text());
  EXPECT_EQ(Ask(source, "22F4", true), Bytes("7F2213"));
}

TEST(Uds, TesterPresentMayBeSilent) {
  FakeSource source;
  EXPECT_EQ(Ask(source, "3E00"), Bytes("7E00"));
  EXPECT_EQ(Ask(source, "3E80"), Text());
}

TEST(Uds, AnswerThatDoesNotFitIsRefused) {
  FakeSource source;
  Text out(10);
  out.resize(AnswerUds(source, Bytes("22F190"), false, out));
  EXPECT_EQ(out, Bytes("7F2214"));
}

TEST(Uds, PendingNamesTheService) {
  Text out(8);
  out.resize(WritePending(0x22, out));
  EXPECT_EQ(out, Bytes("7F2278"));
}

TEST(Uds, HostileRequestsGiveShortAnswersOrNone) {
  FakeSource source;
  source.values = {{0x05, 83}};
  Random random(3, 1);
  Text out(64), request;
  for (int i = 0; i < 200'000; ++i) {
    request.clear();
    for (std::uint64_t left = random.Next() % 12; left > 0; --left) {
      request.push_back(static_cast<std::uint8_t>(random.Next()));
    }
    if (!request.empty() && i % 2 == 0)
      request[0] =
          std::array<std::uint8_t, 4>{0x22, 0x19, 0x14, 0x3E}[static_cast<std::size_t>(i / 2 % 4)];
    ASSERT_LE(AnswerUds(source, request, i % 3 == 0, out), out.size());
    ASSERT_LE(AnswerObd(source, request, i % 3 == 0, out), out.size());
    ReadPid(request, *profile::FindPid(0x05));
    ReadCodes(request);
  }
}

}  // namespace
}  // namespace drycrank::protocol
