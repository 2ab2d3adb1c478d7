// SPDX-License-Identifier: Apache-2.0
#include "picture/inline_svg.h"

#include <fmt/format.h>

#include <cmath>

namespace drycrank::picture {
namespace {

std::string Number(double value) {
  return fmt::format("{:.6g}", std::round(value * 10) / 10 + 0.0);
}

std::string PathText(const Ink& ink) {
  std::string text;
  for (const Path& path : ink.paths) {
    char verb = 'M';
    for (const PagePoint& point : path) {
      text += fmt::format("{}{} {}", verb, Number(point.x), Number(point.y));
      verb = 'L';
    }
  }
  return text;
}

std::string Web(const Colour& colour) {
  const auto level = [](double share) { return static_cast<int>(std::lround(255 * share)); };
  return fmt::format("#{:02x}{:02x}{:02x}", level(colour.red), level(colour.green),
                     level(colour.blue));
}

Markup Painted(const Ink& ink) {
  const std::string colour = Web(ink.colour);
  if (ink.width_px <= 0) {
    return EmptyElement("path",
                        {{"d", PathText(ink)}, {"style", "fill:" + colour + ";stroke:none"}});
  }
  std::string style =
      fmt::format("fill:none;stroke:{};stroke-width:{}", colour, Number(ink.width_px));
  style += ";stroke-linecap:round;stroke-linejoin:round";
  if (ink.dashed) style += ";stroke-dasharray:5 4";
  return EmptyElement("path", {{"d", PathText(ink)}, {"style", style}});
}

}  // namespace

Markup InlineSvg(const Sheet& sheet, const std::string& words) {
  Markup inks = Element("title", words);
  inks += EmptyElement("rect", {{"width", sheet.width_px},
                                {"height", sheet.height_px},
                                {"style", "fill:" + Web(sheet.paper)}});
  for (const Ink& ink : sheet.inks) inks += Painted(ink);
  return Element(
      "svg",
      {{"xmlns", "http://www.w3.org/2000/svg"},
       {"role", "img"},
       {"viewBox", fmt::format("0 0 {} {}", Number(sheet.width_px), Number(sheet.height_px))}},
      inks);
}

}  // namespace drycrank::picture
