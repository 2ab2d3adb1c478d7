// SPDX-License-Identifier: Apache-2.0
//
// A function that waits for something in its middle (co_await) and gives a value in the end (C++20
// coroutines). Whoever holds what it waits for goes on with it: several of them take turns in one
// thread, and what each does stands in the order in which it is done. Threads would do as well, but
// a sweep has to repeat to the byte.
#ifndef DRYCRANK_SWEEP_IN_TURNS_H_
#define DRYCRANK_SWEEP_IN_TURNS_H_

#include <coroutine>
#include <exception>
#include <optional>
#include <utility>

namespace drycrank::sweep {

template <class T>
class InTurns {
 public:
  struct promise_type {
    InTurns get_return_object() { return InTurns(Handle::from_promise(*this)); }
    std::suspend_always initial_suspend() noexcept { return {}; }
    auto final_suspend() noexcept { return BackToWhoWaits{}; }
    void return_value(T value) { result = std::move(value); }
    void unhandled_exception() { std::terminate(); }

    std::optional<T> result;
    std::coroutine_handle<> who_waits = std::noop_coroutine();
  };
  using Handle = std::coroutine_handle<promise_type>;

  InTurns(InTurns&& other) noexcept : handle_(std::exchange(other.handle_, {})) {}
  InTurns& operator=(InTurns&&) = delete;
  ~InTurns() {
    if (handle_) handle_.destroy();
  }

  // Up to where it waits first.
  void Begin() { handle_.resume(); }
  bool IsDone() const { return handle_.done(); }

  bool await_ready() const noexcept { return false; }
  std::coroutine_handle<> await_suspend(std::coroutine_handle<> who_waits) noexcept {
    handle_.promise().who_waits = who_waits;
    return handle_;
  }
  T await_resume() { return std::move(*handle_.promise().result); }

 private:
  struct BackToWhoWaits {
    bool await_ready() const noexcept { return false; }
    std::coroutine_handle<> await_suspend(Handle done) noexcept { return done.promise().who_waits; }
    void await_resume() const noexcept {}
  };
  explicit InTurns(Handle handle) : handle_(handle) {}

  Handle handle_;
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_IN_TURNS_H_
