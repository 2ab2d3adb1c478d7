// SPDX-License-Identifier: Apache-2.0
#include "io/sha256.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <fstream>
#include <memory>

#include "types/nth.h"

namespace drycrank::io {

std::optional<std::string> Sha256OfFile(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> hash(EVP_MD_CTX_new(),
                                                                     EVP_MD_CTX_free);
  if (!file || hash == nullptr || EVP_DigestInit_ex(hash.get(), EVP_sha256(), nullptr) != 1) {
    return std::nullopt;
  }
  std::array<char, 65536> block;
  while (file.read(block.data(), block.size()) || file.gcount() > 0) {
    EVP_DigestUpdate(hash.get(), block.data(), AsSize(file.gcount()));
  }
  if (file.bad()) return std::nullopt;
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest;
  unsigned int size = 0;
  EVP_DigestFinal_ex(hash.get(), digest.data(), &size);
  std::string text;
  for (unsigned int i = 0; i < size; ++i) text += fmt::format("{:02x}", digest[i]);
  return text;
}

}  // namespace drycrank::io
