// SPDX-License-Identifier: Apache-2.0
#include "schedule/svg_parts.h"

#include <fmt/format.h>

namespace drycrank::schedule {
namespace {

std::string Escaped(std::string_view text) {
  std::string escaped;
  for (const char c : text) {
    switch (c) {
      case '&':
        escaped += "&amp;";
        break;
      case '<':
        escaped += "&lt;";
        break;
      case '>':
        escaped += "&gt;";
        break;
      case '"':
        escaped += "&quot;";
        break;
      case '\'':
        escaped += "&#39;";
        break;
      case '\n':
      case '\t':
        escaped += ' ';
        break;
      default:
        escaped += c;
    }
  }
  return escaped;
}

bool IsFollowing(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }

}  // namespace

std::string SvgBegin(double width, double height, std::string_view description) {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:g}\" height=\"{1:g}\" viewBox=\"0 0 "
      "{0:g} "
      "{1:g}\" role=\"img\" aria-label=\"{2}\" font-family=\"Liberation Sans, DejaVu Sans, "
      "sans-serif\"><rect width=\"{0:g}\" height=\"{1:g}\" fill=\"{3}\"/>\n",
      width, height, Escaped(description), kPaper);
}

std::string SvgWords(double x, double y, std::string_view text, const TextLook& look) {
  return fmt::format("<text x=\"{:g}\" y=\"{:g}\" font-size=\"{:g}\" fill=\"{}\"{}{}>{}</text>\n",
                     x, y, look.size, look.fill,
                     look.anchor == "start" ? "" : fmt::format(" text-anchor=\"{}\"", look.anchor),
                     look.bold ? " font-weight=\"bold\"" : "", Escaped(text));
}

std::string SvgBox(double x, double y, double width, double height, std::string_view fill,
                   std::string_view stroke, double stroke_width, bool dashed) {
  return fmt::format(
      "<rect x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"{:g}\" rx=\"3\" fill=\"{}\" "
      "stroke=\"{}\" "
      "stroke-width=\"{:g}\"{}/>\n",
      x, y, width, height, fill, stroke, stroke_width, dashed ? " stroke-dasharray=\"4 3\"" : "");
}

std::string SvgDot(double x, double y, double radius, std::string_view fill) {
  return fmt::format("<circle cx=\"{:g}\" cy=\"{:g}\" r=\"{:g}\" fill=\"{}\"/>\n", x, y, radius,
                     fill);
}

std::string SvgStroke(std::string_view path, std::string_view stroke, double width,
                      std::string_view dashes) {
  return fmt::format(
      "<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:g}\" "
      "stroke-linejoin=\"round\"{}/>\n",
      path, stroke, width, dashes.empty() ? "" : fmt::format(" stroke-dasharray=\"{}\"", dashes));
}

std::string SvgWire(std::string_view path, const Paint& paint, bool marked) {
  std::string wire;
  if (marked) wire += SvgStroke(path, kHalo, 15);
  wire += SvgStroke(path, kInk, 5.5);
  if (paint.base.empty()) return wire + SvgStroke(path, kPaper, 3.5, "9 7");
  wire += SvgStroke(path, paint.base, 3.5);
  if (!paint.stripe.empty()) wire += SvgStroke(path, paint.stripe, 3.5, "6 16");
  return wire;
}

std::string Cut(std::string_view text, std::size_t characters) {
  if (Characters(text) <= characters) return std::string(text);
  std::size_t bytes = 0;
  for (std::size_t seen = 0; bytes < text.size(); ++bytes) {
    if (!IsFollowing(text[bytes]) && ++seen == characters) break;
  }
  return std::string(text.substr(0, bytes)) + "…";
}

std::size_t Characters(std::string_view text) {
  std::size_t count = 0;
  for (const char c : text) count += IsFollowing(c) ? 0 : 1;
  return count;
}

std::vector<std::string> Runs(const std::vector<std::string>& pins,
                              const std::vector<bool>& taken) {
  std::vector<std::string> runs;
  for (std::size_t i = 0; i < pins.size(); ++i) {
    if (!taken[i]) continue;
    const std::size_t first = i;
    while (i + 1 < pins.size() && taken[i + 1]) ++i;
    runs.push_back(first == i ? pins[i] : pins[first] + "–" + pins[i]);
  }
  return runs;
}

}  // namespace drycrank::schedule
