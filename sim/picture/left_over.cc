// SPDX-License-Identifier: Apache-2.0
#include "picture/left_over.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "picture/grey.h"
#include "picture/spots.h"

namespace drycrank::picture {
namespace {

// Diameter of a point, of the text's height: the least. Common practice, no source.
constexpr double kPoint = 0.12;
constexpr double kLeastSeen = 0.6;    // of ink's strength, what a point must keep
constexpr double kFaint = 0.22;       // strength beyond what the ink that was found explains
constexpr double kFaintPoint = 0.03;  // the mean over a point's size, where there is room for one
constexpr double kPointNoises = 6;    // deviations of such means over the ground
constexpr double kFaintSign = 0.02, kSignNoises = 3.5;  // over more pixels than two points have
constexpr double kMissing = 0.4;                        // and what that ink may lack
constexpr double kLeastShare = 0.8;                     // of the strongest character's ink, in each
constexpr double kNoises = 4.5;                         // deviations of the ground that are no ink
constexpr double kMostNoise = 0.08;                     // of the calmed ground, of ink
constexpr double kUneven = 0.3;        // brighter ground, of the difference of ground and ink
constexpr double kBurnt = 252.5;       // of 255, in each colour
constexpr double kDashesHeight = 0.5;  // of a field: what text is high where dashes stand
constexpr int kAway = 3;               // pixels around ink that are not yet ground

std::size_t At(const Grey& grey, int x, int y) { return PlaceIn(grey.width, x, y); }

double TextHeight(const InkField& field) {
  int tallest = 0;
  for (const Blob& blob : field.blobs) tallest = std::max(tallest, blob.height());
  const bool is_dashes = std::ranges::all_of(field.signs, [](Sign s) { return s == Sign::kDash; });
  return is_dashes ? kDashesHeight * field.even.height : tallest;
}

EdgeBlur BlurOfStrength(const Grey& strength) {
  std::vector<float> slopes_x, slopes_y;
  for (int y = 1; y + 1 < strength.height; ++y) {
    for (int x = 1; x + 1 < strength.width; ++x) {
      if (std::abs(strength.At(x, y) - 0.5F) > 0.2F) continue;
      const float dx = std::abs(strength.At(x + 1, y) - strength.At(x - 1, y)) / 2;
      const float dy = std::abs(strength.At(x, y + 1) - strength.At(x, y - 1)) / 2;
      if (dx > 2.5F * dy) slopes_x.push_back(dx);
      if (dy > 2.5F * dx) slopes_y.push_back(dy);
    }
  }
  const auto blur = [&](const std::vector<float>& slopes) {
    const double slope = Quantile(slopes, 0.5);
    const bool is_known = static_cast<int>(slopes.size()) > strength.height / 16;
    return is_known && slope > 0 ? 1 / (std::sqrt(2 * std::numbers::pi) * slope) : 0.0;
  };
  const double x_px = blur(slopes_x), y_px = blur(slopes_y);
  return {x_px > 0 ? x_px : y_px, y_px > 0 ? y_px : x_px};
}

// Along rows or columns by a Gaussian; beyond the edge there is none.
Grey Blurred(const Grey& in, double deviation_px, bool along_x) {
  if (deviation_px < 0.2) return in;
  const int reach = static_cast<int>(std::ceil(3 * deviation_px));
  std::vector<float> weights;
  float sum = 0;
  for (int d = -reach; d <= reach; ++d) {
    weights.push_back(static_cast<float>(std::exp(-d * d / (2 * deviation_px * deviation_px))));
    sum += weights.back();
  }
  Grey out = in;
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) {
      float value = 0;
      for (int d = -reach; d <= reach; ++d) {
        const int u = along_x ? x + d : x, v = along_x ? y : y + d;
        if (u < 0 || v < 0 || u >= in.width || v >= in.height) continue;
        value += Nth(weights, d + reach) * in.At(u, v);
      }
      out.At(x, y) = value / sum;
    }
  }
  return out;
}

Grey InkOnly(const InkField& field) {
  Grey ink = field.even;
  for (std::size_t i = 0; i < ink.pixels.size(); ++i) ink.pixels[i] = field.ink[i] ? 1.0F : 0.0F;
  return ink;
}

// Ground that is far from ink.
std::vector<bool> GroundOf(const InkField& field) {
  const Grey near = Smooth(InkOnly(field), kAway);
  std::vector<bool> is_ground;
  for (const float value : near.pixels) is_ground.push_back(value <= 0);
  return is_ground;
}

std::vector<float> Those(const Grey& of, const std::vector<bool>& which) {
  std::vector<float> out;
  for (std::size_t i = 0; i < which.size(); ++i) {
    if (which[i]) out.push_back(of.pixels[i]);
  }
  return out;
}

// How much the ground's strength scatters, without what stands on it.
double NoiseOf(const Grey& strength, const std::vector<bool>& ground) {
  std::vector<float> values = Those(strength, ground);
  const auto middle = static_cast<float>(Quantile(values, 0.5));
  for (float& value : values) value = std::abs(value - middle);
  return 1.48 * Quantile(values, 0.5);  // of a normal distribution
}

// Of each pixel what the darkest of its colours is.
Grey LeastColour(const Raster& raster) {
  Grey least{raster.width, raster.height, {}};
  for (const auto& pixel : raster.pixels) least.pixels.push_back(std::ranges::min(pixel));
  return least;
}

// As many pixels as a point has.
double PointPixels(double height_px) { return kPoint * kPoint * height_px * height_px * 0.75; }

// How strong the ink of each character is: the weakest as a share of the strongest.
double LeastShareOfInk(const InkField& field, const Grey& strength) {
  double least = 1e9, most = 0;
  for (std::size_t i = 0; i < field.blobs.size(); ++i) {
    if (field.signs[i] != Sign::kCharacter) continue;
    const Blob& blob = field.blobs[i];
    std::vector<float> inks;
    for (int y = blob.top; y <= blob.bottom; ++y) {
      for (int x = blob.left; x <= blob.right; ++x) {
        if (field.ink[At(strength, x, y)]) inks.push_back(strength.At(x, y));
      }
    }
    const double ink = Quantile(std::move(inks), 0.7);
    least = std::min(least, ink);
    most = std::max(most, ink);
  }
  return most > 0 ? least / most : 1;
}

// Glare, or ground that is burnt out, on at least as many pixels as a point has.
std::string WhyGround(const Raster& raster, const InkField& field, double height_px) {
  const std::vector<bool> ground = GroundOf(field);
  const Grey light = Smooth(GreyOf(raster), 2);
  const std::vector<float> lights = Those(light, ground);
  if (lights.empty()) return "there is no ground beside the ink";
  const double share =
      std::max(0.0, 1 - PointPixels(height_px) / static_cast<double>(lights.size()));
  const std::vector<float> least = Those(Smooth(LeastColour(raster), 2), ground);
  if (Quantile(least, share) > kBurnt) return "the picture is burnt out there";
  const double middle = Quantile(lights, 0.5), ink = Quantile(Those(light, field.ink), 0.5);
  const double span = std::max(1.0, std::abs(middle - ink));
  return Quantile(lights, share) - middle > kUneven * span ? "glare beside it" : "";
}

// A point of the least size keeps that much of its strength.
double PointSeen(const EdgeBlur& blur, double height_px) {
  const double worst_px = std::max({0.1, blur.x_px, blur.y_px});
  return 1 - std::exp(-std::pow(kPoint * height_px / worst_px, 2) / 8);
}

// Of each pixel the mean of those of `which` that lie within `reach`: light that changes slowly.
Grey AroundOf(const Grey& of, const std::vector<bool>& which, int reach) {
  Grey sum = of, count = of;
  for (std::size_t i = 0; i < which.size(); ++i) {
    count.pixels[i] = which[i] ? 1.0F : 0.0F;
    sum.pixels[i] *= count.pixels[i];
  }
  sum = Smooth(sum, reach);
  count = Smooth(count, reach);
  for (std::size_t i = 0; i < which.size(); ++i) sum.pixels[i] /= std::max(1e-6F, count.pixels[i]);
  return sum;
}

// Whether a point might stand in the row: where the text stands, and a little below.
bool IsOfText(const InkField& field, std::size_t at, double height_px) {
  const int y = static_cast<int>(at / AsSize(field.even.width));
  int top = field.even.height, bottom = 0;
  for (const Blob& blob : field.blobs) {
    top = std::min(top, blob.top);
    bottom = std::max(bottom, blob.bottom);
  }
  return y >= top && y <= bottom + kPoint * height_px;
}

// A point between the signs, or beside them, however faint: darker than the ground over a point's
// size.
bool HasFaintPoint(const InkField& field, const Grey& left, const EdgeBlur& blur,
                   double height_px) {
  const int reach = std::max(1, static_cast<int>(std::lround(kPoint * height_px / 4)));
  const int away = reach + static_cast<int>(std::ceil(2.5 * std::max(blur.x_px, blur.y_px)));
  const Grey near = Smooth(InkOnly(field), away);
  std::vector<bool> is_clear, is_row;
  for (std::size_t i = 0; i < near.pixels.size(); ++i) {
    is_clear.push_back(near.pixels[i] <= 0);
    is_row.push_back(is_clear.back() && IsOfText(field, i, height_px));
  }
  Grey mean = Smooth(left, reach);
  const Grey around = AroundOf(mean, is_clear, 4 * reach);
  for (std::size_t i = 0; i < mean.pixels.size(); ++i) mean.pixels[i] -= around.pixels[i];
  const std::vector<float> means = Those(mean, is_row);
  const double middle = Quantile(means, 0.5), darkest = Quantile(means, 1);
  std::vector<float> far = means;
  for (float& value : far) value = std::abs(value - static_cast<float>(middle));
  const double deviation = 1.48 * Quantile(std::move(far), 0.5);
  const double weak = middle + std::max(kFaintSign, kSignNoises * deviation);
  const auto weak_pixels = std::ranges::count_if(means, [&](float value) { return value > weak; });
  return darkest - middle > std::max(kFaintPoint, kPointNoises * deviation) ||
         static_cast<double>(weak_pixels) > 2 * PointPixels(height_px);
}

// Ink beside what was found, and what was found and is missing.
std::string WhyInk(const InkField& field, const Grey& strength, const EdgeBlur& blur, double noise,
                   double height_px) {
  if (LeastShareOfInk(field, strength) < kLeastShare) return "a part of it is fainter";
  const Grey explained = Blurred(Blurred(InkOnly(field), blur.x_px, true), blur.y_px, false);
  const double most = std::max(kFaint, kNoises * noise), few = PointPixels(height_px) / 4;
  int faint = 0, missing = 0;
  Grey left = strength;
  for (std::size_t i = 0; i < field.ink.size(); ++i) {
    left.pixels[i] -= explained.pixels[i];
    if (!field.ink[i] && left.pixels[i] > most) ++faint;
    if (field.ink[i] && left.pixels[i] < -kMissing) ++missing;
  }
  if (faint > few || HasFaintPoint(field, left, blur, height_px)) return "faint ink beside it";
  return missing > few ? "something covers a part of it" : "";
}

}  // namespace

Grey StrengthOf(const InkField& field) {
  Grey calm = Smooth(field.even, 1);
  const double ground = Quantile(calm.pixels, 0.5), ink = Quantile(calm.pixels, 0.004);
  const double span = std::max(1.0, ground - ink);
  for (float& value : calm.pixels) value = static_cast<float>((ground - value) / span);
  return calm;
}

EdgeBlur BlurOf(const InkField& field) { return BlurOfStrength(StrengthOf(field)); }

std::string WhatIsLeft(const Raster& raster, const InkField& field) {
  const double height_px = TextHeight(field);
  std::string why = WhyGround(raster, field, height_px);
  if (!why.empty()) return why;
  const Grey strength = StrengthOf(field);
  const EdgeBlur blur = BlurOfStrength(strength);
  if (PointSeen(blur, height_px) < kLeastSeen) return "too blurred: a point might be lost";
  const double noise = NoiseOf(strength, GroundOf(field));
  if (noise > kMostNoise) return "too much noise: a point might be lost";
  why = WhyInk(field, strength, blur, noise, height_px);
  return why.empty() ? WhySpots(raster, field, static_cast<int>(PointPixels(height_px) / 4)) : why;
}

}  // namespace drycrank::picture
