// SPDX-License-Identifier: Apache-2.0
//
// Datagrams of the multicast bus: what is taken for a frame is one that a bus could carry or an error
// report. A frame comes back as it was; an error report is taken and never sent.
#include "io/frame_datagram.h"
#include "tests/fuzz/fuzz.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  const auto frame = io::DecodeDatagram({data, size});
  if (!frame) return 0;
  bus::Frame carried = *frame;
  carried.error = false;
  fuzz::Require(bus::IsValid(carried), "a bus could carry it");
  if (frame->error) return 0;
  const auto again = io::DecodeDatagram(io::EncodeDatagram(*frame).bytes());
  fuzz::Require(again && *again == *frame, "it comes back as it was");
  return 0;
}
