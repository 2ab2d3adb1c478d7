// SPDX-License-Identifier: Apache-2.0
//
// Datagrams as python-can 4.1.0 writes them (can.interfaces.udp_multicast.utils.pack_message), and
// a small writer of maps for those it would never write.
#ifndef DRYCRANK_TESTS_IO_DATAGRAM_EXAMPLES_H_
#define DRYCRANK_TESTS_IO_DATAGRAM_EXAMPLES_H_

#include <string>
#include <utility>
#include <vector>

#include "bus/frame.h"
#include "tests/bus/build_signal.h"

namespace drycrank::io {

using Raw = std::vector<std::uint8_t>;

struct Example {
  const char* name;
  bus::Frame frame;
  std::string hex;
};

inline std::vector<Example> PythonCanExamples() {
  const std::string head = "8ba974696d657374616d70cb0000000000000000ae6172626974726174696f6e5f6964";
  bus::Frame remote = bus::FrameOf(0x7, false, "");
  remote.remote = true;
  remote.length = 8;
  bus::Frame fd = bus::FrameOf(0xF0, false, "000102030405060708090A0B");
  fd.fd = fd.bit_rate_switch = fd.error_state = true;
  return {
      {"standard", bus::FrameOf(0x123, false, "010203"),
       head + "cd0123ae69735f657874656e6465645f6964c2af69735f72656d6f74655f6672616d65c2"
              "ae69735f6572726f725f6672616d65c2a76368616e6e656cc0a3646c6303a464617461c403010203"
              "a569735f6664c2ae626974726174655f737769746368c2b56572726f725f73746174655f696e6469"
              "6361746f72c2"},
      {"extended", bus::FrameOf(0x18FEEE00, true, "82"),
       head + "ce18feee00ae69735f657874656e6465645f6964c3af69735f72656d6f74655f6672616d65c2"
              "ae69735f6572726f725f6672616d65c2a76368616e6e656cc0a3646c6301a464617461c40182"
              "a569735f6664c2ae626974726174655f737769746368c2b56572726f725f73746174655f696e6469"
              "6361746f72c2"},
      {"remote", remote,
       head + "07ae69735f657874656e6465645f6964c2af69735f72656d6f74655f6672616d65c3"
              "ae69735f6572726f725f6672616d65c2a76368616e6e656cc0a3646c6308a464617461c400"
              "a569735f6664c2ae626974726174655f737769746368c2b56572726f725f73746174655f696e6469"
              "6361746f72c2"},
      {"fd", fd,
       head + "ccf0ae69735f657874656e6465645f6964c2af69735f72656d6f74655f6672616d65c2"
              "ae69735f6572726f725f6672616d65c2a76368616e6e656cc0a3646c630ca464617461c40c"
              "000102030405060708090a0ba569735f6664c3ae626974726174655f737769746368c3"
              "b56572726f725f73746174655f696e64696361746f72c3"},
  };
}

// A map of keys to values that are already msgpack.
inline Raw MapOf(const std::vector<std::pair<std::string, Raw>>& pairs) {
  Raw bytes = {static_cast<std::uint8_t>(0x80 + pairs.size())};
  for (const auto& [key, value] : pairs) {
    bytes.push_back(static_cast<std::uint8_t>(0xA0 + key.size()));
    bytes.insert(bytes.end(), key.begin(), key.end());
    bytes.insert(bytes.end(), value.begin(), value.end());
  }
  return bytes;
}

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_IO_DATAGRAM_EXAMPLES_H_
