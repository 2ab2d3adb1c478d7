// SPDX-License-Identifier: Apache-2.0
//
// The text in a field of a page, by Tesseract, and whether it can be believed. It is read in
// several manners; two must say the same, each character with confidence, and the blobs (blobs.h)
// must bear it out: as many as there are characters, a point where a point was read, the holes that
// each digit has. What the ink does not bear out is no reading; where two borne out differ, the
// field is in doubt. A confidence alone was not enough: a misread digit can have a high one.
#ifndef DRYCRANK_PICTURE_READ_TEXT_H_
#define DRYCRANK_PICTURE_READ_TEXT_H_

#include <memory>
#include <string>
#include <vector>

#include "picture/blobs.h"
#include "picture/digit_shapes.h"
#include "picture/raster.h"

namespace drycrank::picture {

struct TextWish {
  std::vector<std::string> names;  // words that may stand in place of a number
  std::string dashes;              // and what does when it is gone: "---"
};

// One sign of a number, as it stands in the field at its finest.
struct SeenSign {
  char name = ' ';
  Blob blob;
  Shape shape;
};

struct FieldReading {
  std::string text;                  // empty: not read
  double confidence = 0;             // of the least certain character, [0, 1]
  std::string doubt;                 // empty: it is believed
  bool is_blank = false;             // ground alone is to be seen
  std::vector<SeenSign> signs = {};  // of a number that is believed
};

class TextReader {
 public:
  TextReader();
  ~TextReader();

  const std::string& problem() const { return problem_; }  // empty: it can read
  // REQUIRES: problem() is empty. `field`: kFieldPixels high, text and surroundings; `fine`: the
  // same, kFinePixels high.
  FieldReading Read(const Raster& field, const Raster& fine, const TextWish& wish);

 private:
  struct Engine;
  std::unique_ptr<Engine> engine_;
  std::string problem_;
};

inline constexpr int kFieldPixels = 64;  // as Tesseract reads best: found by trying
inline constexpr int kFinePixels = 128;  // about as fine as a photograph

bool CanRead();
inline constexpr char kHowToRead[] =
    "this drycrank was built without Tesseract and cannot read pictures; on Debian: tools/setup "
    "pictures, then build it again";
// PNG, JPEG, TIFF or BMP. Empty, or why not.
[[nodiscard]] std::string LoadRaster(const std::string& path, Raster& out);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_READ_TEXT_H_
