// SPDX-License-Identifier: Apache-2.0
//
// However damaged or hostile a recording is, reading it takes no more memory than its window (128
// KiB) and the little that is kept of the damage. Measured as the most bytes held at once, from
// streams that are made while they are read.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <istream>
#include <streambuf>
#include <string>

#include "bus/recording.h"
#include "tests/bus/count_allocations.h"
#include "tests/bus/recorded.h"

namespace drycrank::bus {
namespace {

using testing::HasSubstr;

constexpr std::size_t kMostBytes = ByteWindow::kCapacity + (32u << 10);
constexpr std::uint64_t kMiB = 1u << 20;
constexpr std::size_t kPiece = 4096;  // of what is made: it is measured too

// A head, then pieces until there is none.
class Made : public std::streambuf {
 public:
  using NextPiece = std::function<bool(std::string& piece)>;
  Made(std::string head, NextPiece next) : piece_(std::move(head)), next_(std::move(next)) {
    Show();
  }

 protected:
  int_type underflow() override {
    if (!next_(piece_)) return traits_type::eof();
    Show();
    return traits_type::to_int_type(*gptr());
  }

 private:
  void Show() { setg(piece_.data(), piece_.data(), piece_.data() + piece_.size()); }
  std::string piece_;
  NextPiece next_;
};

// `count` times the same piece, made by a function of its number.
Made::NextPiece Times(std::uint64_t count, std::function<void(std::uint64_t, std::string&)> make) {
  return [count, make = std::move(make), i = std::uint64_t{0}](std::string& piece) mutable {
    if (i == count) return false;
    make(i++, piece);
    return true;
  };
}
Made::NextPiece Times(std::uint64_t count, const std::string& same) {
  return Times(count, [same](std::uint64_t, std::string& piece) { piece.assign(same); });
}

struct Outcome {
  std::uint64_t frames = 0, damaged = 0;
  std::vector<Damage> damage;
  std::vector<std::string> interfaces;
};

// Reads it all, and checks the bound.
Outcome ReadWithinBounds(const std::string& head, Made::NextPiece next) {
  Made made(head, std::move(next));
  std::istream stream(&made);
  Outcome outcome;
  const MostBytes most;
  RecordingReader reader(stream);
  for (RecordedFrame frame; reader.Next(frame);) ++outcome.frames;
  EXPECT_LE(most.more(), kMostBytes);
  outcome.damaged = reader.damaged();
  outcome.damage = reader.damage();
  outcome.interfaces = reader.interfaces();
  return outcome;
}

const char kGood[] = "(1.000000) car 123#00\n";

// The twin: what is measured is seen, if a reader kept its line.
TEST(RecordingMemory, TheMeterSeesWhatIsHeld) {
  const MostBytes most;
  std::string line;
  for (int i = 0; i < 1024; ++i) line.append(1024, 'x');
  line = std::string();
  EXPECT_GE(most.more(), kMiB);
  EXPECT_GT(kMiB, kMostBytes);
}

TEST(RecordingMemory, ALineWithoutAnEnd) {
  const Outcome outcome =
      ReadWithinBounds(kGood, Times(256 * kMiB / kPiece, std::string(kPiece, 'x')));
  EXPECT_EQ(outcome.frames, 1u);
  ASSERT_EQ(outcome.damaged, 1u);
  EXPECT_THAT(outcome.damage[0].what, HasSubstr("a line of more than"));
}

TEST(RecordingMemory, TwoMillionBadLines) {
  const Outcome outcome = ReadWithinBounds(kGood, Times(2'000'000, "no frame\n"));
  EXPECT_EQ(outcome.frames, 1u);
  EXPECT_EQ(outcome.damaged, 2'000'000u);
  EXPECT_EQ(outcome.damage.size(), RecordingReader::kMaxDamageKept);
}

// Names are told apart by their first 64 characters.
TEST(RecordingMemory, AMillionNamesOfInterfaces) {
  const auto line = [](std::uint64_t i, std::string& piece) {
    piece = "(1.0) " + std::to_string(i) + std::string(60, 'n') + " 123#00\n";
  };
  const Outcome outcome = ReadWithinBounds(kGood, Times(1'000'000, line));
  EXPECT_EQ(outcome.interfaces.size(), InterfaceNames::kMax);
  EXPECT_EQ(outcome.frames, InterfaceNames::kMax);
  EXPECT_EQ(outcome.damaged, 1'000'001 - InterfaceNames::kMax);
}

// pcapng, draft-ietf-opsawg-pcapng: block type, its length, ..., the length again; little-endian.
std::string Words(std::initializer_list<std::uint32_t> words) {
  std::string bytes;
  for (const std::uint32_t word : words) {
    for (int shift = 0; shift < 32; shift += 8) bytes.push_back(static_cast<char>(word >> shift));
  }
  return bytes;
}
std::string Section() { return Words({0x0A0D0D0A, 28, 0x1A2B3C4D, 1, 0xFFFFFFFF, 0xFFFFFFFF, 28}); }
std::string Interface() { return Words({1, 20, 0xE3, 0, 20}); }  // link type 227
// Identifier 0x123 in network order, no data.
std::string Packet(std::uint32_t length_at_the_end = 40) {
  return Words({6, 40, 0, 0, 0, 8, 8, 0x23010000, 0, length_at_the_end});
}

// 64 MiB is the longest block that is believed; it is passed over, not read into memory.
TEST(RecordingMemory, ABlockOf64MiB) {
  constexpr std::uint32_t size = 64u << 20;
  const std::uint64_t pieces = size / kPiece;
  // The block's first eight bytes are in the head, its last four begin the last piece.
  const auto zeros_then_its_end = [&](std::uint64_t i, std::string& piece) {
    piece.assign(i + 1 == pieces ? kPiece - 12 : kPiece, '\0');
    if (i == pieces) piece = Words({size}) + Packet();
  };
  const Outcome outcome =
      ReadWithinBounds(Section() + Interface() + Packet() + Words({0x0BAD, size}),
                       Times(pieces + 1, zeros_then_its_end));
  EXPECT_EQ(outcome.frames, 2u);
  EXPECT_EQ(outcome.damaged, 0u);
}

TEST(RecordingMemory, ABlockThatClaims64MiBAndEndsAtOnce) {
  const Outcome outcome = ReadWithinBounds(
      Section() + Interface() + Packet() + Words({0x0BAD, 64u << 20, 0, 0}), Times(0, ""));
  EXPECT_EQ(outcome.frames, 1u);
  EXPECT_EQ(outcome.damaged, 1u);
}

// A packet of 64 MiB, and one of all of 4 GiB: no CAN frame is that long.
TEST(RecordingMemory, PacketsThatClaimTooMuch) {
  for (const std::uint32_t claimed : {64u << 20, 0xFFFFFFFCu}) {
    const Outcome outcome = ReadWithinBounds(
        Section() + Interface() + Words({6, claimed, 0, 0, 0, 8, 8}), Times(1000, Packet()));
    EXPECT_EQ(outcome.frames, 1000u) << claimed;
    EXPECT_EQ(outcome.damaged, 1u) << claimed;
  }
}

TEST(RecordingMemory, AMillionPacketsWhoseEndSaysOtherwise) {
  const Outcome outcome =
      ReadWithinBounds(Section() + Interface(), Times(1'000'000, Packet(44) + Packet()));
  EXPECT_EQ(outcome.frames, 1'000'000u);
  EXPECT_EQ(outcome.damaged, 1'000'000u);
  EXPECT_EQ(outcome.damage.size(), RecordingReader::kMaxDamageKept);
}

TEST(RecordingMemory, AMillionSectionsAndInterfaces) {
  for (const std::string& block : {Section(), Interface()}) {
    const Outcome outcome =
        ReadWithinBounds(Section() + Interface() + Packet(), Times(1'000'000, block));
    EXPECT_EQ(outcome.frames, 1u);
    EXPECT_GT(outcome.damaged, 0u);
  }
}

}  // namespace
}  // namespace drycrank::bus
