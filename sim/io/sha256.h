// SPDX-License-Identifier: Apache-2.0
//
// The SHA-256 of a file (FIPS 180-4), as `sha256sum` prints it: 64 hexadecimal digits.
#ifndef DRYCRANK_IO_SHA256_H_
#define DRYCRANK_IO_SHA256_H_

#include <optional>
#include <string>

namespace drycrank::io {

// Nothing when the file cannot be read to its end.
std::optional<std::string> Sha256OfFile(const std::string& path);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SHA256_H_
