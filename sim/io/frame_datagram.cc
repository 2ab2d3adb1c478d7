// SPDX-License-Identifier: Apache-2.0
#include "io/frame_datagram.h"

#include <algorithm>
#include <cassert>
#include <string_view>

#include "io/msgpack_reader.h"

namespace drycrank::io {
namespace {

using bus::Frame;
using Kind = MsgpackValue::Kind;

class Writer {
 public:
  explicit Writer(EncodedFrame& out) : out_(out) {}

  void Byte(std::uint64_t byte) { out_.buffer[out_.size++] = static_cast<std::uint8_t>(byte); }
  void Key(std::string_view key) {  // shorter than 32: "fixstr"
    Byte(0xA0u | key.size());
    for (const char c : key) Byte(static_cast<std::uint8_t>(c));
  }
  void Bool(std::string_view key, bool value) {
    Key(key);
    Byte(value ? 0xC3 : 0xC2);
  }
  void Unsigned(std::string_view key, std::uint32_t value) {
    Key(key);
    if (value <= 0x7F) return Byte(value);
    const int width = value <= 0xFF ? 1 : value <= 0xFFFF ? 2 : 4;
    Byte(width == 1 ? 0xCC : width == 2 ? 0xCD : 0xCE);
    for (int shift = 8 * (width - 1); shift >= 0; shift -= 8) Byte((value >> shift) & 0xFFu);
  }

 private:
  EncodedFrame& out_;
};

// What the map says so far; starts with the defaults of python-can's Message.
struct Fields {
  std::uint64_t id = 0;
  std::uint64_t dlc = 0;
  bool has_dlc = false;
  std::size_t data_size = 0;
  Frame frame;
};

bool ReadBool(MsgpackReader& reader, bool& flag) {
  MsgpackValue value;
  if (!reader.Next(value) || value.kind != Kind::kBool) return false;
  flag = value.number != 0;
  return true;
}

bool ReadUnsigned(MsgpackReader& reader, std::uint64_t& number) {
  MsgpackValue value;
  if (!reader.Next(value) || value.kind != Kind::kUnsigned) return false;
  number = value.number;
  return true;
}

// Bytes, or an array of small numbers, which python-can takes as well.
bool ReadData(MsgpackReader& reader, Fields& fields) {
  MsgpackValue value;
  if (!reader.Next(value)) return false;
  std::array<std::uint8_t, 64>& data = fields.frame.data;
  data.fill(0);
  if (value.kind == Kind::kBinary && value.bytes.size() <= data.size()) {
    std::copy(value.bytes.begin(), value.bytes.end(), data.begin());
    fields.data_size = value.bytes.size();
    return true;
  }
  if (value.kind != Kind::kArray || value.number > data.size()) return false;
  fields.data_size = value.number;
  for (std::size_t i = 0; i < fields.data_size; ++i) {
    std::uint64_t byte = 0;
    if (!ReadUnsigned(reader, byte) || byte > 0xFF) return false;
    data[i] = static_cast<std::uint8_t>(byte);
  }
  return true;
}

bool ReadPair(MsgpackReader& reader, Fields& fields) {
  MsgpackValue key;
  if (!reader.Next(key) || key.kind != Kind::kString) return false;
  const std::string_view name = key.text();
  Frame& frame = fields.frame;
  if (name == "arbitration_id") return ReadUnsigned(reader, fields.id);
  if (name == "dlc") return fields.has_dlc = ReadUnsigned(reader, fields.dlc);
  if (name == "data") return ReadData(reader, fields);
  if (name == "is_extended_id") return ReadBool(reader, frame.extended);
  if (name == "is_remote_frame") return ReadBool(reader, frame.remote);
  if (name == "is_error_frame") return ReadBool(reader, frame.error);
  if (name == "is_fd") return ReadBool(reader, frame.fd);
  if (name == "bitrate_switch") return ReadBool(reader, frame.bit_rate_switch);
  if (name == "error_state_indicator") return ReadBool(reader, frame.error_state);
  return reader.Skip();
}

}  // namespace

EncodedFrame EncodeDatagram(const Frame& frame) {
  assert(bus::IsValid(frame));
  EncodedFrame out;
  Writer write(out);
  write.Byte(0x8B);  // map of 11 pairs
  write.Key("timestamp");
  write.Byte(0xCB);  // float64 0.0: the receiver puts its own
  for (int i = 0; i < 8; ++i) write.Byte(0);
  write.Unsigned("arbitration_id", frame.id);
  write.Bool("is_extended_id", frame.extended);
  write.Bool("is_remote_frame", frame.remote);
  write.Bool("is_error_frame", false);
  write.Key("channel");
  write.Byte(0xC0);  // nil
  write.Unsigned("dlc", frame.length);
  write.Key("data");
  write.Byte(0xC4);
  const std::size_t data_size = frame.remote ? 0 : frame.length;
  write.Byte(data_size);
  for (std::size_t i = 0; i < data_size; ++i) write.Byte(frame.data[i]);
  write.Bool("is_fd", frame.fd);
  write.Bool("bitrate_switch", frame.bit_rate_switch);
  write.Bool("error_state_indicator", frame.error_state);
  return out;
}

std::optional<Frame> DecodeDatagram(std::span<const std::uint8_t> datagram) {
  MsgpackReader reader(datagram);
  MsgpackValue map;
  if (!reader.Next(map) || map.kind != Kind::kMap) return std::nullopt;
  Fields fields;
  fields.frame.extended = true;
  for (std::uint64_t pair = 0; pair < map.number; ++pair) {
    if (!ReadPair(reader, fields)) return std::nullopt;  // also ends a map that claims too many
  }
  if (!reader.at_end()) return std::nullopt;

  const std::uint64_t length = fields.has_dlc ? fields.dlc : fields.data_size;
  const std::size_t data_wanted = fields.frame.remote ? 0 : length;
  if (fields.id > 0x1FFFFFFF || length > 64 || fields.data_size != data_wanted) return std::nullopt;
  fields.frame.id = static_cast<std::uint32_t>(fields.id);
  fields.frame.length = static_cast<std::uint8_t>(length);

  Frame carried = fields.frame;  // an error report has the same bounds as the frame it comes as
  carried.error = false;
  if (!bus::IsValid(carried) || (fields.frame.error && fields.frame.remote)) return std::nullopt;
  return fields.frame;
}

}  // namespace drycrank::io
