// SPDX-License-Identifier: Apache-2.0
#include "io/loaded_libraries.h"

#include <link.h>

#include <algorithm>
#include <filesystem>
#include <system_error>

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;

// The program itself has no name there, what the kernel maps in has no folder.
int Add(dl_phdr_info* info, std::size_t /*size*/, void* names) {
  const fs::path path(info->dlpi_name);
  if (!path.is_absolute()) return 0;
  std::error_code error;
  const fs::path file = fs::canonical(path, error);
  auto& list = *static_cast<std::vector<std::string>*>(names);
  list.push_back((error ? path : file).filename().string());
  return 0;
}

}  // namespace

std::vector<std::string> LoadedLibraries() {
  std::vector<std::string> names;
  dl_iterate_phdr(Add, &names);
  std::ranges::sort(names);
  return names;
}

}  // namespace drycrank::io
