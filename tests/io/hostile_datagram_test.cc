// SPDX-License-Identifier: Apache-2.0
//
// Bytes that nobody should send. The decoder must end, stay inside them, and give either nothing or
// a frame that is one; the sanitizer builds watch it do so.
#include <gtest/gtest.h>

#include <algorithm>

#include "io/frame_datagram.h"
#include "tests/io/datagram_examples.h"
#include "types/random.h"

namespace drycrank::io {
namespace {

// On the heap and of the exact size, so that a read past its end is seen.
bool IsFrameOrNothing(const Raw& bytes) {
  const std::vector<std::uint8_t> exact(bytes);
  std::optional<bus::Frame> frame = DecodeDatagram(exact);
  if (!frame) return true;
  frame->error = false;
  return bus::IsValid(*frame);
}

TEST(HostileDatagram, EveryTruncationIsMalformed) {
  for (const Example& example : PythonCanExamples()) {
    const Raw whole = bus::Bytes(example.hex);
    for (std::size_t size = 0; size < whole.size(); ++size) {
      EXPECT_EQ(DecodeDatagram(Raw(whole.begin(), whole.begin() + static_cast<long>(size))),
                std::nullopt)
          << example.name << " cut to " << size;
    }
  }
}

TEST(HostileDatagram, EveryByteChangedEveryWayGivesAFrameOrNothing) {
  for (const Example& example : PythonCanExamples()) {
    Raw bytes = bus::Bytes(example.hex);
    for (std::uint8_t& byte : bytes) {
      const std::uint8_t right = byte;
      for (int value = 0; value < 256; ++value) {
        byte = static_cast<std::uint8_t>(value);
        ASSERT_TRUE(IsFrameOrNothing(bytes)) << example.name;
      }
      byte = right;
    }
  }
}

TEST(HostileDatagram, RandomBytesGiveAFrameOrNothing) {
  Random random(20240601, 0);
  for (int i = 0; i < 200'000; ++i) {
    Raw bytes(random.Next() % 64);
    for (std::uint8_t& byte : bytes) byte = static_cast<std::uint8_t>(random.Next());
    if (!bytes.empty() && i % 2 == 0) bytes[0] = static_cast<std::uint8_t>(0x80 | (bytes[0] & 0xF));
    ASSERT_TRUE(IsFrameOrNothing(bytes)) << i;
  }
}

TEST(HostileDatagram, SplicedDatagramsGiveAFrameOrNothing) {
  const std::vector<Example> examples = PythonCanExamples();
  Random random(20240602, 0);
  for (int i = 0; i < 100'000; ++i) {
    Raw bytes = bus::Bytes(examples[random.Next() % examples.size()].hex);
    for (int edits = 0; edits < 3; ++edits) {
      const std::size_t at = random.Next() % bytes.size();
      const std::size_t count = std::min<std::size_t>(random.Next() % 16, bytes.size() - at);
      const std::size_t from = random.Next() % (bytes.size() - count + 1);
      const Raw piece(bytes.begin() + static_cast<long>(from),
                      bytes.begin() + static_cast<long>(from + count));
      std::copy(piece.begin(), piece.end(), bytes.begin() + static_cast<long>(at));
    }
    ASSERT_TRUE(IsFrameOrNothing(bytes)) << i;
  }
}

TEST(HostileDatagram, DeepNestingTakesNoStack) {
  Raw deep = bus::Bytes("81A178");  // {"x": [[[[...
  deep.resize(60'000, 0x91);
  EXPECT_EQ(DecodeDatagram(deep), std::nullopt);
  deep.push_back(0xC0);  // and closed: a complete map without an identifier
  EXPECT_TRUE(IsFrameOrNothing(deep));
}

TEST(HostileDatagram, ClaimedSizesBeyondTheEndAreMalformed) {
  for (const char* hex : {"DFFFFFFFFF", "81A178DDFFFFFFFF", "81A178DFFFFFFFFF", "81A178C6FFFFFFFF",
                          "81A178DBFFFFFFFF", "81A178C9FFFFFFFF", "81A464617461C6FFFFFFFF",
                          "81A464617461DDFFFFFFFF", "81DBFFFFFFFF"}) {
    EXPECT_EQ(DecodeDatagram(bus::Bytes(hex)), std::nullopt) << hex;
  }
}

}  // namespace
}  // namespace drycrank::io
