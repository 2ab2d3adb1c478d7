// SPDX-License-Identifier: Apache-2.0
#include "picture/read_text.h"

namespace drycrank::picture {

struct TextReader::Engine {};
TextReader::TextReader() : problem_(kHowToRead) {}
TextReader::~TextReader() = default;
FieldReading TextReader::Read(const Raster&, const Raster&, const TextWish&) {
  return {"", 0, kHowToRead};
}

bool CanRead() { return false; }
std::string LoadRaster(const std::string&, Raster&) { return kHowToRead; }

}  // namespace drycrank::picture
