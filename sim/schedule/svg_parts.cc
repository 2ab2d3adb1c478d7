// SPDX-License-Identifier: Apache-2.0
#include "schedule/svg_parts.h"

#include <fmt/format.h>

namespace drycrank::schedule {
namespace {

bool IsFollowing(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }

}  // namespace

Markup SvgDrawing(double width, double height, std::string_view description,
                  const Markup& content) {
  const Markup paper =
      EmptyElement("rect", {{"width", width}, {"height", height}, {"fill", kPaper}});
  return Element("svg",
                 {{"xmlns", "http://www.w3.org/2000/svg"},
                  {"width", width},
                  {"height", height},
                  {"viewBox", fmt::format("0 0 {:g} {:g}", width, height)},
                  {"role", "img"},
                  {"aria-label", description},
                  {"font-family", "Liberation Sans, DejaVu Sans, sans-serif"}},
                 paper + "\n" + content) +
         "\n";
}

Markup SvgPale(const Markup& content, double opacity) {
  return Element("g", {{"opacity", opacity}}, "\n" + content) + "\n";
}

Markup SvgWords(double x, double y, std::string_view text, const TextLook& look) {
  return Element("text",
                 {{"x", x},
                  {"y", y},
                  {"font-size", look.size},
                  {"fill", look.fill},
                  IfAny("text-anchor", look.anchor == "start" ? "" : look.anchor),
                  IfAny("font-weight", look.bold ? "bold" : "")},
                 text) +
         "\n";
}

Markup SvgBox(double x, double y, double width, double height, std::string_view fill,
              std::string_view stroke, double stroke_width, bool dashed) {
  return EmptyElement("rect", {{"x", x},
                               {"y", y},
                               {"width", width},
                               {"height", height},
                               {"rx", 3},
                               {"fill", fill},
                               {"stroke", stroke},
                               {"stroke-width", stroke_width},
                               IfAny("stroke-dasharray", dashed ? "4 3" : "")}) +
         "\n";
}

Markup SvgDot(double x, double y, double radius, std::string_view fill) {
  return EmptyElement("circle", {{"cx", x}, {"cy", y}, {"r", radius}, {"fill", fill}}) + "\n";
}

Markup SvgStroke(std::string_view path, std::string_view stroke, double width,
                 std::string_view dashes) {
  return EmptyElement("path", {{"d", path},
                               {"fill", "none"},
                               {"stroke", stroke},
                               {"stroke-width", width},
                               {"stroke-linejoin", "round"},
                               IfAny("stroke-dasharray", dashes)}) +
         "\n";
}

Markup SvgWire(std::string_view path, const Paint& paint, bool marked) {
  Markup wire;
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
