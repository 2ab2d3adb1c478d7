// SPDX-License-Identifier: Apache-2.0
//
// One sender on the buses: which of its messages are due, and what they carry. The simulator
// itself, the controller and the display are three of them; they differ in where a value comes
// from.
#ifndef DRYCRANK_RUN_NODE_H_
#define DRYCRANK_RUN_NODE_H_

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "bus/cyclic.h"
#include "bus/frame.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::run {

class Node {
 public:
  using IndexOfValue = std::function<int(std::string_view carries)>;
  using ValueAt = std::function<double(int index, TimeNs t_ns)>;

  // `index_of` is asked once per signal at construction, `value_at` at each transmission.
  Node(const profile::Bench& bench, profile::Sender sender, const IndexOfValue& index_of,
       ValueAt value_at);

  TimeNs NextDue() const { return cyclic_.NextDue(); }
  // The next frame due at or before t_ns; returns its message's index in the bus, -1 when there is
  // none. `late_ns`: per bus, how late a frame would leave now. Passed over: a frame that a fault
  // holds back, and one so late that the next of its kind is due already (counted; its rolling
  // counter does not go on).
  int TakeDue(TimeNs t_ns, std::span<const TimeNs> late_ns, bus::TimedFrame& out);
  // The last frame of this message was not sent after all: counted as passed over.
  void TakeBack(int bus, int message);
  // Event messages (period 0) whose values have changed since they were last sent, by what a
  // receiver can tell: a change below a signal's resolution is none.
  bool TakeChanged(TimeNs t_ns, bus::TimedFrame& out);

  // A recording plays this message instead. Another sender's is left alone.
  void LeaveOut(int bus, int message);
  void SetFaults(std::span<const profile::Fault* const> faults);
  std::uint64_t skipped() const;
  std::uint64_t skipped(int bus, int message) const;  // 0 for a message of somebody else

 private:
  struct Outgoing {
    int bus = 0;
    int message = 0;
    std::vector<int> values;         // per signal; -1: zero
    std::vector<double> physical;    // scratch
    std::optional<bus::Frame> last;  // event messages: as last sent, without counter
    std::uint64_t count = 0;         // the rolling counter
    std::uint64_t last_count = 0;    // before the last frame
    std::uint64_t sent = 0;
    bool made = false;  // a frame that TakeBack may still take back
    std::uint64_t skipped = 0;
    bool missing = false, counter_stuck = false, checksum_wrong = false, doubled = false;
    std::uint64_t jump_by = 0, jump_every = 1;
    std::vector<char> frozen;                // per signal
    std::optional<profile::Message> edited;  // the message as a faulty sender has it
    bool left_out = false;
  };
  const profile::Message& MessageOf(const Outgoing& outgoing) const;  // of the bench
  struct MessageFaults;
  void SetFaultsOf(Outgoing& outgoing, std::span<const profile::Fault* const> faults);
  void Fill(Outgoing& outgoing, TimeNs t_ns);
  bus::TimedFrame Make(Outgoing& outgoing, TimeNs t_ns);
  Outgoing& Find(int bus, int message);

  const profile::Bench& bench_;
  profile::Sender sender_;
  ValueAt value_at_;
  bus::CyclicSender cyclic_;
  std::vector<Outgoing> outgoing_;
  std::vector<std::vector<std::size_t>> places_;  // in outgoing_, per bus and message
  std::optional<bus::TimedFrame> again_;  // to be sent a second time
  int again_message_ = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_NODE_H_
