// SPDX-License-Identifier: Apache-2.0
#include "io/line_output.h"

#include <fcntl.h>
#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

#include "types/nth.h"

namespace drycrank::io {
namespace {

// Nothing: that is no state of a switch.
std::optional<bool> Closed(const output::State& state) {
  const auto* source = std::get_if<Source>(&state);
  if (source == nullptr) return std::nullopt;
  if (source->kind == SourceKind::kSwitched) return source->value != 0;
  if (source->kind == SourceKind::kResistance) return source->value < output::kOpenSwitchOhm;
  return std::nullopt;
}

}  // namespace

LineOutput::LineOutput(std::string chip, std::vector<LineChannel> channels,
                       std::optional<int> stop_line)
    : wanted_chip_(std::move(chip)), channels_(std::move(channels)), stop_line_(stop_line) {}

std::string LineOutput::Description() const {
  return fmt::format("{} line{} of GPIO chip {}", channels_.size(), channels_.size() == 1 ? "" : "s",
                     wanted_chip_);
}

std::vector<output::SafeSetting> LineOutput::SafeSettings() const {
  std::vector<output::SafeSetting> settings;
  for (const LineChannel& channel : channels_) {
    settings.push_back(
        output::SafeLevel{chip_.path, channel.line, channel.safe_closed != channel.active_low});
  }
  return settings;
}

std::string LineOutput::Open() {
  if (channels_.empty() || channels_.size() > GpioLines::kMaxLines) {
    return fmt::format("{} lines; one output has 1 to {}", channels_.size(), GpioLines::kMaxLines);
  }
  FoundChip found = FindGpioChip(wanted_chip_);
  if (!found.error.empty()) return found.error;
  chip_ = std::move(found.chip);
  std::vector<int> wanted;
  for (const LineChannel& channel : channels_) wanted.push_back(channel.line);
  if (stop_line_) wanted.push_back(*stop_line_);
  const int highest = std::ranges::max(wanted);
  if (highest >= chip_.lines) {
    return fmt::format("{} has lines 0 to {}, and no {}", chip_.path, chip_.lines - 1, highest);
  }
  device_ = Socket(::open(chip_.path.c_str(), O_RDWR | O_CLOEXEC));
  if (!device_.is_open()) return fmt::format("{}: {}", chip_.path, std::strerror(errno));
  return TakeStopLine();
}

std::string LineOutput::TakeStopLine() {
  if (!stop_line_) return "";
  GpioLines::Opened opened = GpioLines::Inputs(device_.get(), {*stop_line_});
  if (opened.errno_value != 0) return WhyNoLine(opened.errno_value, chip_.path, *stop_line_);
  stop_ = std::move(opened.lines);
  return "";
}

std::uint64_t LineOutput::SafeLevels() const {
  std::uint64_t levels = 0;
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    if (channels_[i].safe_closed != channels_[i].active_low) levels |= std::uint64_t{1} << i;
  }
  return levels;
}

std::string LineOutput::Arm() {
  if (stop_ && stop_->Read() != 1u) {
    return fmt::format("the stop input, line {} of {}, is pressed or not wired", *stop_line_,
                       chip_.path);
  }
  std::vector<int> lines;
  for (const LineChannel& channel : channels_) lines.push_back(channel.line);
  GpioLines::Opened opened = GpioLines::Outputs(device_.get(), lines, SafeLevels());
  if (opened.errno_value != 0) {
    return fmt::format("{} (or another of this output)",
                       WhyNoLine(opened.errno_value, chip_.path, lines[0]));
  }
  lines_ = std::move(opened.lines);
  return "";
}

void LineOutput::Give(const output::Given& given) {
  if (!lines_) return;
  const std::optional<bool> closed = Closed(given.state);
  if (!closed) return;
  const LineChannel& channel = Nth(channels_, given.channel);
  const std::uint64_t bit = std::uint64_t{1} << given.channel;
  const int error = lines_->Set(*closed != channel.active_low ? bit : 0, bit);
  if (error != 0) Fail(error, channel.line);
}

// A stop input that cannot be read is one that was pressed.
void LineOutput::Beat(TimeNs /*now_ns*/) {
  if (!lines_ || !stop_ || stop_->Read() == 1u) return;
  failure_ = fmt::format("the stop input, line {} of {}, was pressed", *stop_line_, chip_.path);
  Disarm();
}

void LineOutput::Disarm() {
  if (!lines_) return;
  const int error = lines_->Set(SafeLevels(), ~std::uint64_t{0});
  lines_.reset();
  if (error != 0 && failure_.empty()) failure_ = WhyNoLine(error, chip_.path, channels_[0].line);
}

void LineOutput::Fail(int errno_value, int line) {
  failure_ = WhyNoLine(errno_value, chip_.path, line);
  Disarm();
}

}  // namespace drycrank::io
