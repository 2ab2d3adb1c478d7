// SPDX-License-Identifier: Apache-2.0
//
// The shared libraries that this process has loaded, by their files' own names: "libfmt.so.9.1.0" where
// the program asked for "libfmt.so.9", so that their versions are in it. dl_iterate_phdr(3).
#ifndef DRYCRANK_IO_LOADED_LIBRARIES_H_
#define DRYCRANK_IO_LOADED_LIBRARIES_H_

#include <string>
#include <vector>

namespace drycrank::io {

// Sorted, without folders and without what the kernel maps in.
std::vector<std::string> LoadedLibraries();

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_LOADED_LIBRARIES_H_
