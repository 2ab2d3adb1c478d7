// SPDX-License-Identifier: Apache-2.0
//
// A GPIO chip in user space: preloaded (ld.so(8), LD_PRELOAD) into the programs that use it, it answers the
// kernel's requests of linux/gpio.h for the file that GPIO_TWIN names. Eight lines, label "twin".
//
//   FILE           "LINE LEVEL NS", appended with each change of an output; NS is CLOCK_MONOTONIC
//   FILE.lock      a byte for each line, locked as long as somebody has it (fcntl(2), F_OFD_SETLK): free
//                  again when its owner is gone, however it went
//   FILE.inN       what line N reads as an input: 1 or 0; without the file 0
//
// As on the chips of hw-notes/slow-outputs.md a line keeps its level when its owner is gone.
#include <fcntl.h>
#include <linux/gpio.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#include <cerrno>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

namespace {

constexpr unsigned kLines = 8;
constexpr int kMostDescriptors = 1024;
gpio_v2_line_request g_requests[kMostDescriptors];  // per descriptor of lines

std::string File() {
  const char* file = std::getenv("GPIO_TWIN");
  return file == nullptr ? "" : file;
}

bool IsOf(int fd, const std::string& file) {
  struct stat mine {}, its {};
  return !file.empty() && ::stat(file.c_str(), &its) == 0 && ::fstat(fd, &mine) == 0 &&
         mine.st_ino == its.st_ino && mine.st_dev == its.st_dev;
}

void Tell(unsigned line, bool high) {
  timespec now{};
  ::clock_gettime(CLOCK_MONOTONIC, &now);
  char text[64];
  const int size = std::snprintf(text, sizeof text, "%u %d %lld\n", line, high ? 1 : 0,
                                 now.tv_sec * 1'000'000'000LL + now.tv_nsec);
  const int fd = ::open(File().c_str(), O_WRONLY | O_APPEND | O_CLOEXEC);
  if (::write(fd, text, static_cast<std::size_t>(size)) != size) std::abort();
  ::close(fd);
}

int Fail(int why) {
  errno = why;
  return -1;
}

int TellChip(gpiochip_info& facts) {
  facts = {};
  std::strcpy(facts.name, "gpiochip0");
  std::strcpy(facts.label, "twin");
  facts.lines = kLines;
  return 0;
}

bool IsOutput(const gpio_v2_line_request& request) {
  return (request.config.flags & GPIO_V2_LINE_FLAG_OUTPUT) != 0;
}

int Set(const gpio_v2_line_request& request, const gpio_v2_line_values& values) {
  if (!IsOutput(request)) return Fail(EPERM);
  for (unsigned i = 0; i < request.num_lines; ++i) {
    if ((values.mask >> i & 1) != 0) Tell(request.offsets[i], (values.bits >> i & 1) != 0);
  }
  return 0;
}

int Get(const gpio_v2_line_request& request, gpio_v2_line_values& values) {
  values.bits = 0;
  for (unsigned i = 0; i < request.num_lines; ++i) {
    const std::string input = File() + ".in" + std::to_string(request.offsets[i]);
    const int fd = ::open(input.c_str(), O_RDONLY | O_CLOEXEC);
    char level = '0';
    if (fd >= 0 && ::read(fd, &level, 1) == 1 && level == '1') values.bits |= 1ULL << i;
    if (fd >= 0) ::close(fd);
  }
  return 0;
}

int Take(gpio_v2_line_request& request) {
  const int fd = ::open((File() + ".lock").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (fd < 0 || fd >= kMostDescriptors) std::abort();
  for (unsigned i = 0; i < request.num_lines; ++i) {
    struct flock byte {};
    byte.l_type = F_WRLCK;
    byte.l_whence = SEEK_SET;
    byte.l_start = request.offsets[i];
    byte.l_len = 1;
    const bool there = request.offsets[i] < kLines;
    if (there && ::fcntl(fd, F_OFD_SETLK, &byte) == 0) continue;
    ::close(fd);
    return Fail(there ? EBUSY : EINVAL);
  }
  request.fd = fd;
  g_requests[fd] = request;
  if (!IsOutput(request) || request.config.num_attrs == 0) return 0;
  return Set(request, {request.config.attrs[0].attr.values, request.config.attrs[0].mask});
}

}  // namespace

extern "C" int ioctl(int fd, unsigned long what, ...) noexcept {
  va_list rest;
  va_start(rest, what);
  void* with = va_arg(rest, void*);
  va_end(rest);
  if (what == GPIO_GET_CHIPINFO_IOCTL && IsOf(fd, File())) {
    return TellChip(*static_cast<gpiochip_info*>(with));
  }
  if (what == GPIO_V2_GET_LINE_IOCTL && IsOf(fd, File())) {
    return Take(*static_cast<gpio_v2_line_request*>(with));
  }
  const bool is_set = what == GPIO_V2_LINE_SET_VALUES_IOCTL;
  if ((is_set || what == GPIO_V2_LINE_GET_VALUES_IOCTL) && IsOf(fd, File() + ".lock")) {
    auto& values = *static_cast<gpio_v2_line_values*>(with);
    return is_set ? Set(g_requests[fd], values) : Get(g_requests[fd], values);
  }
  return static_cast<int>(::syscall(SYS_ioctl, fd, what, with));
}
