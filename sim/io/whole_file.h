// SPDX-License-Identifier: Apache-2.0
//
// A file that is there whole or as it was before: it is made beside its place, as NAME.being_made, and put
// there when all of it is written. A disk that is full, or a process that is killed, costs nothing that was
// there. What is no file of its own (a terminal, a pipe) is written straight.
#ifndef DRYCRANK_IO_WHOLE_FILE_H_
#define DRYCRANK_IO_WHOLE_FILE_H_

#include <string>
#include <string_view>

namespace drycrank::io {

// Empty on success, else "write PATH: why". A link stays, what it points to is replaced.
[[nodiscard]] std::string WriteWholeFile(const std::string& path, std::string_view text);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_WHOLE_FILE_H_
