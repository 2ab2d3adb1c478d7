// SPDX-License-Identifier: Apache-2.0
#include "capture/wav_trace.h"

#include <fmt/format.h>

#include <array>
#include <bit>
#include <cstring>
#include <limits>

#include "capture/byte_file.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr std::uint16_t kPcm = 1, kFloat = 3, kExtensible = 0xFFFE;
constexpr std::uint32_t kNotSaid = 0xFFFFFFFF;
constexpr std::size_t kRowsOfPipe = 256;    // somebody waits for what comes
constexpr std::uint32_t kFormatBytes = 40;  // as much of a format chunk as is looked at

std::uint64_t Little(const std::uint8_t* bytes, int count) {
  std::uint64_t number = 0;
  for (int i = count - 1; i >= 0; --i) number = number << 8 | bytes[i];
  return number;
}

class WavTrace : public Trace {
 public:
  WavTrace(const std::string& path, WavFrom from)
      : file_(path), is_pipe_(from == WavFrom::kPipeToo && file_.is_open() && file_.size() == 0) {
    path_ = path;
    info_.format = "WAV";
  }

  bool Open() {
    std::array<std::uint8_t, 12> head{};
    if (!Take(head)) return false;
    is_rf64_ = std::memcmp(head.data(), "RF64", 4) == 0;
    while (data_bytes_ == 0) {
      if (!Chunk()) return false;
    }
    return true;
  }

  bool Next(TraceBlock& block) override {
    block.Clear();
    std::uint64_t rows = std::min<std::uint64_t>(is_pipe_ ? kRowsOfPipe : kRowsPerBlock,
                                                 (data_bytes_ - done_bytes_) / row_bytes_);
    raw_.resize(AsSize(rows * row_bytes_));
    const std::size_t got = file_.Read(raw_);
    if (got < raw_.size() && !is_pipe_) return Refuse(file_.offset(), "the file ends here", kAgain);
    rows = got / row_bytes_;
    raw_.resize(AsSize(rows * row_bytes_));
    done_bytes_ += raw_.size();
    for (std::size_t at = 0; at < raw_.size(); at += bytes_) {
      block.values.push_back(Value(raw_.data() + at));
    }
    for (std::uint64_t i = 0; i < rows; ++i) {
      block.t_ns.push_back(static_cast<double>(row_++) * 1e9 / info_.rate_hz);
    }
    return rows > 0;
  }

 private:
  static constexpr const char* kAgain = "export or record it again";

  template <class Bytes>
  bool Take(Bytes& out) {
    const std::uint64_t begin = file_.offset();
    if (file_.Read(out) == out.size()) return true;
    return Refuse(begin, "the file ends before its samples begin", kAgain);
  }

  bool Chunk() {
    const std::uint64_t begin = file_.offset();
    std::array<std::uint8_t, 8> head{};
    if (!Take(head)) return false;
    const auto size = static_cast<std::uint32_t>(Little(head.data() + 4, 4));
    const std::string_view name(reinterpret_cast<const char*>(head.data()), 4);
    if (name == "fmt ") return Format(begin, size);
    if (name == "data") return Data(begin, size);
    if (name == "ds64" && is_rf64_ && size >= 16) return LongSizes(begin, size);
    return SkipRest(begin, size, 0);
  }

  // Of a part of `size` bytes and one more where that is odd, of which so many are taken.
  bool SkipRest(std::uint64_t begin, std::uint32_t size, std::size_t taken) {
    if (file_.Skip(std::uint64_t{size} + size % 2 - taken)) return true;
    return Refuse(begin, fmt::format("a part of {} bytes, and the file ends before", size), kAgain);
  }

  bool LongSizes(std::uint64_t begin, std::uint32_t size) {
    std::array<std::uint8_t, 16> sizes{};
    if (!Take(sizes)) return false;
    long_bytes_ = Little(sizes.data() + 8, 8);
    return SkipRest(begin, size, sizes.size());
  }

  bool Format(std::uint64_t begin, std::uint32_t size) {
    std::vector<std::uint8_t> form(std::min(size, kFormatBytes));
    if (size < 16) return Refuse(begin, fmt::format("a format of {} bytes", size), "16 at least");
    if (row_bytes_ > 0) return Refuse(begin, "a second format of the same samples", kAgain);
    if (!Take(form) || !SkipRest(begin, size, form.size())) return false;
    auto code = static_cast<std::uint16_t>(Little(form.data(), 2));
    if (code == kExtensible && form.size() >= 26) {
      code = static_cast<std::uint16_t>(Little(form.data() + 24, 2));
    }
    return Format(begin, code, Little(form.data() + 2, 2), Little(form.data() + 4, 4),
                  Little(form.data() + 14, 2));
  }

  bool Format(std::uint64_t begin, std::uint16_t code, std::uint64_t channels, std::uint64_t rate,
              std::uint64_t bits) {
    is_float_ = code == kFloat;
    const bool is_known = is_float_ ? bits == 32 || bits == 64
                                    : code == kPcm && bits % 8 == 0 && bits >= 8 && bits <= 32;
    if (!is_known) {
      return Refuse(begin, fmt::format("samples of code {} with {} bits", code, bits),
                    "PCM of 8, 16, 24 or 32 bits, or float of 32 or 64");
    }
    if (channels == 0 || channels > kMostChannels || rate == 0) {
      return Refuse(begin, fmt::format("{} channels at {} Hz", channels, rate),
                    fmt::format("1 to {} channels, and a rate", kMostChannels));
    }
    bytes_ = bits / 8;
    row_bytes_ = bytes_ * channels;
    info_.rate_hz = static_cast<double>(rate);
    for (std::uint64_t i = 0; i < channels; ++i) {
      info_.channels.push_back({fmt::format("{}", i + 1), false, ""});
    }
    return true;
  }

  bool Data(std::uint64_t begin, std::uint32_t size) {
    if (row_bytes_ == 0) return Refuse(begin, "samples before their format", kAgain);
    const std::uint64_t left = is_pipe_ ? std::numeric_limits<std::uint64_t>::max() / 2
                                        : file_.size() - std::min(file_.size(), file_.offset());
    const bool is_cut_off = size == 0 || (size == kNotSaid && !is_rf64_);
    data_bytes_ = is_cut_off ? left : is_rf64_ && size == kNotSaid ? long_bytes_ : size;
    if (data_bytes_ > left) {
      return Refuse(begin, fmt::format("{} bytes of samples, {} in the file", data_bytes_, left),
                    "it was cut off: " + std::string(kAgain));
    }
    if (data_bytes_ < row_bytes_) return Refuse(begin, "no samples", kAgain);
    return true;
  }

  float Value(const std::uint8_t* at) const {
    if (is_float_) {
      const double value = bytes_ == 4
                               ? std::bit_cast<float>(static_cast<std::uint32_t>(Little(at, 4)))
                               : std::bit_cast<double>(Little(at, 8));
      return static_cast<float>(value);
    }
    if (bytes_ == 1) return static_cast<float>((at[0] - 128) / 128.0);
    // Into the highest bytes of 32, so that the sign comes by itself.
    const auto top = static_cast<std::uint32_t>(Little(at, static_cast<int>(bytes_)))
                     << (32 - 8 * bytes_);
    return static_cast<float>(static_cast<std::int32_t>(top) / 2147483648.0);
  }

  ByteFile file_;
  bool is_pipe_ = false;
  bool is_rf64_ = false, is_float_ = false;
  std::uint64_t bytes_ = 0, row_bytes_ = 0;  // of a sample, of a row
  std::uint64_t long_bytes_ = 0, data_bytes_ = 0, done_bytes_ = 0;
  std::uint64_t row_ = 0;
  std::vector<std::uint8_t> raw_;
};

}  // namespace

OpenedTrace OpenWav(const std::string& path, WavFrom from) {
  auto trace = std::make_unique<WavTrace>(path, from);
  if (!trace->Open()) return {nullptr, trace->problem()};
  return {std::move(trace), {}};
}

}  // namespace drycrank::capture
