// SPDX-License-Identifier: Apache-2.0
#include "io/whole_file.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <random>
#include <system_error>
#include <utility>

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;

// A name beside `place` that nobody has: neither a file nor a link of somebody's is written into.
fs::path MadeBeside(const fs::path& place) {
  std::random_device random;
  for (;;) {
    const fs::path made =
        place.parent_path() / fmt::format("{}.being_made-{:08x}{}", place.stem().string(), random(),
                                          place.extension().string());
    std::error_code none;
    if (!fs::exists(fs::symlink_status(made, none))) return made;
  }
}

// 0 or errno.
int Write(const fs::path& path, std::string_view text) {
  std::FILE* file = std::fopen(path.c_str(), "wb");
  if (file == nullptr) return errno;
  const bool written = std::fwrite(text.data(), 1, text.size(), file) == text.size();
  const int error = errno;
  const bool closed = std::fclose(file) == 0;
  if (!written) return error;
  return closed ? 0 : errno;
}

// Where a link leads to; itself otherwise.
fs::path PlaceOf(const fs::path& path) {
  std::error_code none;
  const fs::path place = fs::canonical(path, none);
  return none ? path : place;
}

// As the one before could be read and written by others.
int PutInPlace(const fs::path& made, const fs::path& place) {
  std::error_code error;
  const fs::perms mode = fs::status(place, error).permissions();
  if (!error && fs::exists(place, error)) fs::permissions(made, mode, error);
  fs::rename(made, place, error);
  return error.value();
}

int WriteBeside(const fs::path& place, std::string_view text) {
  const fs::path made = MadeBeside(place);
  int error = Write(made, text);
  // A folder in which nothing can be made may still have a file that can be written.
  if (error == EACCES || error == EROFS || error == EPERM) return Write(place, text);
  if (error == 0) error = PutInPlace(made, place);
  std::error_code none;
  if (error != 0) fs::remove(made, none);
  return error;
}

}  // namespace

InMaking::InMaking(std::string said, std::string place, std::string made)
    : said_(std::move(said)), place_(std::move(place)), made_(std::move(made)) {}

InMaking InMaking::File(const std::string& path) {
  const fs::path place = PlaceOf(path);
  std::error_code none;
  const bool is_other = fs::exists(place, none) && !fs::is_regular_file(place, none);
  const fs::path folder = place.has_parent_path() ? place.parent_path() : ".";
  if (is_other || path.empty() || ::access(folder.c_str(), W_OK) != 0) return {path, path, path};
  return {path, place.string(), MadeBeside(place).string()};
}

InMaking InMaking::FilesIn(const std::string& folder) {
  return {folder, folder, MadeBeside(fs::path(folder) / "files").string()};
}

InMaking::~InMaking() {
  std::error_code none;
  if (made_ != place_) fs::remove_all(made_, none);
}

std::string InMaking::PutInPlace() {
  if (made_ == place_) return "";
  std::error_code error;
  if (!fs::is_directory(made_, error)) {
    error.assign(drycrank::io::PutInPlace(made_, place_), std::generic_category());
    return error ? fmt::format("write {}: {}", said_, error.message()) : "";
  }
  for (const auto& entry : fs::directory_iterator(made_, error)) {
    const fs::path to = fs::path(place_) / entry.path().filename();
    const int failed = drycrank::io::PutInPlace(entry.path(), to);
    if (failed != 0) return fmt::format("write {}: {}", to.string(), std::strerror(failed));
  }
  return error ? fmt::format("read {}: {}", made_, error.message()) : "";
}

std::string InMaking::OfPlace(std::string words) const {
  if (made_ == place_) return words;
  for (auto at = words.find(made_); at != words.npos; at = words.find(made_, at + said_.size())) {
    words.replace(at, made_.size(), said_);
  }
  return words;
}

std::string WriteWholeFile(const std::string& path, std::string_view text) {
  const fs::path place = PlaceOf(path);
  std::error_code none;
  const bool is_other = fs::exists(place, none) && !fs::is_regular_file(place, none);
  const int error = is_other ? Write(place, text) : WriteBeside(place, text);
  return error == 0 ? "" : fmt::format("write {}: {}", path, std::strerror(error));
}

}  // namespace drycrank::io
