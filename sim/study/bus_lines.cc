// SPDX-License-Identifier: Apache-2.0
#include "study/bus_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>

#include "bus/bus_timing.h"
#include "record/text_file.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr std::size_t kMostNamed = 5;

double Measured(const bus::Wire* wire, TimeNs duration_ns) {
  if (wire == nullptr || duration_ns <= 0) return -1;
  return static_cast<double>(wire->busy_ns()) / static_cast<double>(duration_ns);
}

report::MessageLine LineOf(const profile::Bus& bus, int b, const bus::MessageTiming& timing,
                           const run::Runner& runner) {
  const profile::Message& message = Nth(bus.messages, timing.message);
  report::MessageLine line;
  line.bus = bus.name;
  line.message = message.name;
  if (message.period_ms > 0) line.period_ns = timing.period_ns;
  line.response_on_paper_ns = timing.response_ns.value_or(-1);
  line.skipped = runner.skipped_slots(b, timing.message);
  const run::Carrier& carrier = runner.carrier();
  if (const bus::Wire* wire = carrier.wire(b)) {
    const bus::Wire::Mailbox& mailbox = Nth(wire->mailboxes(), timing.message);
    line.sent = mailbox.sent;
    line.replaced = mailbox.replaced;
    if (mailbox.sent > 0) line.response_measured_ns = mailbox.worst_response_ns;
  }
  const bus::Lateness* late = carrier.lateness(b, timing.message);
  if (late != nullptr && late->count() > 0) {
    line.sent = late->count();
    line.late_p50_ns = late->Quantile(0.5);
    line.late_p99_ns = late->Quantile(0.99);
    line.late_p999_ns = late->Quantile(0.999);
    line.late_worst_ns = late->worst_ns();
  }
  return line;
}

std::string Microseconds(TimeNs t_ns) {
  return t_ns < 0 ? "" : fmt::format("{:.3f}", static_cast<double>(t_ns) / 1e3);
}

// The messages that lost most, and all others together: a slow machine makes every message late.
struct Worst {
  std::vector<report::MessageLine> first;
  std::size_t others = 0;
  std::uint64_t others_frames = 0;
};

Worst WorstOf(const std::vector<report::MessageLine>& lines,
              std::uint64_t report::MessageLine::*lost) {
  Worst worst;
  for (const report::MessageLine& m : lines) {
    if (m.*lost > 0) worst.first.push_back(m);
  }
  std::ranges::stable_sort(worst.first, std::greater(), lost);
  while (worst.first.size() > kMostNamed) {
    ++worst.others;
    worst.others_frames += worst.first.back().*lost;
    worst.first.pop_back();
  }
  return worst;
}

}  // namespace

std::vector<report::BusLine> BusLines(const profile::Bench& bench, const run::RunOptions& options,
                                      const run::Runner& runner, const RunFacts& facts) {
  const std::vector<bus::BusTiming> timing = bus::TimingOf(bench);
  std::vector<report::BusLine> lines;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const bus::CanBus* outside = b < options.interfaces.size() ? options.interfaces[b] : nullptr;
    report::BusLine line;
    line.bus = bench.buses[b].name;
    line.interface = outside ? outside->Description() : "inproc";
    line.sent = facts.count(b).sent;
    line.received = facts.count(b).received;
    line.load_on_paper = timing[b].load;
    const bus::Wire* wire = runner.carrier().wire(static_cast<int>(b));
    line.load_measured = Measured(wire, facts.duration_ns());
    if (wire != nullptr) line.refused = wire->refused();
    if (outside != nullptr) {
      line.refused = outside->counters().send_refused;
      line.lost = outside->counters().receive_lost;
      line.confirms = outside->Confirms();
      line.confirmed = outside->counters().confirmed;
      line.unconfirmed = outside->counters().unconfirmed;
    }
    lines.push_back(line);
  }
  return lines;
}

std::vector<report::MessageLine> MessageLines(const profile::Bench& bench,
                                              const run::Runner& runner) {
  const std::vector<bus::BusTiming> timing = bus::TimingOf(bench);
  std::vector<report::MessageLine> lines;
  for (std::size_t b = 0; b < timing.size(); ++b) {
    for (const bus::MessageTiming& m : timing[b].messages) {
      const report::MessageLine line = LineOf(bench.buses[b], static_cast<int>(b), m, runner);
      if (line.sent + line.replaced + line.skipped > 0) lines.push_back(line);
    }
  }
  return lines;
}

std::vector<std::string> MessageNotes(const std::vector<report::MessageLine>& lines) {
  std::vector<std::string> notes;
  const Worst skipped = WorstOf(lines, &report::MessageLine::skipped);
  for (const report::MessageLine& m : skipped.first) {
    notes.push_back(
        fmt::format("{} of {} frames of {} were left out: the machine was so late that the next "
                    "was due already",
                    m.skipped, m.skipped + m.sent, m.message));
  }
  if (skipped.others > 0) {
    notes.push_back(fmt::format("so were {} frames of {} other messages", skipped.others_frames,
                                skipped.others));
  }
  const Worst replaced = WorstOf(lines, &report::MessageLine::replaced);
  for (const report::MessageLine& m : replaced.first) {
    notes.push_back(
        fmt::format("{} values of {} never got onto bus {}: newer ones took their "
                    "place before it was free",
                    m.replaced, m.message, m.bus));
  }
  if (replaced.others > 0) {
    notes.push_back(fmt::format("nor did {} values of {} other messages", replaced.others_frames,
                                replaced.others));
  }
  return notes;
}

std::string WriteMessageLines(const std::string& folder,
                              const std::vector<report::MessageLine>& lines) {
  record::TextFile file(folder + "/messages.csv");
  file.Line(
      "bus,message,period_ms,sent,replaced,skipped,response_on_paper_us,response_measured_us,"
      "late_p50_us,late_p99_us,late_p999_us,late_worst_us");
  for (const report::MessageLine& m : lines) {
    file.Line("{},{},{:g},{},{},{},{},{},{},{},{},{}", m.bus, m.message, ToMs(m.period_ns), m.sent,
              m.replaced, m.skipped, Microseconds(m.response_on_paper_ns),
              Microseconds(m.response_measured_ns), Microseconds(m.late_p50_ns),
              Microseconds(m.late_p99_ns), Microseconds(m.late_p999_ns),
              Microseconds(m.late_worst_ns));
  }
  return file.Close();
}

}  // namespace drycrank::study
