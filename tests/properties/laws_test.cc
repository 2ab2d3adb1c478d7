// SPDX-License-Identifier: Apache-2.0
//
// Laws that hold for all inputs, tried with inputs that RapidCheck makes and makes smaller. The laws
// are of mathematics and networks (reciprocity and superposition: H. H. Skilling, Electrical
// Engineering Circuits), not of our code.
#include <array>
#include <bit>
#include <cmath>
#include <span>

#include "bus/layout.h"
#include "engine/motion.h"
#include "harness/network.h"
#include "tests/properties/law.h"

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

// encode(message, values) to a frame.
auto AnyRawValueComesBack(auto encode) {
  return [encode] {
    profile::Message message;
    const int bits = *rc::gen::inRange(1, 53);  // what a double holds
    message.signals = {AnyPlace(bits)};
    const profile::Signal& signal = message.signals[0];
    const auto unsigned_raw = *rc::gen::inRange<std::int64_t>(0, std::int64_t{1} << bits);
    const std::int64_t raw =
        signal.is_signed ? unsigned_raw - (std::int64_t{1} << (bits - 1)) : unsigned_raw;
    const double physical = static_cast<double>(raw) * signal.scale + signal.offset;
    const bus::Frame frame = encode(message, physical);
    // Of many bits the physical value itself is rounded: to 2^-40 of the range at worst.
    const std::int64_t slack = bits > 40 ? std::int64_t{1} << (bits - 40) : 0;
    RC_ASSERT(std::abs(bus::RawValue(signal, frame.bytes()) - raw) <= slack);
  };
}

bus::Frame Encode(const profile::Message& message, double physical) {
  return bus::Encode(message, {&physical, 1}, 0);
}

TEST(LayoutLaw, AnyRawValueComesBack) {
  EXPECT_TRUE(Holds(AnyRawValueComesBack(Encode)));
  EXPECT_TRUE(IsRefuted(AnyRawValueComesBack([](const profile::Message& message, double physical) {
    bus::Frame frame = Encode(message, physical);
    frame.data[3] ^= 0x10;
    return frame;
  })));
}

// insert(signal, bits, bytes).
auto ASignalLeavesTheOthersAlone(auto insert) {
  return [insert] {
    const profile::Signal signal = AnyPlace(*rc::gen::inRange(1, 65));
    std::array<std::uint8_t, 8> zeros{}, ones;
    ones.fill(0xFF);
    const auto bits = *rc::gen::arbitrary<std::uint64_t>();
    insert(signal, bits, zeros);
    insert(signal, bits, ones);
    int differing = 0;
    for (std::size_t i = 0; i < 8; ++i)
      differing += std::popcount(static_cast<unsigned>(zeros[i] ^ ones[i]));
    RC_ASSERT(differing == 64 - signal.length_bits);
  };
}

TEST(LayoutLaw, ASignalLeavesTheOthersAlone) {
  EXPECT_TRUE(Holds(ASignalLeavesTheOthersAlone(bus::InsertBits)));
  EXPECT_TRUE(IsRefuted(ASignalLeavesTheOthersAlone(
      [](const profile::Signal& signal, std::uint64_t bits, std::span<std::uint8_t> data) {
        bus::InsertBits(signal, bits, data);
        data[7] |= 1;
      })));
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

// time_at(motion, angle).
auto TimeOfTheAngleOfATimeIsThatTime(auto time_at) {
  return [time_at] {
    engine::Motion motion;
    const TimeNs begin_ns = *rc::gen::inRange<TimeNs>(0, 3600 * kNsPerS);
    motion.Begin(begin_ns, AnySegment());
    const TimeNs t_ns = begin_ns + *rc::gen::inRange<TimeNs>(0, 100 * kNsPerS);
    // An angle is kept to 6e-14 deg, which is far below 1 ns at any speed here; the closed forms lose a
    // few digits of 100 s.
    RC_ASSERT(std::abs(time_at(motion, motion.AngleAt(t_ns)) - t_ns) <= 4);
  };
}

TEST(MotionLaw, TimeOfTheAngleOfATimeIsThatTime) {
  const auto time_at = [](const engine::Motion& motion, auto angle) {
    return motion.TimeAt(angle);
  };
  EXPECT_TRUE(Holds(TimeOfTheAngleOfATimeIsThatTime(time_at)));
  EXPECT_TRUE(IsRefuted(TimeOfTheAngleOfATimeIsThatTime(
      [&](const auto& motion, auto angle) { return time_at(motion, angle) + 5; })));
}

// angle_at(motion, time).
auto TheCrankNeverTurnsBack(auto angle_at) {
  return [angle_at] {
    engine::Motion motion;
    motion.Begin(0, AnySegment());
    const TimeNs a_ns = *rc::gen::inRange<TimeNs>(0, 100 * kNsPerS);
    const TimeNs b_ns = a_ns + *rc::gen::inRange<TimeNs>(0, kNsPerS);
    RC_ASSERT(angle_at(motion, b_ns).Minus(angle_at(motion, a_ns)) >= -1e-9);
  };
}

TEST(MotionLaw, TheCrankNeverTurnsBack) {
  const auto angle_at = [](const engine::Motion& motion, TimeNs t_ns) {
    return motion.AngleAt(t_ns);
  };
  EXPECT_TRUE(Holds(TheCrankNeverTurnsBack(angle_at)));
  EXPECT_TRUE(IsRefuted(TheCrankNeverTurnsBack(
      [&](const auto& motion, TimeNs t_ns) { return angle_at(motion, t_ns % kNsPerS); })));
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

// response(solver, plus): the volts of each node per ampere into `plus`.
auto CauseAndEffectMayBeExchanged(auto response) {
  return [response] {
    const harness::NodalSolver solver(NetworkOf(AnyWiring(), 1, 1));
    const int a = *rc::gen::inRange(1, kNodes), b = *rc::gen::inRange(1, kNodes);
    const double there = response(solver, a)[b], back = response(solver, b)[a];
    RC_ASSERT(std::abs(there - back) <= 1e-9 * (1 + std::abs(there)));
  };
}

Eigen::VectorXd Response(const harness::NodalSolver& solver, int plus) {
  return solver.Response(plus, 0);
}

TEST(NetworkLaw, CauseAndEffectMayBeExchanged) {
  EXPECT_TRUE(Holds(CauseAndEffectMayBeExchanged(Response)));
  // As if one node had an amplifier.
  EXPECT_TRUE(IsRefuted(CauseAndEffectMayBeExchanged([](const auto& solver, int plus) {
    return Eigen::VectorXd((plus == 2 ? 1.001 : 1) * Response(solver, plus));
  })));
}

// volts(network) of each node.
auto EffectsOfSourcesAdd(auto volts) {
  return [volts] {
    const Wiring wiring = AnyWiring();
    const Eigen::VectorXd both = volts(NetworkOf(wiring, 1, 1));
    const Eigen::VectorXd one = volts(NetworkOf(wiring, 1, 0));
    const Eigen::VectorXd other = volts(NetworkOf(wiring, 0, 1));
    RC_ASSERT((both - one - other).cwiseAbs().maxCoeff() <= 1e-7);
  };
}

Eigen::VectorXd Volts(const harness::Network& network) {
  return harness::NodalSolver(network).Voltages();
}

TEST(NetworkLaw, EffectsOfSourcesAdd) {
  EXPECT_TRUE(Holds(EffectsOfSourcesAdd(Volts)));
  // As if there were a diode.
  EXPECT_TRUE(IsRefuted(EffectsOfSourcesAdd([](const harness::Network& network) {
    return Eigen::VectorXd(Volts(network).cwiseMin(1.0));
  })));
}

}  // namespace
}  // namespace drycrank
