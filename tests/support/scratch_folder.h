// SPDX-License-Identifier: Apache-2.0
//
// A folder that no other test has, gone at the end of its scope: tests run side by side, each in a
// process of its own, and names made of a test's name meet again under another preset.
#ifndef DRYCRANK_TESTS_SUPPORT_SCRATCH_FOLDER_H_
#define DRYCRANK_TESTS_SUPPORT_SCRATCH_FOLDER_H_

#include <unistd.h>

#include <filesystem>
#include <stdexcept>
#include <string>

namespace drycrank {

class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "drycrank.XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("cannot make " + name);
    path_ = name;
  }
  ~ScratchFolder() {
    std::error_code ignored;  // a destructor may not throw
    std::filesystem::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  std::string Path(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace drycrank

#endif  // DRYCRANK_TESTS_SUPPORT_SCRATCH_FOLDER_H_
