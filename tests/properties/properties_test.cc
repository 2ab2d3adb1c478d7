// SPDX-License-Identifier: Apache-2.0
//
// Laws that hold for all inputs, tried with inputs that RapidCheck makes and makes smaller. The laws
// are of mathematics and networks (reciprocity and superposition: H. H. Skilling, Electrical
// Engineering Circuits), not of our code; each has a twin that shows that it can fail.
#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <bit>
#include <cmath>
#include <sstream>

#include "bus/candump_log.h"
#include "bus/frame_text.h"
#include "bus/layout.h"
#include "bus/pcapng.h"
#include "bus/recording.h"
#include "check/checker.h"
#include "engine/motion.h"
#include "harness/network.h"
#include "record/edge_block.h"
#include "tests/run/loaded.h"
#include "types/nth.h"

namespace drycrank {
namespace {

// ---- layouts ----------------------------------------------------------------------------------

profile::Signal AnyPlace(int length_bits) {
  profile::Signal signal;
  signal.length_bits = length_bits;
  signal.is_signed = *rc::gen::arbitrary<bool>();
  const bool little = *rc::gen::arbitrary<bool>();
  signal.byte_order = little ? profile::ByteOrder::kLittle : profile::ByteOrder::kBig;
  // Of 64 bits in a row, numbered from the signal's first: little counts up, big down within a byte.
  const int at = *rc::gen::inRange(0, 65 - length_bits);
  signal.start_bit = little ? at : at / 8 * 8 + 7 - at % 8;
  signal.scale = *rc::gen::element(0.001, 0.25, 1.0, 7.5);
  signal.offset = *rc::gen::element(-273.15, -40.0, 0.0, 100.0);
  return signal;
}

RC_GTEST_PROP(LayoutLaw, AnyRawValueComesBack, ()) {
  profile::Message message;
  const int bits = *rc::gen::inRange(1, 53);  // what a double holds
  message.signals = {AnyPlace(bits)};
  const profile::Signal& signal = message.signals[0];
  const auto unsigned_raw = *rc::gen::inRange<std::int64_t>(0, std::int64_t{1} << bits);
  const std::int64_t raw =
      signal.is_signed ? unsigned_raw - (std::int64_t{1} << (bits - 1)) : unsigned_raw;
  const double physical = static_cast<double>(raw) * signal.scale + signal.offset;
  const bus::Frame frame = bus::Encode(message, {&physical, 1}, 0);
  // Of many bits the physical value itself is rounded: to 2^-40 of the range at worst.
  const std::int64_t slack = bits > 40 ? std::int64_t{1} << (bits - 40) : 0;
  RC_ASSERT(std::abs(bus::RawValue(signal, frame.bytes()) - raw) <= slack);
}

RC_GTEST_PROP(LayoutLaw, ASignalLeavesTheOthersAlone, ()) {
  const profile::Signal signal = AnyPlace(*rc::gen::inRange(1, 65));
  std::array<std::uint8_t, 8> zeros{}, ones;
  ones.fill(0xFF);
  const auto bits = *rc::gen::arbitrary<std::uint64_t>();
  bus::InsertBits(signal, bits, zeros);
  bus::InsertBits(signal, bits, ones);
  int differing = 0;
  for (std::size_t i = 0; i < 8; ++i)
    differing += std::popcount(static_cast<unsigned>(zeros[i] ^ ones[i]));
  RC_ASSERT(differing == 64 - signal.length_bits);
}

// ---- angle and time ---------------------------------------------------------------------------

Segment AnySegment() {
  Segment segment;
  segment.kind = *rc::gen::element(SegmentKind::kHold, SegmentKind::kRamp, SegmentKind::kSine,
                                   SegmentKind::kCrank);
  segment.speed_rpm = *rc::gen::inRange(50, 10'001);  // with the sine's amplitude below 20,000
  segment.to_rpm = *rc::gen::inRange(50, 20'001);
  segment.duration_s = 0.1 * *rc::gen::inRange(1, 100);
  segment.amplitude_rpm = segment.speed_rpm * 0.01 * *rc::gen::inRange(0, 90);
  segment.period_s = 0.05 * *rc::gen::inRange(1, 100);
  segment.ripple = 0.01 * *rc::gen::inRange(0, 90);
  segment.per_turn = 0.5 * *rc::gen::inRange(1, 17);
  return segment;
}

RC_GTEST_PROP(MotionLaw, TimeOfTheAngleOfATimeIsThatTime, ()) {
  engine::Motion motion;
  const TimeNs begin_ns = *rc::gen::inRange<TimeNs>(0, 3600 * kNsPerS);
  motion.Begin(begin_ns, AnySegment());
  const TimeNs t_ns = begin_ns + *rc::gen::inRange<TimeNs>(0, 100 * kNsPerS);
  const TimeNs again_ns = motion.TimeAt(motion.AngleAt(t_ns));
  // An angle is kept to 6e-14 deg, which is far below 1 ns at any speed here; the closed forms lose a
  // few digits of 100 s.
  RC_ASSERT(std::abs(again_ns - t_ns) <= 4);
}

RC_GTEST_PROP(MotionLaw, TheCrankNeverTurnsBack, ()) {
  engine::Motion motion;
  motion.Begin(0, AnySegment());
  const TimeNs a_ns = *rc::gen::inRange<TimeNs>(0, 100 * kNsPerS);
  const TimeNs b_ns = a_ns + *rc::gen::inRange<TimeNs>(0, kNsPerS);
  RC_ASSERT(motion.AngleAt(b_ns).Minus(motion.AngleAt(a_ns)) >= -1e-9);
}

// ---- networks ---------------------------------------------------------------------------------

constexpr int kNodes = 6;

struct Wiring {
  std::vector<harness::Resistor> resistors;
  std::vector<harness::Source> sources;
};

double AnyOhm() { return std::pow(10.0, *rc::gen::inRange(0, 6)) * *rc::gen::inRange(1, 10); }

// Each node with one before it, and some more.
Wiring AnyWiring() {
  Wiring wiring;
  for (int node = 1; node < kNodes; ++node) {
    wiring.resistors.push_back({*rc::gen::inRange(0, node), node, AnyOhm()});
  }
  for (int more = *rc::gen::inRange(0, 6); more > 0; --more) {
    const int a = *rc::gen::inRange(0, kNodes), b = *rc::gen::inRange(0, kNodes);
    if (a != b) wiring.resistors.push_back({a, b, AnyOhm()});
  }
  for (int i = 0; i < 2; ++i) {
    wiring.sources.push_back({*rc::gen::inRange(1, kNodes), 0,
                              static_cast<double>(*rc::gen::inRange(-24, 25)), AnyOhm()});
  }
  return wiring;
}

harness::Network NetworkOf(const Wiring& wiring, double first, double second) {
  harness::Network network("n0");
  for (int i = 1; i < kNodes; ++i) network.Node(fmt::format("n{}", i));
  for (const auto& r : wiring.resistors) network.Join(r.a, r.b, r.ohm);
  const double share[] = {first, second};
  for (std::size_t i = 0; i < 2; ++i) {
    const auto& s = wiring.sources[i];
    network.Drive(s.plus, s.minus, s.volts * share[i], s.ohm);
  }
  return network;
}

RC_GTEST_PROP(NetworkLaw, CauseAndEffectMayBeExchanged, ()) {
  const harness::NodalSolver solver(NetworkOf(AnyWiring(), 1, 1));
  const int a = *rc::gen::inRange(1, kNodes), b = *rc::gen::inRange(1, kNodes);
  const double there = solver.Response(a, 0)[b], back = solver.Response(b, 0)[a];
  RC_ASSERT(std::abs(there - back) <= 1e-9 * (1 + std::abs(there)));
}

RC_GTEST_PROP(NetworkLaw, EffectsOfSourcesAdd, ()) {
  const Wiring wiring = AnyWiring();
  const Eigen::VectorXd both = harness::NodalSolver(NetworkOf(wiring, 1, 1)).Voltages();
  const Eigen::VectorXd one = harness::NodalSolver(NetworkOf(wiring, 1, 0)).Voltages();
  const Eigen::VectorXd other = harness::NodalSolver(NetworkOf(wiring, 0, 1)).Voltages();
  RC_ASSERT((both - one - other).cwiseAbs().maxCoeff() <= 1e-7);
}

// ---- margins ----------------------------------------------------------------------------------

class Judged {
 public:
  Judged() : loaded_(run::Shipped("hill_climb/healthy")) {
    auto& expectations = loaded_.scenario->expectations;
    std::erase_if(expectations, [](const profile::Expectation& e) {
      return !std::holds_alternative<profile::expect::Follows>(e.kind);
    });
    expectations.resize(1);
    expectations[0].during.clear();
    expectations[0].settle_s = 0;
  }
  profile::expect::Follows& Follows() {
    return std::get<profile::expect::Follows>(loaded_.scenario->expectations[0].kind);
  }
  check::Verdict With(double tolerance, const std::vector<double>& reported) {
    Follows().target.tolerance = tolerance;
    scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
    check::Checker checker(*loaded_.bench, *loaded_.scenario, timeline);
    timeline.BeginStep(0, 0);
    checker.OnStep(0, 0);
    const auto& ref = Follows().signal;
    const profile::Bus& bus = Nth(loaded_.bench->buses, ref.bus);
    const profile::Message& message = Nth(bus.messages, ref.message);
    TimeNs t_ns = 0;
    for (const double value : reported) {
      std::vector<double> physical(message.signals.size(), 0);
      Nth(physical, ref.signal) = value;
      t_ns += 10 * kNsPerMs;
      checker.OnFrame({t_ns, ref.bus, false, bus::Encode(message, physical, 0)});
    }
    checker.Finish(t_ns);
    return checker.verdicts()[0];
  }

 private:
  profile::LoadedScenario loaded_;
};

RC_GTEST_PROP(MarginLaw, MoreToleranceIsNeverWorse, ()) {
  static Judged judged;
  const auto values = *rc::gen::nonEmpty(rc::gen::container<std::vector<double>>(
      rc::gen::map(rc::gen::inRange(0, 2000), [](int v) { return 0.1 * v; })));
  const double tight = 0.1 * *rc::gen::inRange(1, 1000);
  const double wide = tight + 0.1 * *rc::gen::inRange(0, 1000);
  const check::Verdict first = judged.With(tight, values), second = judged.With(wide, values);
  RC_PRE(check::WasJudged(first.outcome));
  RC_ASSERT(second.margin >= first.margin - 1e-9);
  RC_ASSERT(first.outcome != check::Outcome::kMet || second.outcome == check::Outcome::kMet);
}

TEST(MarginLaw, IsJudgedAtAllAndCanFall) {
  Judged judged;
  const check::Verdict near = judged.With(5, {0, 0, 0}), far = judged.With(5, {0, 0, 60});
  ASSERT_TRUE(check::WasJudged(near.outcome));
  EXPECT_NE(near.margin, far.margin);
}

// ---- what is written is read back ---------------------------------------------------------------

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

RC_GTEST_PROP(RoundTripLaw, FrameText, ()) {
  const bus::Frame frame = AnyFrame();
  fmt::memory_buffer text;
  bus::AppendFrameText(frame, text);
  const auto again = bus::ParseFrameText({text.data(), text.size()});
  RC_ASSERT(again.has_value());
  RC_ASSERT(*again == frame);
}

RC_GTEST_PROP(RoundTripLaw, Pcapng, ()) {
  fmt::memory_buffer bytes;
  bus::AppendPcapngSection(bytes);
  bus::AppendPcapngInterface("can0", bytes);
  std::vector<bus::RecordedFrame> frames;
  TimeNs t_ns = 0;
  for (int i = *rc::gen::inRange(1, 5); i > 0; --i) {
    t_ns += *rc::gen::inRange<TimeNs>(0, kNsPerS);
    frames.push_back(
        {t_ns, 0, *rc::gen::element(bus::Direction::kSent, bus::Direction::kReceived), AnyFrame()});
    bus::AppendPcapngFrame(frames.back(), bytes);
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
}

RC_GTEST_PROP(RoundTripLaw, Edges, ()) {
  const auto channels = *rc::gen::inRange<std::size_t>(1, 57);
  record::EdgeBlock block(std::vector<record::Level>(channels, record::Level::kUnknown));
  std::vector<record::ChannelEdge> edges;
  for (int i = *rc::gen::inRange(1, 50); i > 0; --i) {
    edges.push_back({*rc::gen::inRange<TimeNs>(0, record::kLastEdgeNs),
                     *rc::gen::inRange<std::size_t>(0, channels), *rc::gen::arbitrary<bool>()});
    block.Add(edges.back());
  }
  fmt::memory_buffer out;
  block.Seal(out);
  const std::span bytes(reinterpret_cast<const std::uint8_t*>(out.data()), out.size());
  const auto read = record::ReadEdges(bytes.subspan(record::kBlockHead), channels);
  RC_ASSERT(read.has_value());
  RC_ASSERT(read->edges == edges);
}

}  // namespace
}  // namespace drycrank
