// SPDX-License-Identifier: Apache-2.0
//
// A file of its own: where the compiler sees both the replaced operators and their use, it takes
// malloc and delete for a mismatch.
#include "tests/bus/count_allocations.h"

#include <cstdlib>
#include <new>

namespace {
std::size_t allocations = 0;
}  // namespace

void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
  throw std::bad_alloc();
}
// std::stable_sort's buffer. A sanitizer has its own of these, which delete below would not match.
void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  ++allocations;
  return std::malloc(size == 0 ? 1 : size);
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

namespace drycrank::bus {

std::size_t Allocations() { return allocations; }

}  // namespace drycrank::bus
