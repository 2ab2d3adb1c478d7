// SPDX-License-Identifier: Apache-2.0
#include "record/played_files.h"

#include <fmt/format.h>

#include <filesystem>

#include "io/sha256.h"

namespace drycrank::record {

std::vector<PlayedFile> PlayedFilesOf(const profile::Scenario& scenario) {
  std::vector<PlayedFile> files;
  if (!scenario.capture) return files;
  for (const std::string& file : {scenario.capture->file, scenario.capture->map}) {
    if (file.empty()) continue;
    std::error_code error;
    const std::uint64_t bytes = std::filesystem::file_size(file, error);
    files.push_back({file, io::Sha256OfFile(file).value_or(""), error ? 0 : bytes});
  }
  return files;
}

std::vector<std::string> InWords(const std::vector<PlayedFile>& files) {
  std::vector<std::string> words;
  for (const PlayedFile& file : files) {
    words.push_back(fmt::format("played: {}, {} bytes, SHA-256 {}", file.file, file.bytes,
                                file.sha256.empty() ? "not known" : file.sha256));
  }
  return words;
}

}  // namespace drycrank::record
