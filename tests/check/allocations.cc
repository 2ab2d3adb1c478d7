// SPDX-License-Identifier: Apache-2.0
//
// In a file of its own: where the compiler can see new and delete inlined into their callers, it
// takes malloc and free for a mismatch.
#include "tests/check/allocations.h"

#include <atomic>
#include <cstdlib>
#include <new>

namespace {
std::atomic<long> allocations{0};
}  // namespace

void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size)) return memory;
  throw std::bad_alloc();
}
void* operator new(std::size_t size, const std::nothrow_t& /*tag*/) noexcept {
  ++allocations;
  return std::malloc(size);
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t /*size*/) noexcept { std::free(memory); }

namespace drycrank::check {

long Allocations() { return allocations; }

}  // namespace drycrank::check
