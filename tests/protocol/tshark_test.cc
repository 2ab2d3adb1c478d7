// SPDX-License-Identifier: Apache-2.0
//
// tshark (4.0, Debian 12) as the judge: a whole talk of tester and controller by our ISO-TP, OBD
// and UDS is written as a candump log, and tshark must put it together to the same values. Its
// ISO-TP, OBD-II and UDS dissectors share no code with us.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <memory>
#include <string>

#include "protocol/isotp.h"
#include "protocol/obd.h"
#include "protocol/uds.h"
#include "tests/bus/build_signal.h"
#include "tests/protocol/fake_source.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using testing::HasSubstr;

class Tshark : public testing::Test {
 protected:
  Tshark() {
    source_.values = {{0x05, 83}, {0x0C, 1726}, {0x42, 13.75}};
    source_.troubles = {{0x0118, kAllStatus}, {0x0113, kAllStatus}, {0x0107, kPending}};
    file_.reset(std::fopen(log_.c_str(), "w"));
  }

  // Asks and carries every frame, both ways, into the log.
  void Ask(const std::string& hex) {
    ASSERT_TRUE(tester_.Send(t_ns_, Bytes(hex)));
    bool answered = false;
    while (std::min(tester_.NextDue(), ecu_.NextDue()) < t_ns_ + kNsPerS / 2 || !answered) {
      t_ns_ += kNsPerMs;
      Carry(tester_, ecu_);
      if (const auto request = ecu_.TakeMessage()) {
        std::array<std::uint8_t, 512> out;
        const bool obd = IsObdService((*request)[0]);
        const std::size_t length = obd ? AnswerObd(source_, *request, false, out)
                                       : AnswerUds(source_, *request, false, out);
        ASSERT_TRUE(ecu_.Send(t_ns_, std::span(out.data(), length)));
        answered = true;
      }
      Carry(ecu_, tester_);
      tester_.TakeMessage();
    }
  }
  // What tshark says of it, all fields spelled out.
  std::string Decoded(const std::string& dissector) {
    file_.reset();
    const std::string command = "tshark -r '" + log_ +
                                "' -d can.subdissector,iso15765 -d iso15765.subdissector," +
                                dissector + " -V 2>/dev/null";
    std::string text;
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    std::array<char, 4096> piece;
    while (std::fgets(piece.data(), piece.size(), pipe.get()) != nullptr) text += piece.data();
    EXPECT_FALSE(text.empty()) << "no tshark? apt-get install tshark";
    return text;
  }

 private:
  void Carry(IsoTp& from, IsoTp& to) {
    bus::Frame frame;
    while (from.TakeDue(t_ns_, frame)) {
      std::fprintf(file_.get(), "(%010lld.%06lld) can0 %03X#",
                   static_cast<long long>(t_ns_ / kNsPerS),
                   static_cast<long long>(t_ns_ % kNsPerS / 1000), frame.id);
      for (const std::uint8_t byte : frame.bytes()) std::fprintf(file_.get(), "%02X", byte);
      std::fprintf(file_.get(), "\n");
      to.OnFrame(t_ns_, frame);
    }
  }
  static IsoTpOptions Options(std::uint32_t transmit_id, std::uint32_t receive_id) {
    IsoTpOptions options;
    options.transmit_id = transmit_id;
    options.receive_id = receive_id;
    return options;
  }

 protected:
  FakeSource source_;

 private:
  ScratchFolder folder_;
  std::string log_ = folder_.Path("bus.log");
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file_{nullptr, std::fclose};
  TimeNs t_ns_ = 0;
  IsoTp tester_{Options(0x7E0, 0x7E8)}, ecu_{Options(0x7E8, 0x7E0)};
};

TEST_F(Tshark, ReadsOurObdValues) {
  for (const char* request : {"010C", "0105", "0142", "0902", "03"}) Ask(request);
  const std::string text = Decoded("obd-ii");
  EXPECT_THAT(text, HasSubstr("Engine RPM: 1726"));
  EXPECT_THAT(text, HasSubstr("Engine coolant temperature: 83"));
  EXPECT_THAT(text, HasSubstr("Control module voltage: 13.75"));
  EXPECT_THAT(text, HasSubstr("VIN: INVENTED000000001"));
  EXPECT_THAT(text, HasSubstr("Show stored Diagnostic Trouble Codes"));
}

TEST_F(Tshark, PutsOurSegmentsTogether) {
  Ask("0902");
  const std::string text = Decoded("obd-ii");
  EXPECT_THAT(text, HasSubstr("Message Type: First Frame"));
  EXPECT_THAT(text, HasSubstr("Message Type: Flow control"));
  EXPECT_THAT(text, HasSubstr("Reassembled length: 20"));  // 49 02 01 and 17 characters
}

TEST_F(Tshark, ReadsOurUdsAnswers) {
  for (const char* request : {"22F40C", "190208", "14FFFFFF", "31010203"}) Ask(request);
  const std::string text = Decoded("uds");
  EXPECT_THAT(text, HasSubstr("Data Identifier: 0xf40c"));
  EXPECT_THAT(text, HasSubstr("Data Record: 1af8"));
  EXPECT_THAT(text, HasSubstr("Report DTC by Status Mask (0x02)"));
  EXPECT_THAT(text, HasSubstr("Record: 0d0118000d0113000d"));
  EXPECT_THAT(text, HasSubstr("Clear Diagnostic Information (0x14)"));
  EXPECT_THAT(text, HasSubstr("Service not supported (0x11)"));
}

}  // namespace
}  // namespace drycrank::protocol
