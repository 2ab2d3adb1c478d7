// SPDX-License-Identifier: Apache-2.0
//
// Recordings of bus traffic, read frame by frame from a stream of any length in bounded memory. The
// format is found from the first bytes:
//   candump log   text, as candump -l of can-utils and other tools write it (candump_log.h)
//   pcapng        blocks with interfaces, nanoseconds and direction (pcapng.h)
//   pcap          its older form, read only: one interface, no direction
//
// Damage is said with its offset and what was good is kept: a line or frame that makes no sense is
// left out, and reading goes on at the next one that does.
//
// Times, in all formats alike:
//   range   0 to kLastRecordedNs, in the year 2262; one beyond it is damage
//   astray  one frame whose time is more than kAstrayNs away from the frame before and from the one
//           after, while those two are no more than that apart: a damaged time, left out. Of the first
//           frame: more than kAstrayNs after the second. What is left has no such frame any more, so a
//           recording made of it is whole
//   jumps   times that go on elsewhere (a pause; a clock that was set) are given as they are; who needs
//           times that never go back takes them through steady_time.h
#ifndef DRYCRANK_BUS_RECORDING_H_
#define DRYCRANK_BUS_RECORDING_H_

#include <cstddef>
#include <cstdint>
#include <istream>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "bus/byte_window.h"
#include "bus/frame.h"

namespace drycrank::bus {

enum class RecordingFormat { kCandumpLog, kPcapng, kPcap };
const char* Name(RecordingFormat format);
// By the ending of a file to be written: ".log", ".pcapng". Nothing for another.
std::optional<RecordingFormat> FormatForFile(std::string_view path);

inline constexpr TimeNs kLastRecordedNs = (kNever / kNsPerS - 1) * kNsPerS;
inline constexpr TimeNs kAstrayNs = kNsPerS;

enum class Direction : std::uint8_t { kUnknown, kReceived, kSent };

// One frame of a recording. Its time is that of the file: since 1970 (UTC), or since the start of a
// run in virtual time. An error report has `error` set, its class in `id`, and `extended` clear.
struct RecordedFrame {
  TimeNs t_ns = 0;
  int interface = 0;  // index into the recording's interfaces
  Direction direction = Direction::kUnknown;
  Frame frame;
};

struct Damage {
  std::uint64_t offset = 0;  // bytes from the begin of the stream
  std::string what;
};

// A recording's names of interfaces. Bounded: a hostile file cannot fill the memory with them.
class InterfaceNames {
 public:
  static constexpr std::size_t kMax = 64;
  static constexpr std::size_t kMaxLength = 64;
  // Its index, known or new; -1 when there are kMax others already.
  int IndexOf(std::string_view name);
  const std::vector<std::string>& list() const { return list_; }

 private:
  std::vector<std::string> list_;
};

// What the formats differ in. Internal to the reader.
class RecordingDecoder {
 public:
  enum class Step { kFrame, kPassedOver, kDamage, kEnd };
  virtual ~RecordingDecoder() = default;
  // One item of the stream. kDamage: `damage` is set, and the window stands where to go on.
  virtual Step Next(ByteWindow& window, RecordedFrame& out, Damage& damage) = 0;
  virtual const InterfaceNames& interfaces() const = 0;
  // For jumping: which interfaces hold at this place of the stream.
  virtual int section() const { return 0; }
  // `is_frame`: a frame was given from the place that comes next, and is given again.
  virtual void SetSection(int /*section*/, bool /*is_frame*/) {}
  // Pieces of kinds that are not known or not read, passed over.
  virtual std::uint64_t unread() const { return 0; }
};

class RecordingReader {
 public:
  static constexpr std::size_t kMaxDamageKept = 16;

  // The stream must outlive it and is read by nobody else.
  explicit RecordingReader(std::istream& stream);

  // Nothing: the stream is no recording, and damage() says so.
  std::optional<RecordingFormat> format() const { return format_; }
  // The next good frame. False at the end.
  bool Next(RecordedFrame& out);

  // Grows while new interfaces are met.
  const std::vector<std::string>& interfaces() const;
  // How many times something was damaged, and the first of them; what is read again after a jump back
  // counts once.
  std::uint64_t damaged() const { return damaged_; }
  const std::vector<Damage>& damage() const { return damage_; }
  // Packets and lines in order that are no CAN frames: other link types, notes of lost frames.
  std::uint64_t passed_over() const { return passed_over_; }

  // Of these, pieces of kinds that are not known, or hold frames in a way that is not read.
  std::uint64_t unread() const { return decoder_ ? decoder_->unread() : 0; }

  // A place is good for readers of the same bytes that have read this far once.
  struct Place {
    std::uint64_t offset = 0;
    int section = 0;
    bool was_given = false;  // the frame here was not astray
  };
  // Where reading goes on.
  Place place() const;
  // Where the frame given last begins: after a jump there it is given again, and what followed it.
  const Place& frame_place() const { return frame_place_; }
  // False: the stream cannot jump.
  bool JumpTo(const Place& place);

 private:
  struct Read {
    RecordedFrame frame;
    Place place;  // where it begins
  };
  bool Decode(Read& out);
  bool IsAstray(TimeNs t_ns, TimeNs after_ns) const;
  void Note(Damage damage);

  ByteWindow window_;
  Read ahead_[2];  // [turn_]: read, and not yet given, when is_ahead_
  std::size_t turn_ = 0;
  bool is_ahead_ = false;
  bool is_trusted_ = false;  // what is read next: it was judged before
  Place frame_place_;
  std::optional<TimeNs> last_ns_;  // of the frame given last
  std::uint64_t known_to_ = 0;     // what lies before was counted already
  std::optional<RecordingFormat> format_;
  std::unique_ptr<RecordingDecoder> decoder_;
  std::vector<Damage> damage_;
  std::uint64_t damaged_ = 0;
  std::uint64_t passed_over_ = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_RECORDING_H_
