// SPDX-License-Identifier: Apache-2.0
#include "tests/kernel/line_emulator.h"

#include <fcntl.h>
#include <linux/uhid.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <iterator>
#include <new>
#include <tuple>

namespace drycrank {
namespace {

// Report ids 2 (feature), 13h (in) and 14h (out), 63 bytes each.
constexpr unsigned char kDescriptor[] = {
    0x06, 0x00, 0xff, 0x09, 0x01, 0xa1, 0x01, 0x85, 0x02, 0x09, 0x01, 0x15, 0x00, 0x26, 0xff,
    0x00, 0x75, 0x08, 0x95, 0x3f, 0xb1, 0x02, 0x85, 0x13, 0x09, 0x02, 0x75, 0x08, 0x95, 0x3f,
    0x81, 0x02, 0x85, 0x14, 0x09, 0x03, 0x75, 0x08, 0x95, 0x3f, 0x91, 0x02, 0xc0};
constexpr unsigned char kVersion[] = {5, 0x0c, 2};
constexpr unsigned char kNoReport = 0xff;

struct Registers {
  unsigned char configuration[5] = {2, 0, 0, 0, 0};  // [1]: a bit for each output
  unsigned char bus[14] = {6, 0, 1, 0x86, 0xa0, 2};
};

template <class Bytes>
std::uint16_t Copy(const Bytes& bytes, unsigned char* out) {
  std::copy(std::begin(bytes), std::end(bytes), out);
  return sizeof(bytes);
}

std::uint16_t Report(unsigned char number, const Registers& registers,
                     const LineEmulator::Lines& lines, unsigned char* out) {
  if (number == 2) return Copy(registers.configuration, out);
  if (number == 5) return Copy(kVersion, out);
  if (number == 6) return Copy(registers.bus, out);
  if (number != 3) return 0;
  const int outputs = registers.configuration[1];
  const int levels = (lines.levels & outputs) | (lines.outside & ~outputs);
  return Copy((const unsigned char[]){3, static_cast<unsigned char>(levels)}, out);
}

void Take(const unsigned char* report, Registers& registers, LineEmulator::Lines& lines) {
  if (report[0] == 2) std::copy_n(report, sizeof(registers.configuration), registers.configuration);
  if (report[0] == 6) std::copy_n(report, sizeof(registers.bus), registers.bus);
  if (report[0] == 4) {
    lines.levels = static_cast<std::uint8_t>((lines.levels & ~report[2]) | (report[1] & report[2]));
  }
  lines.outputs = registers.configuration[1];
}

[[noreturn]] void Play(LineEmulator::Lines& lines) {
  const int device = open("/dev/uhid", O_RDWR);
  uhid_event event{};
  event.type = UHID_CREATE2;
  std::strcpy(reinterpret_cast<char*>(event.u.create2.name), "lines");
  event.u.create2.rd_size = Copy(kDescriptor, event.u.create2.rd_data);
  event.u.create2.bus = 3;  // USB
  event.u.create2.vendor = 0x10c4;
  event.u.create2.product = 0xea90;
  if (device < 0 || write(device, &event, sizeof(event)) < 0) _exit(1);
  for (Registers registers; read(device, &event, sizeof(event)) >= 0;) {
    uhid_event answer{};
    if (event.type == UHID_GET_REPORT) {
      auto& reply = answer.u.get_report_reply;
      answer.type = UHID_GET_REPORT_REPLY;
      reply.id = event.u.get_report.id;
      reply.size = Report(event.u.get_report.rnum, registers, lines, reply.data);
      reply.err = reply.size == 0 ? EIO : 0;
    } else if (event.type == UHID_SET_REPORT) {
      Take(event.u.set_report.data, registers, lines);
      answer.type = UHID_SET_REPORT_REPLY;
      answer.u.set_report_reply.id = event.u.set_report.id;
    } else {
      continue;
    }
    std::ignore = write(device, &answer, sizeof(answer));
  }
  _exit(1);
}

}  // namespace

LineEmulator::LineEmulator()
    : lines_(new (mmap(nullptr, sizeof(Lines), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS,
                       -1, 0)) Lines) {
  process_ = fork();
  if (process_ == 0) Play(*lines_);
}

LineEmulator::~LineEmulator() {
  kill(process_, SIGKILL);
  waitpid(process_, nullptr, 0);
  munmap(lines_, sizeof(Lines));
}

}  // namespace drycrank
