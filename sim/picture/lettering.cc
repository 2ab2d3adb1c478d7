// SPDX-License-Identifier: Apache-2.0
#include "picture/lettering.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <sstream>
#include <string>

#include "types/code_point.h"

namespace drycrank::picture {
namespace {

constexpr double kCapital = 10, kBetween = 2.4, kSpace = 4.5, kArcStepDeg = 12;

// N begins a stroke, L x y goes there, A x y rx ry from to (degrees, anticlockwise) follows an arc.
struct Shape {
  double width;
  const char* pen;
};

const std::map<char32_t, Shape>& Shapes() {
  static const std::map<char32_t, Shape> shapes = {
      {'0', {6, "N L 6 7 A 3 7 3 3 0 180 L 0 3 A 3 3 3 3 180 360 L 6 7"}},
      {'1', {6, "N L 1 8 L 3.6 10 L 3.6 0"}},
      {'2', {6, "N A 3 7 3 3 165 -35 L 0 0 L 6 0"}},
      {'3', {6, "N A 3 7.5 2.7 2.5 150 -90 N L 2.2 5 L 3 5 A 3 2.5 3 2.5 90 -150"}},
      {'4', {6, "N L 4.4 0 L 4.4 10 L 0 3 L 6.3 3"}},
      {'5', {6, "N L 5.5 10 L 1 10 L .7 5.26 A 3 3.2 3 3.2 140 -150"}},
      {'6', {6, "N L 3.4 10 L .35 4.41 A 3 3 3 3 152 512"}},
      {'7', {6, "N L 0 10 L 6 10 L 2 0"}},
      {'8', {6, "N A 3 7.6 2.6 2.4 0 360 N A 3 2.6 3 2.6 0 360"}},
      {'9', {6, "N L 2.6 0 L 5.65 5.59 A 3 7 3 3 -28 332"}},
      {'A', {6.6, "N L 0 0 L 3.3 10 L 6.6 0 N L 1.1 3.4 L 5.5 3.4"}},
      {'B',
       {6,
        "N L 0 0 L 0 10 L 3.4 10 A 3.4 7.6 2.4 2.4 90 -90 L 0 5.2 N L 3.4 5.2 A 3.4 2.6 2.6 2.6 90 "
        "-90 L 0 0"}},
      {'C', {6, "N A 3.2 6.8 3.2 3.2 30 180 L 0 3.2 A 3.2 3.2 3.2 3.2 180 330"}},
      {'D',
       {6.2,
        "N L 0 0 L 0 10 L 2.6 10 A 2.6 6.4 3.6 3.6 90 0 L 6.2 3.6 A 2.6 3.6 3.6 3.6 0 -90 L 0 0"}},
      {'E', {5.4, "N L 5.4 10 L 0 10 L 0 0 L 5.4 0 N L 0 5.2 L 4.6 5.2"}},
      {'F', {5.2, "N L 5.2 10 L 0 10 L 0 0 N L 0 5.1 L 4.5 5.1"}},
      {'G',
       {6.6, "N A 3.3 6.7 3.3 3.3 30 180 L 0 3.3 A 3.3 3.3 3.3 3.3 180 360 L 6.6 4.8 L 3.6 4.8"}},
      {'H', {6.2, "N L 0 0 L 0 10 N L 6.2 0 L 6.2 10 N L 0 5.2 L 6.2 5.2"}},
      {'I', {1, "N L .5 0 L .5 10"}},
      {'J', {4.4, "N L 4.4 10 L 4.4 2.4 A 2.2 2.4 2.2 2.4 0 -170"}},
      {'K', {6, "N L 0 0 L 0 10 N L 5.8 10 L 0 4 N L 2.2 6.3 L 6 0"}},
      {'L', {5, "N L 0 10 L 0 0 L 5 0"}},
      {'M', {7.6, "N L 0 0 L 0 10 L 3.8 3.5 L 7.6 10 L 7.6 0"}},
      {'N', {6.2, "N L 0 0 L 0 10 L 6.2 0 L 6.2 10"}},
      {'O',
       {6.6, "N L 6.6 6.7 A 3.3 6.7 3.3 3.3 0 180 L 0 3.3 A 3.3 3.3 3.3 3.3 180 360 L 6.6 6.7"}},
      {'P', {6.1, "N L 0 0 L 0 10 L 3.4 10 A 3.4 7.3 2.7 2.7 90 -90 L 0 4.6"}},
      {'Q',
       {6.8,
        "N L 6.6 6.7 A 3.3 6.7 3.3 3.3 0 180 L 0 3.3 A 3.3 3.3 3.3 3.3 180 360 L 6.6 6.7 N L 4 2.6 "
        "L 6.8 -.6"}},
      {'R', {6.2, "N L 0 0 L 0 10 L 3.4 10 A 3.4 7.3 2.7 2.7 90 -90 L 0 4.6 N L 3.2 4.6 L 6.2 0"}},
      {'S', {6, "N A 3 7.6 2.8 2.4 30 270 A 3 2.6 3 2.6 90 -150"}},
      {'T', {6.4, "N L 0 10 L 6.4 10 N L 3.2 10 L 3.2 0"}},
      {'U', {6.2, "N L 0 10 L 0 3.1 A 3.1 3.1 3.1 3.1 180 360 L 6.2 10"}},
      {'V', {6.4, "N L 0 10 L 3.2 0 L 6.4 10"}},
      {'W', {9.2, "N L 0 10 L 2.3 0 L 4.6 9 L 6.9 0 L 9.2 10"}},
      {'X', {6.2, "N L 0 0 L 6.2 10 N L 0 10 L 6.2 0"}},
      {'Y', {6.4, "N L 0 10 L 3.2 5 L 6.4 10 N L 3.2 5 L 3.2 0"}},
      {'Z', {6, "N L 0 10 L 6 10 L 0 0 L 6 0"}},
      {'a', {5, "N L 5 7 L 5 0 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'b', {5, "N L 0 10 L 0 0 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'c', {4.7, "N A 2.6 3.5 2.6 3.5 40 320"}},
      {'d', {5, "N L 5 10 L 5 0 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'e', {5, "N L 0 3.6 L 5 3.6 A 2.5 3.5 2.5 3.5 2 315"}},
      {'f', {3.6, "N A 3.4 8 1.8 2 80 180 L 1.6 0 N L 0 7 L 3.6 7"}},
      {'g', {5, "N L 5 7 L 5 -.6 A 2.5 -.6 2.5 2.4 0 -150 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'h', {4.8, "N L 0 10 L 0 0 N L 0 4.6 A 2.4 4.6 2.4 2.4 180 0 L 4.8 0"}},
      {'i', {.8, "N L .4 7 L .4 0 N L .4 9.6 L .4 9.6"}},
      {'j', {1.6, "N L 1.6 7 L 1.6 -1 A 0 -1 1.6 2 0 -80 N L 1.6 9.6 L 1.6 9.6"}},
      {'k', {4.7, "N L 0 10 L 0 0 N L 4.4 7 L 0 2.8 N L 1.7 4.4 L 4.7 0"}},
      {'l', {1.8, "N L .4 10 L .4 1.4 A 1.8 1.4 1.4 1.4 180 270"}},
      {'m',
       {7.6,
        "N L 0 7 L 0 0 N L 0 5.1 A 1.9 5.1 1.9 1.9 180 0 L 3.8 0 N L 3.8 5.1 A 5.7 5.1 1.9 1.9 180 "
        "0 L 7.6 0"}},
      {'n', {4.8, "N L 0 7 L 0 0 N L 0 4.6 A 2.4 4.6 2.4 2.4 180 0 L 4.8 0"}},
      {'o', {5, "N A 2.5 3.5 2.5 3.5 0 360"}},
      {'p', {5, "N L 0 7 L 0 -3 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'q', {5, "N L 5 7 L 5 -3 N A 2.5 3.5 2.5 3.5 0 360"}},
      {'r', {3.2, "N L 0 7 L 0 0 N L 0 4.4 A 2.6 4.4 2.6 2.6 180 75"}},
      {'s', {4.6, "N A 2.3 5.3 2.1 1.7 30 270 A 2.3 1.8 2.4 1.8 90 -150"}},
      {'t', {3.8, "N L 1.6 9.4 L 1.6 1.8 A 3.4 1.8 1.8 1.8 180 285 N L 0 7 L 3.8 7"}},
      {'u', {4.8, "N L 0 7 L 0 2.4 A 2.4 2.4 2.4 2.4 180 360 N L 4.8 7 L 4.8 0"}},
      {'v', {5, "N L 0 7 L 2.5 0 L 5 7"}},
      {'w', {7.6, "N L 0 7 L 1.9 0 L 3.8 6.4 L 5.7 0 L 7.6 7"}},
      {'x', {4.8, "N L 0 0 L 4.8 7 N L 0 7 L 4.8 0"}},
      {'y', {5.2, "N L 0 7 L 2.6 0 N L 5.2 7 L 1.5 -3"}},
      {'z', {4.6, "N L 0 7 L 4.6 7 L 0 0 L 4.6 0"}},
      {'.', {.8, "N L .4 0 L .4 0"}},
      {',', {1, "N L .6 .2 L 0 -1.8"}},
      {':', {.8, "N L .4 .8 L .4 .8 N L .4 6 L .4 6"}},
      {';', {1, "N L .6 .2 L 0 -1.8 N L .6 6 L .6 6"}},
      {'-', {4, "N L 0 4.2 L 4 4.2"}},
      {'+', {5.6, "N L 0 4.2 L 5.6 4.2 N L 2.8 1.4 L 2.8 7"}},
      {'=', {5.6, "N L 0 3 L 5.6 3 N L 0 5.8 L 5.6 5.8"}},
      {'/', {4.4, "N L 0 -1 L 4.4 11"}},
      {'%', {8, "N L 1 0 L 7 10 N A 1.6 8 1.6 2 0 360 N A 6.4 2 1.6 2 0 360"}},
      {'(', {2, "N A 4.4 4.5 4.4 7 125 235"}},
      {')', {2, "N A -2.4 4.5 4.4 7 55 -55"}},
      {'!', {.8, "N L .4 10 L .4 3 N L .4 0 L .4 0"}},
      {'?', {5, "N A 2.5 7.6 2.5 2.4 165 -70 L 2.5 3 N L 2.5 0 L 2.5 0"}},
      {'\'', {.8, "N L .4 10 L .4 7.6"}},
      {'"', {3, "N L .4 10 L .4 7.6 N L 2.6 10 L 2.6 7.6"}},
      {'_', {5, "N L 0 -1 L 5 -1"}},
      {'*', {4.4, "N L 2.2 9.6 L 2.2 4.8 N L .2 8.4 L 4.2 6 N L .2 6 L 4.2 8.4"}},
      {'#', {6, "N L 1.4 0 L 2.2 10 N L 4 0 L 4.8 10 N L 0 3.2 L 6 3.2 N L 0 6.8 L 6 6.8"}},
      {U'°', {3, "N A 1.5 8.5 1.5 1.5 0 360"}},
      {U'·', {.8, "N L .4 4.2 L .4 4.2"}},
      {U'–', {5.6, "N L 0 4.2 L 5.6 4.2"}},
      {U'²', {3, "N A 1.5 8.7 1.5 1.3 165 -35 L 0 5.4 L 3 5.4"}},
      {U'³', {3, "N A 1.5 8.9 1.3 1.1 150 -90 A 1.5 6.6 1.5 1.2 90 -150"}},
      {U'×', {4.4, "N L 0 2 L 4.4 6.4 N L 0 6.4 L 4.4 2"}},
      {U'Ω', {7, "N L 0 0 L 2.4 0 L 2.4 1.6 A 3.5 6 3.3 4 250 -70 L 4.6 0 L 7 0"}},
      {U'µ', {4.8, "N L 0 7 L 0 -3 N L 0 2.4 A 2.4 2.4 2.4 2.4 180 360 N L 4.8 7 L 4.8 0"}},
      {U'λ', {5.2, "N L .4 10 L 1.4 10 L 5.2 0 N L 2.9 6 L 0 0"}},
      {U'ä',
       {5, "N L 5 7 L 5 0 N A 2.5 3.5 2.5 3.5 0 360 N L 1.2 9.6 L 1.2 9.6 N L 3.8 9.6 L 3.8 9.6"}},
      {U'ö', {5, "N A 2.5 3.5 2.5 3.5 0 360 N L 1.2 9.6 L 1.2 9.6 N L 3.8 9.6 L 3.8 9.6"}},
      {U'ü',
       {4.8,
        "N L 0 7 L 0 2.4 A 2.4 2.4 2.4 2.4 180 360 N L 4.8 7 L 4.8 0 N L 1.2 9.6 L 1.2 9.6 N L 3.6 "
        "9.6 L 3.6 9.6"}},
      {U'ß', {5, "N L 0 0 L 0 7.5 A 2.2 7.5 2.2 2.5 180 -60 A 2.4 2.8 2.6 2.8 80 -130"}},
  };
  return shapes;
}

const Shape& ShapeOf(char32_t code) {
  static const Shape unknown{5, "N L 0 0 L 0 10 L 5 10 L 5 0 L 0 0"};
  const auto found = Shapes().find(code);
  return found == Shapes().end() ? unknown : found->second;
}

void FollowArc(std::istream& pen, Path& path) {
  double x, y, rx, ry, from_deg, to_deg;
  pen >> x >> y >> rx >> ry >> from_deg >> to_deg;
  const double steps = std::ceil(std::abs(to_deg - from_deg) / kArcStepDeg);
  for (double step = 0; step <= steps; ++step) {
    const double angle = (from_deg + (to_deg - from_deg) * step / steps) * std::numbers::pi / 180;
    path.push_back({x + rx * std::cos(angle), y + ry * std::sin(angle)});
  }
}

std::vector<Path> Drawn(const Shape& shape) {
  std::vector<Path> strokes;
  std::istringstream pen(shape.pen);
  for (char order; pen >> order;) {
    if (order == 'N') {
      strokes.emplace_back();
    } else if (order == 'A') {
      FollowArc(pen, strokes.back());
    } else {
      PagePoint to;
      pen >> to.x >> to.y;
      strokes.back().push_back(to);
    }
  }
  return strokes;
}

}  // namespace

Lettered Letter(std::string_view text, double height) {
  const double scale = height / kCapital;
  Lettered out;
  double x = 0;
  for (std::size_t pos = 0; pos < text.size();) {
    const char32_t code = NextCodePoint(text, pos);
    if (code == ' ') {
      x += kSpace;
      continue;
    }
    const Shape& shape = ShapeOf(code);
    for (Path stroke : Drawn(shape)) {
      for (PagePoint& point : stroke) point = {(x + point.x) * scale, -point.y * scale};
      out.strokes.push_back(std::move(stroke));
    }
    x += shape.width + kBetween;
  }
  out.width = std::max(0.0, x - kBetween) * scale;
  return out;
}

}  // namespace drycrank::picture
