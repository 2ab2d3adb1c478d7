// SPDX-License-Identifier: Apache-2.0
//
// Pieces of a drawing as SVG that stands alone and can lie in an HTML page: every look is an
// attribute, no style sheet, no script, no reference. Pixels go right and down. Internal to
// schedule/.
#ifndef DRYCRANK_SCHEDULE_SVG_PARTS_H_
#define DRYCRANK_SCHEDULE_SVG_PARTS_H_

#include <string>
#include <string_view>
#include <vector>

#include "schedule/wire_colour.h"
#include "types/markup.h"

namespace drycrank::schedule {

inline constexpr std::string_view kInk = "#17191c";
inline constexpr std::string_view kSoft = "#55595f";
inline constexpr std::string_view kHalo = "#ffd93b";
inline constexpr std::string_view kPaper = "#ffffff";

// The whole drawing, on white.
Markup SvgDrawing(double width, double height, std::string_view description, const Markup& content);
Markup SvgPale(const Markup& content, double opacity);

struct TextLook {
  double size = 13;
  std::string_view anchor = "start";
  bool bold = false;
  std::string_view fill = kInk;
};
Markup SvgWords(double x, double y, std::string_view text, const TextLook& look);
Markup SvgBox(double x, double y, double width, double height, std::string_view fill,
              std::string_view stroke, double stroke_width, bool dashed = false);
Markup SvgDot(double x, double y, double radius, std::string_view fill);
// `path` as in the attribute d, `dashes` as in stroke-dasharray.
Markup SvgStroke(std::string_view path, std::string_view stroke, double width,
                 std::string_view dashes = {});
// A wire: dark edge, its colour, its stripe; broken when the colour is not known.
Markup SvgWire(std::string_view path, const Paint& paint, bool marked);

// At most that many characters, the rest as "…".
std::string Cut(std::string_view text, std::size_t characters);
std::size_t Characters(std::string_view text);

// Neighbours that are taken, as "5–9", "13". REQUIRES: taken.size() == pins.size().
std::vector<std::string> Runs(const std::vector<std::string>& pins, const std::vector<bool>& taken);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_SVG_PARTS_H_
