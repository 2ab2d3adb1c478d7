// SPDX-License-Identifier: Apache-2.0
#include "bus/response_time.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

namespace drycrank::bus {
namespace {

using testing::ElementsAre;

// The counter-example of Davis et al. 2007, section 4: three frames of 1 ms (7 bytes, 125 bits at
// 125 kbit/s; one bit is 8 us), tests/reference/can_bus.yaml. By hand, in ms, tau = 0.008:
//   A  B = 1. t = 1 + 1 = 2. w(0) = 1. R = 1 + 1 = 2.
//   B  B = 1. t = 3: A twice by then, 4: B twice, 5, stays. Q = ceil(5 / 3.5) = 2.
//      w(0) = 1 + ceil(1.008 / 2.5) = 2 and stays. R(0) = 2 + 1 = 3.
//      w(1) = 1 + 1 + A: 3, A twice: 4 and stays. R(1) = 4 - 3.5 + 1 = 1.5.
//   C  nothing behind it: B = 0. t = 3, 4 (A 2), 5 (B 2) + C 2 = 6, A 3: 7, stays. Q = 2.
//      w(0) = 1 + 1 = 2 and stays (2.008 < 2.5). R(0) = 3.
//      w(1) = 1 + A 2 + B 1 = 4, B 2: 5, A 3: 6 and stays (6.008 < 7). R(1) = 6 - 3.5 + 1 = 3.5.
TEST(ResponseTime, PublishedExample) {
  const YAML::Node example =
      YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/can_bus.yaml")["response_time"]["example"];
  std::vector<Stream> streams;
  for (const YAML::Node& row : example["messages"]) {
    streams.push_back({FromMs(row[1].as<double>()), FromMs(row[3].as<double>()), 0});
  }
  const auto responses = ResponseTimes(streams, 8 * kNsPerUs);
  ASSERT_EQ(responses.size(), 3u);
  for (std::size_t i = 0; i < 3; ++i) {
    const std::string name(1, static_cast<char>('A' + i));
    ASSERT_TRUE(responses[i]) << name;
    std::vector<TimeNs> published;
    for (const YAML::Node& r : example["R_per_instance"][name]) {
      published.push_back(FromMs(r.as<double>()));
    }
    EXPECT_EQ(responses[i]->instance_ns, published) << name;
    EXPECT_EQ(responses[i]->busy_period_ns, FromMs(example["busy_period"][name].as<double>()));
  }
  EXPECT_EQ(responses[2]->worst_ns, FromMs(3.5));  // past its deadline of 3.25 ms
}

TEST(ResponseTime, JitterOfOthersAndItsOwnAddsToIt) {
  // B = 0. w = ceil((w + 2.008) / 3): 1 from 0, 2 from 1 (3.008 / 3), and stays. R = 0.5 + 2 + 1.
  const std::vector<Stream> streams = {{3 * kNsPerMs, kNsPerMs, 2 * kNsPerMs},
                                       {20 * kNsPerMs, kNsPerMs, kNsPerMs / 2}};
  EXPECT_EQ(ResponseTimes(streams, 8 * kNsPerUs)[1]->worst_ns, FromMs(3.5));
}

TEST(ResponseTime, AFullBusHasNoBoundForWhoComesLast) {
  const std::vector<Stream> streams = {{2 * kNsPerMs, kNsPerMs, 0}, {2 * kNsPerMs, kNsPerMs, 0}};
  const auto responses = ResponseTimes(streams, 8 * kNsPerUs);
  EXPECT_EQ(responses[0]->worst_ns, 2 * kNsPerMs);
  EXPECT_FALSE(responses[1]);
}

TEST(ResponseTime, OfNothingIsNothing) { EXPECT_TRUE(ResponseTimes({}, 8 * kNsPerUs).empty()); }

}  // namespace
}  // namespace drycrank::bus
