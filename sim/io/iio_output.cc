// SPDX-License-Identifier: Apache-2.0
#include "io/iio_output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <system_error>

#include "types/nth.h"

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;

std::optional<std::string> FirstLine(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  if (!std::getline(file, line)) return std::nullopt;
  return line;
}

std::optional<double> Number(const std::string& path) {
  const std::optional<std::string> line = FirstLine(path);
  if (!line) return std::nullopt;
  double value = 0;
  const char* end = line->data() + line->size();
  if (std::from_chars(line->data(), end, value).ptr != end) return std::nullopt;
  return value;
}

// A channel's own file, or the one of all of its kind: out_voltage0_scale, out_voltage_scale.
std::optional<double> Attribute(const std::string& folder, const std::string& channel,
                                const char* name) {
  const std::string kind = channel.substr(0, channel.find_first_of("0123456789"));
  for (const std::string& of : {channel, kind}) {
    const auto value = Number(fmt::format("{}/out_{}_{}", folder, of, name));
    if (value) return value;
  }
  return std::nullopt;
}

// mV and mA of the kernel in V and A.
double InUnits(const std::string& channel) { return channel.starts_with("resistance") ? 1 : 1e-3; }

struct Counts {
  int least = 0, most = 0;
};
// "[0 1 4095]"
std::optional<Counts> Available(const std::string& folder, const std::string& channel) {
  const std::string kind = channel.substr(0, channel.find_first_of("0123456789"));
  for (const std::string& of : {channel, kind}) {
    std::istringstream line(
        FirstLine(fmt::format("{}/out_{}_raw_available", folder, of)).value_or(""));
    char open = 0;
    int step = 0;
    Counts counts;
    if (line >> open >> counts.least >> step >> counts.most && open == '[' &&
        counts.least < counts.most) {
      return counts;
    }
  }
  return std::nullopt;
}

struct StatedSteps {
  std::optional<output::Steps> steps;
  std::string missing;
};
StatedSteps Stated(const std::string& folder, const std::string& channel) {
  const std::optional<double> scale = Attribute(folder, channel, "scale");
  if (!scale || *scale == 0) return {std::nullopt, "scale"};
  const std::optional<Counts> counts = Available(folder, channel);
  if (!counts) return {std::nullopt, "raw_available"};
  return {output::Steps{*scale * InUnits(channel), Attribute(folder, channel, "offset").value_or(0),
                        counts->least, counts->most},
          ""};
}

}  // namespace

FoundDevice FindIioDevice(const std::string& folder_or_name, const std::string& devices) {
  std::error_code ignored;  // no folder, no devices
  if (folder_or_name.starts_with('/')) {
    if (fs::is_directory(folder_or_name, ignored)) return {folder_or_name, ""};
    return {"", fmt::format("{} is not there; give the folder of a device, as {}/iio:device0",
                            folder_or_name, devices)};
  }
  std::vector<std::string> found, names;
  for (const auto& entry : fs::directory_iterator(devices, ignored)) {
    const std::string folder = entry.path().string();
    const std::optional<std::string> name = FirstLine(folder + "/name");
    if (name == folder_or_name || FirstLine(folder + "/label") == folder_or_name) {
      found.push_back(folder);
    }
    if (name) names.push_back(fmt::format("\"{}\"", *name));
  }
  if (found.size() == 1) return {found[0], ""};
  if (found.size() > 1) {
    return {"", fmt::format("{} devices in {} are called \"{}\"; give the folder of one",
                            found.size(), devices, folder_or_name)};
  }
  std::ranges::sort(names);
  return {"", fmt::format("no device in {} is called \"{}\"; there {}", devices, folder_or_name,
                          names.empty() ? "is none: its driver has to be loaded"
                                        : fmt::format("are {}", fmt::join(names, ", ")))};
}

std::vector<std::string> IioChannels(const std::string& folder) {
  std::vector<std::string> channels;
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(folder, ignored)) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with("out_") && name.ends_with("_raw")) {
      channels.push_back(name.substr(4, name.size() - 8));
    }
  }
  std::ranges::sort(channels);
  return channels;
}

IioOutput::Opened IioOutput::Open(const std::string& folder, const std::string& channel,
                                  std::optional<output::Steps> measured) {
  Opened opened;
  IioOutput& output = opened.output;
  const std::string stem = fmt::format("{}/out_{}", folder, channel);
  output.raw_path_ = stem + "_raw";
  if (fs::exists(stem + "_powerdown")) output.power_down_path_ = stem + "_powerdown";
  output.raw_ = Socket(::open(output.raw_path_.c_str(), O_WRONLY | O_CLOEXEC));
  if (!output.raw_.is_open()) {
    const std::vector<std::string> channels = IioChannels(folder);
    opened.error =
        fmt::format("{}: {}; the device has {}", output.raw_path_, std::strerror(errno),
                    channels.empty() ? "no outputs" : fmt::format("{}", fmt::join(channels, ", ")));
    return opened;
  }
  const StatedSteps stated = measured ? StatedSteps{measured, ""} : Stated(folder, channel);
  if (stated.steps)
    output.steps_ = *stated.steps;
  else
    opened.error = fmt::format(
        "{}: its driver does not state {}_{}; measure the value at the lowest and at "
        "the highest count and write both into the bench",
        folder, channel, stated.missing);
  return opened;
}

output::SafeSetting IioOutput::At(double value) const {
  return output::SafeText{raw_path_, std::to_string(steps_.Nearest(value))};
}

int IioOutput::Put(double value) {
  std::array<char, 16> text;
  const char* end =
      std::to_chars(text.data(), text.data() + text.size(), steps_.Nearest(value)).ptr;
  const auto size = static_cast<std::size_t>(end - text.data());
  return pwrite(raw_.get(), text.data(), size, 0) == static_cast<ssize_t>(size) ? 0 : errno;
}

int IioOutput::PowerUp() {
  if (power_down_path_.empty()) return 0;
  const Socket file(::open(power_down_path_.c_str(), O_WRONLY | O_CLOEXEC));
  return file.is_open() && write(file.get(), "0", 1) == 1 ? 0 : errno;
}

}  // namespace drycrank::io
