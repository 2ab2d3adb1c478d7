// SPDX-License-Identifier: Apache-2.0
#include "picture/read_lamp.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace drycrank::picture {
namespace {

constexpr double kLit = 0.09,
                 kDark = 0.04;  // how far the shares of colour are from those of the dark lamp
constexpr double kBrighter = 0.4,
                 kAsBright = 0.12;  // the same of what shines above the ground around it
constexpr double kSure = 6;  // so many times as far apart as chance moves them
constexpr double kBurnt = 250;
constexpr double kWindow = 0.7;  // of the mark: a lamp is round

struct Light {
  double red = 0, green = 0;  // shares of all light
  double spread = 0;  // how far chance (noise, spots) moves the shares
  double above =
      0;  // how much brighter than the ground around it, in that of the page's bright parts
  bool burnt = false;
};

std::array<double, 3> MeanOf(const Raster& part) {
  std::array<double, 3> sum{};
  for (const auto& pixel : part.pixels) {
    for (std::size_t c = 0; c < 3; ++c) sum[c] += pixel[c];
  }
  for (double& one : sum) one /= static_cast<double>(part.pixels.size());
  return sum;
}
double Third(const std::array<double, 3>& colour) {
  return (colour[0] + colour[1] + colour[2]) / 3;
}

// The brightness left and right of the lamp: what shines on all of it (glare) is in both.
double GroundBeside(const SeenPage& page, const Box& lamp) {
  constexpr double kStrip = 0.2, kAway = 0.3;  // of the lamp's width
  const double strip = kStrip * lamp.width, away = kAway * lamp.width;
  double sum = 0;
  for (const double left : {lamp.left - away, lamp.left + lamp.width + away - strip}) {
    const Box beside{left, lamp.top, strip, lamp.height};
    sum += Third(MeanOf(page.view.Of(beside, 12 / lamp.height)));
  }
  return sum / 2;
}

double SumOf(const std::array<double, 3>& colour) {
  return std::max(1.0, colour[0] + colour[1] + colour[2]);
}

// From quarter to quarter of the window: a lamp is round, what differs between them is chance. Of
// four the mean moves by half of what one does.
double SpreadOf(const SeenPage& page, const Box& window, double per_unit,
                const std::array<double, 3>& mean) {
  const double width = window.width / 2, height = window.height / 2;
  double squares = 0;
  for (const double right : {0.0, 1.0}) {
    for (const double down : {0.0, 1.0}) {
      const Box quarter{window.left + right * width, window.top + down * height, width, height};
      const auto part = MeanOf(page.view.Of(quarter, per_unit));
      squares += std::pow(part[0] / SumOf(part) - mean[0] / SumOf(mean), 2) +
                 std::pow(part[1] / SumOf(part) - mean[1] / SumOf(mean), 2);
    }
  }
  return std::sqrt(squares / 3) / 2;
}

Light LightOf(const SeenPage& page, const Box& lamp) {
  const double aside = (1 - kWindow) / 2;
  const Box window{lamp.left + aside * lamp.width, lamp.top + aside * lamp.height,
                   lamp.width * kWindow, lamp.height * kWindow};
  constexpr double kPixels = 12;
  const double per_unit = kPixels / std::max(window.width, window.height);
  const auto mean = MeanOf(page.view.Of(window, per_unit));
  const double all = SumOf(mean);
  const double above = (all / 3 - GroundBeside(page, lamp)) / std::max(1.0, page.brightness);
  return {mean[0] / all, mean[1] / all, SpreadOf(page, window, per_unit, mean), above,
          std::ranges::min(mean) > kBurnt};
}

// 0: grey.
double ColourOf(const Light& light) {
  return std::hypot(light.red - 1.0 / 3, light.green - 1.0 / 3);
}

// What is lit shines brighter than it does dark, or has more of a colour.
bool Outshines(const Light& lit, const Light& dark) {
  const double more_colour = ColourOf(lit) - ColourOf(dark);
  const bool is_brighter = lit.above - dark.above > kAsBright;
  return more_colour > kDark || (is_brighter && (ColourOf(dark) <= kDark || more_colour > -kDark ||
                                                 ColourOf(lit) >= kLit));
}

// [0, 360): red 0, green 120, blue 240.
double HueDeg(const Light& light) {
  const double blue = 1 - light.red - light.green;
  const double x = light.red - (light.green + blue) / 2;
  const double y = std::sqrt(3.0) / 2 * (light.green - blue);
  const double degrees = std::atan2(y, x) * 180 / 3.14159265358979323846;
  return degrees < 0 ? degrees + 360 : degrees;
}

// Names that say a colour, and its hues. Common practice, no source.
struct Hues {
  const char* name;
  double from_deg, to_deg;  // across 0 where from is more
};
constexpr Hues kHues[] = {{"red", 330, 22},   {"amber", 15, 58},  {"orange", 10, 50},
                          {"yellow", 38, 75}, {"green", 80, 175}, {"blue", 190, 265}};

bool IsOfName(const Light& light, const std::string& name) {
  const auto* hues = std::ranges::find(kHues, name, &Hues::name);
  if (hues == std::end(kHues)) return true;
  const double hue = HueDeg(light);
  return hues->from_deg <= hues->to_deg ? hue >= hues->from_deg && hue <= hues->to_deg
                                        : hue >= hues->from_deg || hue <= hues->to_deg;
}

}  // namespace

SeenPage SeePage(const Raster& raster, const Corners& corners, double width, double height) {
  SeenPage page{View(raster, corners, width, height), 0};
  constexpr double kPixels = 160, kBright = 0.98;
  Grey whole = GreyOf(page.view.Of({0, 0, width, height}, kPixels / std::max(width, height)));
  const auto at =
      static_cast<std::ptrdiff_t>(kBright * static_cast<double>(whole.pixels.size() - 1));
  std::ranges::nth_element(whole.pixels, whole.pixels.begin() + at);
  page.brightness = Nth(whole.pixels, at);
  return page;
}

LampReading ReadLamp(const SeenPage& now, const SeenPage& dark, const Box& lamp,
                     const std::string& name) {
  const Light is = LightOf(now, lamp), was = LightOf(dark, lamp);
  const double apart = std::hypot(is.red - was.red, is.green - was.green);
  const double brighter = std::abs(is.above - was.above);
  if (is.burnt != was.burnt) return {.doubt = "glare on the lamp"};
  if (apart <= kDark && brighter <= kAsBright) return {};
  if (apart < kLit && brighter < kBrighter) return {.doubt = "the lamp is neither dark nor lit"};
  if (brighter < kBrighter && apart < kSure * std::hypot(is.spread, was.spread)) {
    return {.doubt = "the lamp is too dark, and too restless, for a colour"};
  }
  if (!Outshines(is, was)) {
    return {false, "it is darker than in the picture in which it must be dark", true};
  }
  if (!IsOfName(is, name)) return {true, fmt::format("the lamp is lit, and not {}", name), false};
  return {true, "", false};
}

}  // namespace drycrank::picture
