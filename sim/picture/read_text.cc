// SPDX-License-Identifier: Apache-2.0
#include "picture/read_text.h"

#include <fmt/format.h>
#include <leptonica/allheaders.h>
#include <tesseract/baseapi.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>

#include "picture/believe.h"
#include "picture/blobs.h"
#include "picture/camera_frame.h"
#include "picture/left_over.h"
#include "types/nth.h"

namespace drycrank::picture {
namespace {

// How a field is read: as ink or with its greys, with how much ground around it and in which size.
// What Tesseract makes of a short text depends on that more than it should: found by trying.
struct Manner {
  bool as_ink;
  int margin;  // pixels
  float scale;
  tesseract::PageSegMode mode;
};
constexpr Manner kManners[] = {
    {false, 14, 1, tesseract::PSM_SINGLE_LINE},    {true, 14, 0.8F, tesseract::PSM_SINGLE_LINE},
    {false, 8, 1, tesseract::PSM_RAW_LINE},        {true, 8, 1, tesseract::PSM_SINGLE_LINE},
    {true, 20, 1.25F, tesseract::PSM_SINGLE_LINE}, {false, 20, 0.8F, tesseract::PSM_SINGLE_WORD}};
constexpr std::size_t kMostPixels = 100'000'000;  // of a picture

struct DestroyPix {
  void operator()(Pix* pix) const { pixDestroy(&pix); }
};
using PixPtr = std::unique_ptr<Pix, DestroyPix>;

// The text with its margin as a picture of its own, black on white.
PixPtr Cut(const InkField& field, const Manner& manner) {
  int left = field.even.width, right = 0, top = field.even.height, bottom = 0;
  for (const Blob& blob : field.blobs) {
    left = std::min(left, blob.left);
    right = std::max(right, blob.right);
    top = std::min(top, blob.top);
    bottom = std::max(bottom, blob.bottom);
  }
  const int width = right - left + 1 + 2 * manner.margin;
  const int height = bottom - top + 1 + 2 * manner.margin;
  PixPtr pix(pixCreate(width, height, 8));
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const int u = left - manner.margin + x, v = top - manner.margin + y;
      double grey = 255;
      if (u >= 0 && v >= 0 && u < field.even.width && v < field.even.height) {
        const std::size_t at = PlaceIn(field.even.width, u, v);
        grey = manner.as_ink ? (field.ink[at] ? 0 : 255) : field.even.pixels[at];
      }
      pixSetPixel(pix.get(), x, y, static_cast<l_uint32>(std::clamp(grey, 0.0, 255.0)));
    }
  }
  return manner.scale == 1 ? std::move(pix)
                           : PixPtr(pixScale(pix.get(), manner.scale, manner.scale));
}

std::string LettersOf(const TextWish& wish) {
  std::set<char> letters;
  for (const std::string& name : wish.names) letters.insert(name.begin(), name.end());
  letters.erase(' ');
  std::string all = "0123456789.-";
  for (const char c : letters) {
    if (all.find(c) == std::string::npos) all += c;
  }
  return all;
}

// Why more may stand there than `field`'s ink: the same, seen finer.
std::string WhyMore(const InkField& field, const Raster& raster, const InkField& fine) {
  if (!fine.doubt.empty()) return fine.doubt;
  if (fine.signs != field.signs) return "its pieces of ink are others when seen finer";
  return WhatIsLeft(raster, fine);
}

std::vector<SeenSign> SignsOf(const InkField& fine, const std::string& text) {
  const Grey strength = StrengthOf(fine);
  std::vector<SeenSign> signs;
  for (std::size_t i = 0; i < text.size(); ++i) {
    signs.push_back({text[i], fine.blobs[i], ShapeOf(strength, fine.blobs[i])});
  }
  return signs;
}

}  // namespace

struct TextReader::Engine {
  tesseract::TessBaseAPI api;

  Spelled Spell(Pix* pix) {
    api.SetImage(pix);
    api.SetSourceResolution(200);
    api.Recognize(nullptr);
    Spelled out{"", 1};
    const std::unique_ptr<tesseract::ResultIterator> at(api.GetIterator());
    if (!at) return {};
    do {
      const std::unique_ptr<char[]> symbol(at->GetUTF8Text(tesseract::RIL_SYMBOL));
      if (!symbol || *symbol.get() == ' ') continue;
      out.text += symbol.get();
      out.confidence = std::min(out.confidence, at->Confidence(tesseract::RIL_SYMBOL) / 100.0);
    } while (at->Next(tesseract::RIL_SYMBOL));
    if (out.text.empty()) out.confidence = 0;
    return out;
  }
};

TextReader::TextReader() : engine_(std::make_unique<Engine>()) {
  // No dictionary: what stands there is a number or one of few words.
  const std::vector<std::string> names{"load_system_dawg", "load_freq_dawg"}, values{"0", "0"};
  setMsgSeverity(L_SEVERITY_NONE);
  if (engine_->api.Init(nullptr, "eng", tesseract::OEM_LSTM_ONLY, nullptr, 0, &names, &values,
                        false) != 0) {
    problem_ =
        "Tesseract does not find its data for English; on Debian: apt-get install "
        "tesseract-ocr-eng";
    return;
  }
  engine_->api.SetVariable("debug_file", "/dev/null");
}

TextReader::~TextReader() = default;

FieldReading TextReader::Read(const Raster& raster, const Raster& fine, const TextWish& wish) {
  const InkField field = FindInk(raster);
  if (!field.doubt.empty()) return {"", 0, field.doubt, field.is_blank};
  const InkField finer = FindInk(fine);
  const std::string left = WhyMore(field, fine, finer);
  if (!left.empty()) return {"", 0, left};
  FieldReading dashes = DashesIn(field, wish);
  if (!dashes.text.empty() || !dashes.doubt.empty()) return dashes;
  engine_->api.SetVariable("tessedit_char_whitelist", LettersOf(wish).c_str());
  std::vector<Spelled> all;
  FieldReading reading;
  for (const Manner& manner : kManners) {
    engine_->api.SetPageSegMode(manner.mode);
    all.push_back(engine_->Spell(Cut(field, manner).get()));
    reading = Believe(field, all, wish);
    if (reading.doubt.empty()) break;
  }
  if (reading.doubt.empty() && IsNumber(reading.text)) reading.signs = SignsOf(finer, reading.text);
  return reading;
}

bool CanRead() { return true; }

namespace {

// As Exif says that it is to be seen (JEITA CP-3451, tag 0x0112): 3 upside down, 6 and 8 on a side,
// the even ones and 5, 7 as in a mirror.
PixPtr Upright(Pix* stored, int orientation) {
  PixPtr pix(stored);
  if (!pix) return pix;
  const int quarters = orientation == 3 || orientation == 4   ? 2
                       : orientation == 5 || orientation == 6 ? 1
                       : orientation == 7 || orientation == 8 ? 3
                                                              : 0;
  if (quarters > 0) pix.reset(pixRotateOrth(pix.get(), quarters));
  const bool is_mirrored =
      orientation == 2 || orientation == 4 || orientation == 5 || orientation == 7;
  return is_mirrored && pix ? PixPtr(pixFlipLR(nullptr, pix.get())) : std::move(pix);
}

int OrientationOf(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string head(std::size_t{1} << 16, '\0');
  file.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(AsSize(file.gcount()));
  return ExifOrientation(head);
}

}  // namespace

std::string LoadRaster(const std::string& path, Raster& out) {
  std::error_code none;
  if (!std::filesystem::is_regular_file(path, none)) return path + ": no such picture";
  setMsgSeverity(L_SEVERITY_NONE);
  int format = 0, width = 0, height = 0;
  const bool known =
      pixReadHeader(path.c_str(), &format, &width, &height, nullptr, nullptr, nullptr) == 0;
  const std::size_t pixels = AsSize(std::max(0, width)) * AsSize(std::max(0, height));
  if (!known) return path + ": no picture that can be read; save it as PNG or JPEG";
  if (pixels == 0 || pixels > kMostPixels) {
    return fmt::format("{}: {} by {} pixels; at most a hundred million are read", path, width,
                       height);
  }
  const PixPtr read(pixRead(path.c_str()));
  const PixPtr colour(read ? Upright(pixConvertTo32(read.get()), OrientationOf(path)) : nullptr);
  if (!colour) return path + ": the picture ends too early, or is damaged; take it anew";
  out = {pixGetWidth(colour.get()), pixGetHeight(colour.get()), {}};
  out.pixels.reserve(pixels);
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x) {
      l_int32 red = 0, green = 0, blue = 0;
      pixGetRGBPixel(colour.get(), x, y, &red, &green, &blue);
      out.pixels.push_back(
          {static_cast<float>(red), static_cast<float>(green), static_cast<float>(blue)});
    }
  }
  return {};
}

}  // namespace drycrank::picture
