// SPDX-License-Identifier: Apache-2.0
//
// What is written is read back, whatever it is: tried with frames and edges that RapidCheck makes.
#include <span>
#include <sstream>
#include <vector>

#include "bus/frame_text.h"
#include "bus/pcapng.h"
#include "bus/recording.h"
#include "record/edge_block.h"
#include "tests/properties/law.h"

namespace drycrank {
namespace {

bus::Frame AnyFrame() {
  bus::Frame frame;
  frame.extended = *rc::gen::arbitrary<bool>();
  frame.id = *rc::gen::inRange<std::uint32_t>(0, frame.extended ? 0x20000000 : 0x800);
  frame.fd = *rc::gen::arbitrary<bool>();
  if (frame.fd) {
    frame.bit_rate_switch = *rc::gen::arbitrary<bool>();
    frame.error_state = *rc::gen::arbitrary<bool>();
  } else {
    frame.remote = *rc::gen::arbitrary<bool>();
  }
  frame.length =
      static_cast<std::uint8_t>(frame.fd ? *rc::gen::element(0, 1, 7, 8, 12, 16, 20, 24, 32, 48, 64)
                                         : *rc::gen::inRange(0, 9));
  if (!frame.remote) {
    for (unsigned i = 0; i < frame.length; ++i) frame.data[i] = *rc::gen::arbitrary<std::uint8_t>();
  }
  return frame;
}

// write(frame, out), as text.
auto FrameTextComesBack(auto write) {
  return [write] {
    const bus::Frame frame = AnyFrame();
    fmt::memory_buffer text;
    write(frame, text);
    const auto again = bus::ParseFrameText({text.data(), text.size()});
    RC_ASSERT(again.has_value());
    RC_ASSERT(*again == frame);
  };
}

TEST(RoundTripLaw, FrameText) {
  EXPECT_TRUE(Holds(FrameTextComesBack(bus::AppendFrameText)));
  EXPECT_TRUE(IsRefuted(FrameTextComesBack([](bus::Frame frame, fmt::memory_buffer& out) {
    frame.bit_rate_switch = false;
    bus::AppendFrameText(frame, out);
  })));
}

// write(frame, out), as a block of pcapng.
auto PcapngComesBack(auto write) {
  return [write] {
    fmt::memory_buffer bytes;
    bus::AppendPcapngSection(bytes);
    bus::AppendPcapngInterface("can0", bytes);
    std::vector<bus::RecordedFrame> frames;
    TimeNs t_ns = 0;
    for (int i = *rc::gen::inRange(1, 5); i > 0; --i) {
      t_ns += *rc::gen::inRange<TimeNs>(0, kNsPerS);
      frames.push_back({t_ns, 0,
                        *rc::gen::element(bus::Direction::kSent, bus::Direction::kReceived),
                        AnyFrame()});
      write(frames.back(), bytes);
    }
    std::istringstream stream(fmt::to_string(bytes));
    bus::RecordingReader reader(stream);
    bus::RecordedFrame frame;
    for (const bus::RecordedFrame& wanted : frames) {
      RC_ASSERT(reader.Next(frame));
      RC_ASSERT(frame.t_ns == wanted.t_ns);
      RC_ASSERT(frame.direction == wanted.direction);
      RC_ASSERT(frame.frame == wanted.frame);
    }
    RC_ASSERT(!reader.Next(frame));
  };
}

TEST(RoundTripLaw, Pcapng) {
  EXPECT_TRUE(Holds(PcapngComesBack(bus::AppendPcapngFrame)));
  EXPECT_TRUE(IsRefuted(PcapngComesBack([](bus::RecordedFrame frame, fmt::memory_buffer& out) {
    frame.t_ns -= frame.t_ns % 1000;  // as a file of microseconds would keep it
    bus::AppendPcapngFrame(frame, out);
  })));
}

// add(block, edge).
auto EdgesComeBack(auto add) {
  return [add] {
    const auto channels = *rc::gen::inRange<std::size_t>(1, 57);
    record::EdgeBlock block(std::vector<record::Level>(channels, record::Level::kUnknown));
    std::vector<record::ChannelEdge> edges;
    for (int i = *rc::gen::inRange(1, 50); i > 0; --i) {
      edges.push_back({*rc::gen::inRange<TimeNs>(0, record::kLastEdgeNs),
                       *rc::gen::inRange<std::size_t>(0, channels), *rc::gen::arbitrary<bool>()});
      add(block, edges.back());
    }
    fmt::memory_buffer out;
    block.Seal(out);
    const std::span bytes(reinterpret_cast<const std::uint8_t*>(out.data()), out.size());
    const auto read = record::ReadEdges(bytes.subspan(record::kBlockHead), channels);
    RC_ASSERT(read.has_value());
    RC_ASSERT(read->edges == edges);
  };
}

TEST(RoundTripLaw, Edges) {
  const auto add = [](record::EdgeBlock& block, const record::ChannelEdge& edge) {
    block.Add(edge);
  };
  EXPECT_TRUE(Holds(EdgesComeBack(add)));
  EXPECT_TRUE(IsRefuted(EdgesComeBack([&](record::EdgeBlock& block, record::ChannelEdge edge) {
    edge.t_ns &= ~TimeNs{1};
    add(block, edge);
  })));
}

}  // namespace
}  // namespace drycrank
