// SPDX-License-Identifier: Apache-2.0
//
// A file of its own: where the compiler sees both the replaced operators and their use, it takes
// malloc and delete for a mismatch.
#include "tests/bus/count_allocations.h"

#include <malloc.h>

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <new>

namespace {
// Atomic, because a thread gives back in the end what another took for it.
std::atomic<std::size_t> allocations = 0, held_bytes = 0, most_bytes = 0;

void* Take(std::size_t size) {
  ++allocations;
  void* const memory = std::malloc(size == 0 ? 1 : size);
  held_bytes += malloc_usable_size(memory);
  most_bytes = std::max(most_bytes.load(), held_bytes.load());
  return memory;
}
void Give(void* memory) {
  held_bytes -= malloc_usable_size(memory);
  std::free(memory);
}
}  // namespace

void* operator new(std::size_t size) {
  if (void* memory = Take(size)) return memory;
  throw std::bad_alloc();
}
// std::stable_sort's buffer. A sanitizer has its own of these, which delete below would not match.
void* operator new(std::size_t size, const std::nothrow_t&) noexcept { return Take(size); }
void operator delete(void* memory) noexcept { Give(memory); }
void operator delete(void* memory, std::size_t) noexcept { Give(memory); }

namespace drycrank::bus {

std::size_t Allocations() { return allocations; }

MostBytes::MostBytes() : before_(held_bytes) { most_bytes = held_bytes.load(); }

std::size_t MostBytes::more() const { return most_bytes - before_; }

}  // namespace drycrank::bus
