// SPDX-License-Identifier: Apache-2.0
#include "io/gpio_lines.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <linux/gpio.h>
#include <sys/ioctl.h>

#include <algorithm>
#include <cassert>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr const char* kConsumer = "drycrank";

std::optional<GpioChip> ChipAt(const std::string& path) {
  const Socket chip(::open(path.c_str(), O_RDWR | O_CLOEXEC));
  gpiochip_info facts{};
  if (!chip.is_open() || ioctl(chip.get(), GPIO_GET_CHIPINFO_IOCTL, &facts) != 0)
    return std::nullopt;
  return GpioChip{path, facts.name, facts.label, static_cast<int>(facts.lines)};
}

}  // namespace

std::vector<GpioChip> GpioChips(const std::string& folder) {
  std::vector<GpioChip> chips;
  std::error_code ignored;  // no folder, no chips
  for (const auto& entry : std::filesystem::directory_iterator(folder, ignored)) {
    if (!entry.path().filename().string().starts_with("gpiochip")) continue;
    if (std::optional<GpioChip> chip = ChipAt(entry.path().string()))
      chips.push_back(std::move(*chip));
  }
  std::ranges::sort(chips, {}, &GpioChip::path);
  return chips;
}

FoundChip FindGpioChip(const std::string& path_or_label, const std::string& folder) {
  if (path_or_label.starts_with('/')) {
    if (std::optional<GpioChip> chip = ChipAt(path_or_label)) return {std::move(*chip), ""};
    return {{},
            fmt::format("{}: {}; give a GPIO chip that this user may open, as /dev/gpiochip0",
                        path_or_label, std::strerror(errno))};
  }
  std::vector<GpioChip> found = GpioChips(folder);
  std::vector<std::string> labels;
  for (const GpioChip& chip : found)
    labels.push_back(fmt::format("\"{}\" ({})", chip.label, chip.path));
  std::erase_if(found, [&](const GpioChip& chip) { return chip.label != path_or_label; });
  if (found.size() == 1) return {std::move(found[0]), ""};
  if (found.size() > 1) {
    return {{},
            fmt::format("{} GPIO chips are called \"{}\"; give the path of one", found.size(),
                        path_or_label)};
  }
  return {{},
          fmt::format("no GPIO chip is called \"{}\"; there {}", path_or_label,
                      labels.empty() ? "is none that this user may open"
                                     : fmt::format("are {}", fmt::join(labels, ", ")))};
}

GpioLines::Opened GpioLines::Request(int chip, const std::vector<int>& lines, std::uint64_t flags,
                                     std::uint64_t levels) {
  assert(!lines.empty() && lines.size() <= kMaxLines);
  gpio_v2_line_request request{};
  for (std::size_t i = 0; i < lines.size(); ++i) {
    request.offsets[i] = static_cast<__u32>(lines[i]);
  }
  std::strncpy(request.consumer, kConsumer, sizeof(request.consumer) - 1);
  request.num_lines = static_cast<__u32>(lines.size());
  request.config.flags = flags;
  Opened opened;
  opened.lines.all_ =
      lines.size() == kMaxLines ? ~std::uint64_t{0} : (std::uint64_t{1} << lines.size()) - 1;
  if ((flags & GPIO_V2_LINE_FLAG_OUTPUT) != 0) {
    request.config.num_attrs = 1;
    request.config.attrs[0].attr.id = GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES;
    request.config.attrs[0].attr.values = levels;
    request.config.attrs[0].mask = opened.lines.all_;
  }
  if (ioctl(chip, GPIO_V2_GET_LINE_IOCTL, &request) != 0) {
    opened.errno_value = errno;
  } else {
    opened.lines.request_ = Socket(request.fd);
  }
  return opened;
}

GpioLines::Opened GpioLines::Outputs(int chip, const std::vector<int>& lines,
                                     std::uint64_t levels) {
  return Request(chip, lines, GPIO_V2_LINE_FLAG_OUTPUT, levels);
}

GpioLines::Opened GpioLines::Inputs(int chip, const std::vector<int>& lines) {
  Opened pulled = Request(chip, lines, GPIO_V2_LINE_FLAG_INPUT | GPIO_V2_LINE_FLAG_BIAS_PULL_UP, 0);
  if (pulled.errno_value == 0 || pulled.errno_value == EBUSY) return pulled;
  return Request(chip, lines, GPIO_V2_LINE_FLAG_INPUT, 0);
}

int GpioLines::Set(std::uint64_t levels, std::uint64_t mask) {
  gpio_v2_line_values values{levels, mask & all_};
  return ioctl(request_.get(), GPIO_V2_LINE_SET_VALUES_IOCTL, &values) == 0 ? 0 : errno;
}

std::optional<std::uint64_t> GpioLines::Read() const {
  gpio_v2_line_values values{0, all_};
  if (ioctl(request_.get(), GPIO_V2_LINE_GET_VALUES_IOCTL, &values) != 0) return std::nullopt;
  return values.bits & all_;
}

std::string WhyNoLine(int errno_value, const std::string& chip, int line) {
  const char* helps = errno_value == EBUSY ? "; another program or driver has it: gpioinfo names it"
                      : errno_value == EINVAL ? "; the chip has no such line, or it cannot be that"
                      : errno_value == ENODEV ? "; the chip was unplugged"
                                              : "";
  return fmt::format("line {} of {}: {}{}", line, chip, std::strerror(errno_value), helps);
}

}  // namespace drycrank::io
