// SPDX-License-Identifier: Apache-2.0
#include "bus/candump_log.h"

#include <algorithm>
#include <cstring>

#include "bus/frame_text.h"
#include "types/nth.h"

namespace drycrank::bus {
namespace {

bool IsBlank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

// Takes the next word off the front of `rest`; empty when there is none. Character by character: a
// search for one of several looks through their list for each.
std::string_view Word(std::string_view& rest) {
  std::size_t begin = 0;
  while (begin < rest.size() && IsBlank(rest[begin])) ++begin;
  std::size_t end = begin;
  while (end < rest.size() && !IsBlank(rest[end])) ++end;
  const std::string_view word = rest.substr(begin, end - begin);
  rest.remove_prefix(end);
  return word;
}

bool IsDigit(char c) { return c >= '0' && c <= '9'; }

// "(12.345678)", with at most nine decimals.
bool ParseTime(std::string_view word, TimeNs& t_ns) {
  if (word.size() < 3 || word.front() != '(' || word.back() != ')') return false;
  std::size_t at = 1;  // the bracket at the end ends both numbers
  TimeNs seconds = 0;
  for (; IsDigit(word[at]); ++at) {
    seconds = 10 * seconds + (word[at] - '0');
    if (seconds > kLastRecordedNs / kNsPerS) return false;
  }
  if (at == 1) return false;
  TimeNs fraction_ns = 0;
  if (word[at] == '.') {
    TimeNs worth_ns = kNsPerS;
    for (++at; IsDigit(word[at]) && worth_ns > 1; ++at) {
      worth_ns /= 10;
      fraction_ns += worth_ns * (word[at] - '0');
    }
    if (worth_ns == kNsPerS) return false;
  }
  t_ns = seconds * kNsPerS + fraction_ns;
  return at == word.size() - 1 && t_ns <= kLastRecordedNs;
}

std::string Shown(std::string_view line) {
  std::string text(line.substr(0, 60));
  for (char& c : text) {
    if (c < ' ' || c > '~') c = '?';
  }
  return text;
}

}  // namespace

void AppendLogLine(const RecordedFrame& frame, std::string_view interface,
                   fmt::memory_buffer& out) {
  const TimeNs t_us = std::max<TimeNs>(0, frame.t_ns) / kNsPerUs;
  fmt::format_to(fmt::appender(out), "({:010}.{:06}) {} ", t_us / 1'000'000, t_us % 1'000'000,
                 interface);
  AppendFrameText(frame.frame, out);
  out.push_back('\n');
}

bool LooksLikeCandumpLog(std::span<const std::uint8_t> head) {
  std::string_view text(reinterpret_cast<const char*>(head.data()), head.size());
  text.remove_prefix(std::min(text.find_first_not_of(" \t\r\n"), text.size()));
  TimeNs unused = 0;
  return text.starts_with("DROPCOUNT") || ParseTime(Word(text), unused);
}

RecordingDecoder::Step CandumpLogDecoder::Line(std::string_view line, RecordedFrame& out,
                                               Damage& damage) {
  std::string_view rest = line;
  const std::string_view time = Word(rest);
  if (time.empty() || time.starts_with("DROPCOUNT")) return Step::kPassedOver;
  const auto wrong = [&](const char* what) {
    damage.what = fmt::format("{}: \"{}\"", what, Shown(line));
    return Step::kDamage;
  };
  if (!ParseTime(time, out.t_ns)) return wrong("no time in parentheses");
  const std::string_view interface = Word(rest);
  const std::string_view text = Word(rest);
  if (!ReadFrameText(text, out.frame)) {
    const bool long_one = text.find(':') != std::string_view::npos;
    return wrong(long_one ? "not a classical or FD frame" : "not a frame");
  }
  const std::string_view way = Word(rest);
  if (!Word(rest).empty() || way.size() > 1) return wrong("more than a frame");
  if (!way.empty() && way != "R" && way != "T") return wrong("neither R nor T");
  out.direction = way.empty()  ? Direction::kUnknown
                  : way == "R" ? Direction::kReceived
                               : Direction::kSent;
  out.interface = interfaces_.IndexOf(interface);
  return out.interface < 0 ? wrong("one interface too many") : Step::kFrame;
}

RecordingDecoder::Step CandumpLogDecoder::Next(ByteWindow& window, RecordedFrame& out,
                                               Damage& damage) {
  const auto bytes = window.Peek(kMaxLine);
  if (bytes.empty()) return Step::kEnd;
  damage.offset = window.offset();
  const std::size_t size = std::min(bytes.size(), kMaxLine);
  const void* const end = std::memchr(bytes.data(), '\n', size);
  if (end != nullptr) {
    const auto length = AsSize(static_cast<const std::uint8_t*>(end) - bytes.data());
    const Step step = Line({reinterpret_cast<const char*>(bytes.data()), length}, out, damage);
    window.Skip(length + 1);
    return step;
  }
  if (bytes.size() < kMaxLine) {
    // The line may have lost its last bytes and still read as a frame, so it is not taken for one.
    damage.what = "the last line has no end: the recording was cut off";
    window.Skip(bytes.size());
    return Step::kDamage;
  }
  damage.what = fmt::format("a line of more than {} bytes", kMaxLine);
  for (auto more = bytes; !more.empty(); more = window.Peek(1)) {
    const void* const found = std::memchr(more.data(), '\n', more.size());
    if (found != nullptr) {
      window.Skip(AsSize(static_cast<const std::uint8_t*>(found) - more.data()) + 1);
      break;
    }
    window.Skip(more.size());
  }
  return Step::kDamage;
}

}  // namespace drycrank::bus
