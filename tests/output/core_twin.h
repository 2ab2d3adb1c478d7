// SPDX-License-Identifier: Apache-2.0
//
// The trigger core as its own in-memory twin: CoreNode compiled for this computer, at the other end of a
// byte port. Its time stands but while somebody waits, so that a test needs no clock.
#ifndef DRYCRANK_TESTS_OUTPUT_CORE_TWIN_H_
#define DRYCRANK_TESTS_OUTPUT_CORE_TWIN_H_

#include <deque>
#include <string>
#include <vector>

#include "core/core_node.h"
#include "output/byte_port.h"

namespace drycrank::output {

class CoreTwin {
 public:
  CoreTwin();
  ~CoreTwin();

  // Its time goes on; the node runs each 0.1 ms.
  void Pass(TimeNs ns);
  bool dead = false;     // answers no more
  bool mute = false;     // does all, and nothing of what it says comes through
  TimeNs deaf_until = 0; // what is sent before is lost
  TimeNs answers_after = 0;  // a slow line
  std::vector<TimeNs> beats; // when a heartbeat of the PC came
  bool cut_off = false;  // the line is gone
  TimeNs now = 0;
  std::deque<std::uint8_t> to_core, to_pc;
  std::vector<core::Pulse> pins;     // what the board was told, in its order
  std::vector<std::uint32_t> safe;   // levels, at each time that it was made safe
  // Of the pins that were set since it was armed: those up to now.
  std::vector<core::Pulse> Shown(int channel) const;

 private:
  core::CoreNode node_{5};
};

class TwinPort : public BytePort {
 public:
  explicit TwinPort(CoreTwin& twin) : twin_(twin) {}
  std::string Name() const override { return "/dev/twin"; }
  std::string Open() override { return twin_.cut_off ? "open /dev/twin: it is not there" : ""; }
  int Read(std::span<std::uint8_t> bytes, TimeNs wait_ns) override;
  bool Write(std::span<const std::uint8_t> bytes) override;
  TimeNs Now() override { return twin_.now; }

 private:
  CoreTwin& twin_;
  struct Answer {
    TimeNs at = 0;          // when it is there
    std::size_t begin = 0;  // of all bytes so far
  };
  core::FrameReader reader_;
  std::deque<Answer> answers_;
  std::size_t read_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_TESTS_OUTPUT_CORE_TWIN_H_
