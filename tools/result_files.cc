// SPDX-License-Identifier: Apache-2.0
#include "tools/result_files.h"

#include <fmt/format.h>

#include <filesystem>

#include "io/recording_files.h"
#include "types/plain_text.h"

namespace drycrank::tools {

io::ResultMark RecordingMark(const std::string& path) {
  if (path.ends_with(".pcapng")) return {"\n\r\r\n"};
  return {"("};
}

std::vector<io::ResultFile> RecordingsOf(const RecordingWish& wish) {
  const io::ResultMark mark = RecordingMark(wish.path);
  std::vector<io::ResultFile> files{{"--recording", wish.path, mark}};
  if (wish.max_mib == 0 && wish.max_s == 0) return files;
  for (const std::string& part : io::RecordingFiles::PartsThere(wish.path))
    files.push_back({"--recording", part, mark});
  return files;
}

std::vector<io::ResultFile> ResultsOf(const ReportFiles& files) {
  return {{"--html", files.html, kPageMark},
          {"--json", files.json, kJsonMark},
          {"--junit", files.junit, kJunitMark}};
}

std::string WhyNotInto(const std::string& folder, std::vector<io::ResultFile> files,
                       const std::vector<std::string>& inputs, const std::string& record) {
  if (!std::filesystem::is_directory(folder)) return "";
  for (io::ResultFile& file : files) {
    file.option = "--out";
    file.path = folder + "/" + file.path;
  }
  return io::WhyNotThere(files, inputs, record);
}

void TakeAway(const ReportFiles& files) {
  for (const std::string& path : {files.html, files.json, files.junit}) {
    std::error_code error;
    // What a link leads to is another's, and /dev/stdout leads to what is being written.
    if (std::filesystem::is_regular_file(std::filesystem::symlink_status(path, error)))
      std::filesystem::remove(path, error);
  }
}

std::vector<std::string> InputsOf(std::vector<std::string> files,
                                  const profile::Scenario& scenario) {
  for (const profile::Replay& replay : scenario.replays) files.push_back(replay.file);
  if (scenario.capture) {
    files.push_back(scenario.capture->file);
    if (!scenario.capture->map.empty()) files.push_back(scenario.capture->map);
  }
  return files;
}

CLI::Validator HasName() {
  return {[](std::string& text) {
            return text.empty()
                       ? std::string("the name is empty; give one, or leave the option out")
                       : std::string();
          },
          ""};
}

std::string WhyNotSaid(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    if (!HasControl(argv[i])) continue;
    return fmt::format("word {} of the command line has control characters, or is not UTF-8: {}", i,
                       OneLine(argv[i]));
  }
  return "";
}

}  // namespace drycrank::tools
