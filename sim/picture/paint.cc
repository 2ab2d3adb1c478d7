// SPDX-License-Identifier: Apache-2.0
#include "picture/paint.h"

#include <cairo-svg.h>
#include <cairo.h>

#include <cmath>
#include <cstdint>
#include <memory>
#include <string_view>

namespace drycrank::picture {
namespace {

struct Destroy {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
};
using Surface = std::unique_ptr<cairo_surface_t, Destroy>;
using Painter = std::unique_ptr<cairo_t, Destroy>;

cairo_status_t Append(void* to, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

void SetColour(cairo_t* cairo, const Colour& colour) {
  cairo_set_source_rgb(cairo, colour.red, colour.green, colour.blue);
}

void PaintInk(cairo_t* cairo, const Ink& ink) {
  constexpr double kDashes[] = {5, 4};
  SetColour(cairo, ink.colour);
  cairo_set_dash(cairo, kDashes, ink.dashed ? 2 : 0, 0);
  for (const Path& path : ink.paths) {
    cairo_new_sub_path(cairo);
    for (const PagePoint& point : path) cairo_line_to(cairo, point.x, point.y);
  }
  if (ink.width_px == 0) return cairo_fill(cairo);
  cairo_set_line_width(cairo, ink.width_px);
  cairo_stroke(cairo);
}

void Paint(cairo_t* cairo, const Sheet& sheet) {
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
  cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
  SetColour(cairo, sheet.paper);
  cairo_paint(cairo);
  for (const Ink& ink : sheet.inks) PaintInk(cairo, ink);
}

// ---- a note in a PNG (ISO/IEC 15948, clause 11.3.4.3: tEXt, and Annex D: CRC-32) --------------

std::uint32_t PngCrc(const std::string& bytes) {
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const char byte : bytes) {
    crc ^= static_cast<std::uint8_t>(byte);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xEDB88320U : 0);
  }
  return ~crc;
}
std::string BigEndian(std::uint32_t number) {
  std::string bytes;
  for (int shift = 24; shift >= 0; shift -= 8) bytes += static_cast<char>(number >> shift & 0xFF);
  return bytes;
}
// Behind the header chunk, which ends at byte 33.
void AddNote(std::string& png) {
  constexpr std::size_t kBehindHeader = 33;
  const std::string text = std::string("Comment") + '\0' + kPngNote;
  const std::string chunk = "tEXt" + text;
  png.insert(kBehindHeader,
             BigEndian(static_cast<std::uint32_t>(text.size())) + chunk + BigEndian(PngCrc(chunk)));
}

// Cairo numbers the surfaces of a process; a page shall be the same whatever was drawn before it.
void NameSurface(std::string& svg) {
  constexpr std::string_view kNumbered = "<g id=\"surface";
  const auto begin = svg.find(kNumbered);
  if (begin == std::string::npos) return;
  const auto number = begin + kNumbered.size();
  svg.erase(number, svg.find('"', number) - number);
}

}  // namespace

bool CanPaint() { return true; }

std::string PngOf(const Sheet& sheet) {
  const auto pixels = [](double px) { return static_cast<int>(std::ceil(px * kPngScale)); };
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, pixels(sheet.width_px),
                                                   pixels(sheet.height_px)));
  const Painter cairo(cairo_create(surface.get()));
  cairo_scale(cairo.get(), kPngScale, kPngScale);
  Paint(cairo.get(), sheet);
  std::string png;
  cairo_surface_write_to_png_stream(surface.get(), Append, &png);
  AddNote(png);
  return png;
}

std::string SvgOf(const Sheet& sheet) {
  std::string svg;
  {
    const Surface surface(
        cairo_svg_surface_create_for_stream(Append, &svg, sheet.width_px, sheet.height_px));
    cairo_svg_surface_set_document_unit(surface.get(), CAIRO_SVG_UNIT_PX);
    const Painter cairo(cairo_create(surface.get()));
    Paint(cairo.get(), sheet);
    cairo_surface_finish(surface.get());
  }
  NameSurface(svg);
  svg.insert(svg.find('\n') + 1, std::string(kSvgNote) + "\n");  // behind the XML declaration
  return svg;
}

}  // namespace drycrank::picture
