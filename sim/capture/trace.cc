// SPDX-License-Identifier: Apache-2.0
#include "capture/trace.h"

#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <string_view>

#include "capture/csv_trace.h"
#include "capture/sr_trace.h"
#include "capture/vcd_trace.h"
#include "capture/wav_trace.h"
#include "types/nth.h"

namespace drycrank::capture {

bool Trace::Refuse(std::uint64_t offset, const std::string& what, const std::string& remedy) {
  if (!problem_) problem_ = {{path_, 0, 0}, fmt::format("at byte {}: {}", offset, what), remedy};
  return false;
}

bool Trace::RefuseLine(int line, std::uint64_t offset, const std::string& what,
                       const std::string& remedy) {
  if (!problem_) problem_ = {{path_, line, 1}, fmt::format("at byte {}: {}", offset, what), remedy};
  return false;
}

OpenedTrace OpenTrace(const std::string& path, const TraceHints& hints) {
  std::error_code error;
  std::array<char, 64> bytes{};
  std::ifstream file(path, std::ios::binary);
  if (!file || std::filesystem::is_directory(path, error)) {
    return {nullptr,
            Diagnostic{{path, 0, 0}, "cannot be read", "give a CSV, WAV, VCD or .sr file"}};
  }
  file.read(bytes.data(), bytes.size());
  std::string_view begin(bytes.data(), AsSize(file.gcount()));
  if (begin.starts_with("PK")) return OpenSr(path);
  const bool is_wave = begin.size() >= 12 && begin.substr(8, 4) == "WAVE";
  if (is_wave && (begin.starts_with("RIFF") || begin.starts_with("RF64"))) return OpenWav(path);
  begin.remove_prefix(std::min(begin.find_first_not_of(" \t\r\n"), begin.size()));
  if (begin.starts_with("$")) return OpenVcd(path);
  return OpenCsv(path, hints);
}

}  // namespace drycrank::capture
