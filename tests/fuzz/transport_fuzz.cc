// SPDX-License-Identifier: Apache-2.0
//
// ISO-TP and J1939 transport, fed with any frames at any times: each ends its own business when nobody
// answers any more, and what it gives is no longer than it may be.
#include <algorithm>

#include "bus/frame.h"
#include "protocol/isotp.h"
#include "protocol/j1939_transport.h"
#include "tests/fuzz/fuzz.h"

namespace drycrank::fuzz {
namespace {

constexpr int kMostFrames = 20'000;  // in a row without a frame from outside
constexpr std::array<std::uint8_t, 300> kMessage{};

bus::Frame FrameFrom(Bytes& bytes, std::uint32_t id, bool extended) {
  bus::Frame frame;
  frame.id = id;
  frame.extended = extended;
  const auto data = bytes.Take(bytes.UpTo(8));
  frame.length = static_cast<std::uint8_t>(data.size());
  std::copy(data.begin(), data.end(), frame.data.begin());
  return frame;
}

// All that is due up to t_ns, each at its time.
template <class Side>
void TakeAll(Side& side, TimeNs t_ns) {
  int frames = 0;
  for (bus::Frame out; side.NextDue() <= t_ns; ++frames) {
    side.TakeDue(std::max<TimeNs>(side.NextDue(), 0), out);
    Require(frames < kMostFrames, "what is due comes to an end");
  }
}

void IsoTpSession(Bytes bytes) {
  protocol::IsoTpOptions options;
  options.transmit_id = 0x7E0;
  options.receive_id = 0x7E8;
  options.block_size = bytes.Take<std::uint8_t>();
  options.st_min = bytes.Take<std::uint8_t>();
  options.room_bytes = 1 + bytes.UpTo(protocol::kMaxIsoTpBytes - 1);
  protocol::IsoTp side(options);
  TimeNs t_ns = 0;
  while (!bytes.empty()) {
    t_ns += bytes.Take<std::uint16_t>() * 100 * kNsPerUs;
    TakeAll(side, t_ns);
    const std::size_t what = bytes.UpTo(7);
    if (what == 0) side.Send(t_ns, std::span(kMessage).first(bytes.UpTo(kMessage.size())));
    if (what == 1) side.set_busy(t_ns, bytes.UpTo(1) != 0);
    if (what == 2) side.OnFunctionalFrame(t_ns, FrameFrom(bytes, 0x7DF, false));
    if (what > 2) side.OnFrame(t_ns, FrameFrom(bytes, 0x7E8, false));
    const auto message = side.TakeMessage();
    Require(!message || (message->size() <= options.room_bytes && !message->empty()),
            "a message fits the room");
  }
  side.set_busy(t_ns, false);
  TakeAll(side, t_ns + 3600 * kNsPerS);
  Require(!side.sending() && side.NextDue() == kNever,
          "nothing is under way after an hour of silence");
}

void J1939Sessions(Bytes bytes) {
  protocol::J1939Sender sender;
  protocol::J1939Receiver receiver(0x21);
  receiver.set_block(1 + static_cast<int>(bytes.UpTo(254)));
  TimeNs t_ns = 0;
  while (!bytes.empty()) {
    t_ns += bytes.Take<std::uint16_t>() * 100 * kNsPerUs;
    TakeAll(sender, t_ns);
    TakeAll(receiver, t_ns);
    if (bytes.UpTo(7) == 0) {
      const std::uint8_t to = bytes.UpTo(1) == 0 ? 0x42 : protocol::kGlobalAddress;
      sender.Send(t_ns, {6, protocol::kPgnDm1, to, 0x21},
                  std::span(kMessage).first(bytes.UpTo(300)));
      continue;
    }
    const std::uint32_t pgn =
        bytes.UpTo(1) == 0 ? protocol::kPgnTransportManagement : protocol::kPgnTransportData;
    const std::uint8_t to = bytes.UpTo(1) == 0 ? 0x21 : protocol::kGlobalAddress;
    const auto from = static_cast<std::uint8_t>(0x40 + bytes.UpTo(10));
    const bus::Frame frame = FrameFrom(bytes, protocol::JoinId({7, pgn, to, from}), true);
    sender.OnFrame(t_ns, frame);
    receiver.OnFrame(t_ns, frame);
    const auto message = receiver.TakeMessage();
    Require(!message || message->bytes.size() <= protocol::kMaxJ1939Bytes, "a message fits");
  }
  TakeAll(sender, t_ns + 3600 * kNsPerS);
  TakeAll(receiver, t_ns + 3600 * kNsPerS);
  Require(!sender.sending() && receiver.NextDue() == kNever,
          "nothing is under way after an hour of silence");
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size > 4096) return 0;
  drycrank::fuzz::IsoTpSession({data, size});
  drycrank::fuzz::J1939Sessions({data, size});
  return 0;
}
