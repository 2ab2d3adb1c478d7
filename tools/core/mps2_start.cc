// SPDX-License-Identifier: Apache-2.0
//
// What comes before main on the Cortex-M3 that qemu-system-arm calls mps2-an385, its UART, its timer
// and its end. Registers: Arm's "Cortex-M System Design Kit", UART and timer (from memory).
#include <stddef.h>

#include "tools/core/mps2.h"

extern "C" {
extern uint32_t data_begin, data_end, data_from, bss_begin, bss_end, stack_top;
void Reset();
// What the compiler calls for large copies and for a trap of its own.
void* memcpy(void* to, const void* from, size_t count);
void* memset(void* to, int value, size_t count);
}

int main();

namespace {

volatile uint32_t& At(uint32_t address) { return *reinterpret_cast<volatile uint32_t*>(address); }
constexpr uint32_t kUart = 0x40004000, kTimer = 0x40000000;

void Fault() { drycrank::core::Exit(1); }

}  // namespace

using Vector = void (*)();
[[gnu::section(".vectors"), gnu::used]] const Vector kVectors[16] = {
    reinterpret_cast<Vector>(&stack_top), Reset, Fault, Fault, Fault, Fault, Fault};

void* memcpy(void* to, const void* from, size_t count) {
  auto* t = static_cast<volatile unsigned char*>(to);
  const auto* f = static_cast<const unsigned char*>(from);
  for (size_t i = 0; i < count; ++i) t[i] = f[i];
  return to;
}
void* memset(void* to, int value, size_t count) {
  auto* t = static_cast<volatile unsigned char*>(to);
  for (size_t i = 0; i < count; ++i) t[i] = static_cast<unsigned char>(value);
  return to;
}

void Reset() {
  const uint32_t* from = &data_from;
  for (uint32_t* to = &data_begin; to != &data_end;) *to++ = *from++;
  for (uint32_t* to = &bss_begin; to != &bss_end;) *to++ = 0;
  At(kUart + 0x10) = 16;  // divider
  At(kUart + 0x08) = 3;   // both ways on
  At(kTimer + 0x08) = 0xFFFFFFFF;
  At(kTimer + 0x04) = 0xFFFFFFFF;
  At(kTimer) = 1;
  drycrank::core::Exit(main());
}

namespace drycrank::core {

void Put(char c) {
  while (At(kUart + 4) & 1) {
  }
  At(kUart) = static_cast<uint32_t>(c);
}

int Get() { return At(kUart + 4) & 2 ? static_cast<int>(At(kUart) & 0xFF) : -1; }

// The timer counts down, 25 million a second: it must be asked once in its 171 s.
int64_t NowNs() {
  static uint32_t last = 0xFFFFFFFF;
  static int64_t ticks = 0;
  const uint32_t now = At(kTimer + 0x04);
  ticks += last - now;
  last = now;
  return ticks * 40;
}

// Semihosting: SYS_EXIT_EXTENDED, with "application exit" and the code.
void Exit(int code) {
  const uint32_t block[2] = {0x20026, static_cast<uint32_t>(code)};
  register uint32_t what __asm__("r0") = 0x20;
  register const uint32_t* with __asm__("r1") = block;
  __asm__ volatile("bkpt 0xAB" : : "r"(what), "r"(with) : "memory");
  for (;;) {
  }
}

}  // namespace drycrank::core
