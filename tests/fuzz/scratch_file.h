// SPDX-License-Identifier: Apache-2.0
//
// A file in memory (tmpfs) for targets that read by a path, with the shipped profiles beside it as
// `benches`, `parts` and `scenarios`.
#ifndef DRYCRANK_TESTS_FUZZ_SCRATCH_FILE_H_
#define DRYCRANK_TESTS_FUZZ_SCRATCH_FILE_H_

#include <fcntl.h>
#include <unistd.h>

#include <filesystem>
#include <string>
#include <string_view>

#include "tests/fuzz/fuzz.h"

namespace drycrank::fuzz {

class ScratchFile {
 public:
  explicit ScratchFile(const std::string& name) {
    std::string folder = "/dev/shm/drycrank-fuzz.XXXXXX";
    Require(mkdtemp(folder.data()) != nullptr, "there is a /dev/shm to write to");
    folder_ = folder;
    path_ = folder + "/" + name;
    for (const char* beside : {"benches", "parts", "scenarios", "displays"}) {
      std::filesystem::create_symlink(std::string(DRYCRANK_PROFILES_DIR "/") + beside,
                                      folder + "/" + beside);
    }
  }
  ~ScratchFile() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  ScratchFile(const ScratchFile&) = delete;
  ScratchFile& operator=(const ScratchFile&) = delete;

  const std::string& Write(std::string_view text) const {
    const int file = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    const bool is_written =
        file >= 0 && ::write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size());
    Require(is_written, "the scratch file can be written");
    ::close(file);
    return path_;
  }

 private:
  std::string folder_, path_;
};

}  // namespace drycrank::fuzz

#endif  // DRYCRANK_TESTS_FUZZ_SCRATCH_FILE_H_
