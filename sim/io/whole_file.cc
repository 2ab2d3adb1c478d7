// SPDX-License-Identifier: Apache-2.0
#include "io/whole_file.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <system_error>

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;

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
  const fs::path made = place.string() + ".being_made";
  int error = Write(made, text);
  // A folder in which nothing can be made may still have a file that can be written.
  if (error == EACCES || error == EROFS || error == EPERM) return Write(place, text);
  if (error == 0) error = PutInPlace(made, place);
  std::error_code none;
  if (error != 0) fs::remove(made, none);
  return error;
}

}  // namespace

std::string WriteWholeFile(const std::string& path, std::string_view text) {
  const fs::path place = PlaceOf(path);
  std::error_code none;
  const bool is_other = fs::exists(place, none) && !fs::is_regular_file(place, none);
  const int error = is_other ? Write(place, text) : WriteBeside(place, text);
  return error == 0 ? "" : fmt::format("write {}: {}", path, std::strerror(error));
}

}  // namespace drycrank::io
