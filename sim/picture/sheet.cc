// SPDX-License-Identifier: Apache-2.0
#include "picture/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "types/decimal.h"
#include "types/unit.h"

namespace drycrank::picture {
namespace {

constexpr double kWidth = 390, kMargin = 12, kGap = 10, kHead = 42;
constexpr double kFieldWidth = (kWidth - 2 * kMargin - kGap) / 2, kFieldHeight = 106;
constexpr double kInset = 12, kRound = 7;
constexpr double kNameHeight = 10.5, kTextHeight = 32, kUnitHeight = 13, kWordHeight = 10;
constexpr double kNameLine = 25, kTextLine = 72, kWordLine = 96;  // baselines, from the field's top
constexpr double kLampRadius = 6, kRayFrom = 8, kRayTo = 10.5;
constexpr int kRays = 12;
constexpr double kUnitRoom = 46, kLampWordRoom = 76, kMark = 5;
constexpr double kBarHeight = 16, kWarnsTaller = 3, kSegmentGap = 1.5, kEndHeight = 8;

constexpr Colour kPaper{1, 0.996, 0.98}, kInk{0.09, 0.1, 0.11}, kSoft{0.29, 0.31, 0.33};
constexpr Colour kRule{0.74, 0.73, 0.69}, kAlarm{0.56, 0.09, 0.09}, kAlarmWash{0.99, 0.92, 0.88};
constexpr Colour kGone{0.41, 0.27, 0}, kDark{0.62, 0.61, 0.58};

Path Arc(double x, double y, double radius, double from_deg, double to_deg) {
  constexpr int kSteps = 24;
  Path path;
  for (int i = 0; i <= kSteps; ++i) {
    const double angle = (from_deg + (to_deg - from_deg) * i / kSteps) * std::numbers::pi / 180;
    path.push_back({x + radius * std::cos(angle), y + radius * std::sin(angle)});
  }
  return path;
}

Path Disk(double x, double y, double radius) { return Arc(x, y, radius, 0, 360); }

Path RoundedFrame(const Box& box) {
  const double right = box.left + box.width - kRound, bottom = box.top + box.height - kRound;
  const double left = box.left + kRound, top = box.top + kRound;
  Path path;
  const std::array<std::pair<PagePoint, double>, 4> corners = {
      {{{right, top}, -90}, {{right, bottom}, 0}, {{left, bottom}, 90}, {{left, top}, 180}}};
  for (const auto& [centre, from_deg] : corners) {
    const Path arc = Arc(centre.x, centre.y, kRound, from_deg, from_deg + 90);
    path.insert(path.end(), arc.begin(), arc.end());
  }
  path.push_back(path.front());
  return path;
}

class Layout {
 public:
  explicit Layout(const Page& page) : page_(page) {
    const auto rows = static_cast<double>((page.fields.size() + 1) / 2);
    sheet_.width_px = kWidth;
    sheet_.height_px = kHead + rows * (kFieldHeight + kGap) - kGap + kMargin;
    sheet_.paper = kPaper;
  }

  Sheet Do() {
    Head();
    for (std::size_t i = 0; i < page_.fields.size(); ++i) {
      const auto column = static_cast<double>(i % 2), row = static_cast<double>(i / 2);
      Field(page_.fields[i], {kMargin + column * (kFieldWidth + kGap),
                              kHead + row * (kFieldHeight + kGap), kFieldWidth, kFieldHeight});
    }
    return std::move(sheet_);
  }

 private:
  // ---- pens ----

  void Write(std::string_view text, PagePoint at, double height, double pen, const Colour& colour) {
    Ink ink{Letter(text, height).strokes, colour, pen};
    for (Path& path : ink.paths) {
      for (PagePoint& point : path) point = {point.x + at.x, point.y + at.y};
    }
    if (!ink.paths.empty()) sheet_.inks.push_back(std::move(ink));
  }
  // Smaller where there is not the room.
  void WriteWithin(std::string_view text, PagePoint at, double height, double room,
                   const Colour& colour) {
    const double fits = std::min(1.0, room / std::max(1.0, Letter(text, height).width));
    Write(text, at, height * fits, height * fits * 0.14, colour);
  }

  // ---- parts ----

  void Head() {
    Write(page_.head, {kMargin, 26}, 11, 1.5, kInk);
    const std::string which = fmt::format("page {} of {}", page_.number, page_.last);
    Write(which, {kWidth - kMargin - Letter(which, 11).width, 26}, 11, 1.3, kSoft);
  }

  void Frame(const Box& box, const sweep::Shown& shown) {
    const bool warns = shown.state == "warning", gone = !shown.state.empty() && !HasValue(shown);
    if (warns) sheet_.inks.push_back({{RoundedFrame(box)}, kAlarmWash, 0});
    sheet_.inks.push_back(
        {{RoundedFrame(box)}, warns ? kAlarm : (gone ? kGone : kRule), warns ? 3.0 : 1.3, gone});
  }

  void Lamp(const PageField& field, PagePoint at) {
    const bool lit = !field.shown.lamp.empty();
    if (!lit) {
      sheet_.inks.push_back({{Disk(at.x, at.y, kLampRadius)}, kDark, 1.3});
      return;
    }
    const Colour colour = LampColour(sweep::LampName(field.shown.lamp));
    sheet_.inks.push_back({{Disk(at.x, at.y, kLampRadius)}, colour, 0});
    Ink rays{{}, colour, 1.6};
    for (int i = 0; i < kRays; ++i) {
      const double angle = 2 * std::numbers::pi * i / kRays;
      const double x = std::cos(angle), y = std::sin(angle);
      rays.paths.push_back(
          {{at.x + kRayFrom * x, at.y + kRayFrom * y}, {at.x + kRayTo * x, at.y + kRayTo * y}});
    }
    sheet_.inks.push_back(std::move(rays));
  }

  void StateWord(const Box& box, const std::string& state) {
    const double left = box.left + kInset, base = box.top + kWordLine;
    const char* none = state == "stale"           ? "gone"
                       : state == "not available" ? "no value"
                       : state == "off"           ? "off"
                                                  : "";
    Write(none, {left, base}, kWordHeight, 1.3, kGone);
    if (state != "warning") return;
    sheet_.inks.push_back(
        {{{{left, base + 1}, {left + 14, base + 1}, {left + 7, base - 12}, {left, base + 1}}},
         kAlarm,
         0});
    Write("!", {left + 6.5, base - 1.2}, 6.5, 1.3, kPaper);
    Write("warning", {left + 20, base}, kWordHeight, 1.5, kAlarm);
  }

  // Which lamp is lit, for who does not see its colour.
  void LampWord(const Box& box, const std::string& lamp) {
    const double right = box.left + kFieldWidth - kInset;
    const double width = Letter(lamp, kWordHeight).width;
    const double fits = std::min(1.0, kLampWordRoom / std::max(1.0, width));
    Write(lamp, {right - width * fits, box.top + kWordLine}, kWordHeight * fits, 1.3, kSoft);
  }

  // ---- a bar ----

  // Taller and in the colour of a warning where its value warns; filled where it is lit.
  void Segment(const Box& box, bool warns, bool lit) {
    const double top = box.top - (warns ? kWarnsTaller : 0), right = box.left + box.width,
                 bottom = box.top + box.height;
    sheet_.inks.push_back(
        {{{{box.left, top}, {right, top}, {right, bottom}, {box.left, bottom}, {box.left, top}}},
         warns ? kAlarm : lit ? kInk : kDark,
         lit ? 0 : 1.0});
  }
  static bool SegmentWarns(const BarLook& look, int index) {
    const double width = (look.bar.high - look.bar.low) / look.bar.segments;
    const double begins = look.bar.low + index * width, ends = begins + width;
    return (look.warn_above && IsAbove(ends, *look.warn_above)) ||
           (look.warn_below && IsAbove(*look.warn_below, begins));
  }
  void Bar(const BarLook& look, int lit, const std::string& unit, const Box& box) {
    const double pitch = box.width / look.bar.segments;
    const double width = std::max(pitch - kSegmentGap, pitch / 2);
    for (int i = 0; i < look.bar.segments; ++i) {
      Segment({box.left + i * pitch, box.top, width, kBarHeight}, SegmentWarns(look, i), i < lit);
    }
    const std::string high = WithUnit(fmt::format("{:g}", look.bar.high), unit);
    const double base = box.top + kBarHeight + kEndHeight + 5;
    Write(fmt::format("{:g}", look.bar.low), {box.left, base}, kEndHeight, 1.1, kSoft);
    Write(high, {box.left + box.width - Letter(high, kEndHeight).width, base}, kEndHeight, 1.1,
          kSoft);
  }

  // A stripe outside of its frame.
  void Mark(const Box& box) {
    const double right = box.left - 3, left = right - kMark, bottom = box.top + box.height;
    sheet_.inks.push_back(
        {{{{left, box.top}, {right, box.top}, {right, bottom}, {left, bottom}, {left, box.top}}},
         kInk,
         0});
  }

  void Field(const PageField& field, const Box& box) {
    Frame(box, field.shown);
    if (field.is_marked) Mark(box);
    const double left = box.left + kInset, room = kFieldWidth - 2 * kInset;
    const bool has_lamp = !field.lamp.empty();
    WriteWithin(field.label, {left, box.top + kNameLine}, kNameHeight,
                has_lamp ? room - 4 * kLampRadius : room, kSoft);
    const PagePoint lamp{box.left + kFieldWidth - kInset - kLampRadius,
                         box.top + kNameLine - kNameHeight / 2};
    if (has_lamp) Lamp(field, lamp);
    const bool is_bar = field.bar && sweep::IsBar(field.shown.text);
    const bool has_unit = !is_bar && field.shown.unit != "count";
    const std::string unit = has_unit ? DisplayUnit(field.shown.unit) : "";
    const double text_room = unit.empty() ? room : room - kUnitRoom;
    // Its ink begins where that of the name does, and has a rim of ground within its place.
    if (is_bar) {
      Bar(*field.bar, std::stoi(sweep::LitOf(field.shown.text)), field.shown.unit,
          {left + 2, box.top + kTextLine - kTextHeight + 4, room - 5, kBarHeight});
    } else {
      WriteWithin(field.shown.text, {left + 2, box.top + kTextLine}, kTextHeight, text_room - 5,
                  kInk);
    }
    WriteWithin(unit, {left + text_room + 10, box.top + kTextLine}, kUnitHeight, kUnitRoom - 10,
                kSoft);
    StateWord(box, field.shown.state);
    LampWord(box, field.shown.lamp);
    const double top = box.top + kTextLine - kTextHeight - 6, height = kTextHeight + 19;
    sheet_.places.push_back({field.readout,
                             {left - 8, top, text_room + 16, height},
                             {left + text_room + 8, top, unit.empty() ? 0 : kUnitRoom, height},
                             {lamp.x - 5, lamp.y - 5, has_lamp ? 10.0 : 0.0, 10}});
  }

  const Page& page_;
  Sheet sheet_;
};

}  // namespace

Colour LampColour(const std::string& lamp) {
  static const std::pair<const char*, Colour> kColours[] = {
      {"red", {0.78, 0.1, 0.08}},   {"amber", {0.95, 0.55, 0}}, {"orange", {0.95, 0.55, 0}},
      {"green", {0.1, 0.55, 0.22}}, {"blue", {0.1, 0.35, 0.8}}, {"white", {0.85, 0.85, 0.85}}};
  for (const auto& [name, colour] : kColours) {
    if (lamp == name) return colour;
  }
  return {0.92, 0.78, 0.05};
}

Sheet LayOut(const Page& page) { return Layout(page).Do(); }

}  // namespace drycrank::picture
