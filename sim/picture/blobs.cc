// SPDX-License-Identifier: Apache-2.0
#include "picture/blobs.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <string_view>

#include "picture/grey.h"

namespace drycrank::picture {
namespace {

constexpr double kBurnt = 252;           // of 255
constexpr double kLeastContrast = 0.15;  // what can be read of a dim display
constexpr double kMostNoise = 0.3;       // deviation of the ground, of the contrast
constexpr double kMostBurnt = 0.25;      // of a field that is dark
constexpr double kSpeck = 0.05;          // of the text's height: what is smaller each way is noise
constexpr double kDoubtfulSpeck = 0.09;  // what is between may be a point

// ---- light --------------------------------------------------------------------------------------

// Of each pixel what `pick` chooses of those within `reach`, first along rows, then along columns.
template <class Pick>
Grey Filter(const Grey& in, int reach, Pick pick) {
  Grey rows = in, out = in;
  const auto window = [&](const Grey& from, int x, int y, bool along_x) {
    float value = from.At(x, y);
    for (int d = -reach; d <= reach; ++d) {
      const int u = along_x ? std::clamp(x + d, 0, from.width - 1) : x;
      const int v = along_x ? y : std::clamp(y + d, 0, from.height - 1);
      value = pick(value, from.At(u, v));
    }
    return value;
  };
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) rows.At(x, y) = window(in, x, y, true);
  }
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) out.At(x, y) = window(rows, x, y, false);
  }
  return out;
}

// The ground alone: ink that is thinner than the window is closed over.
Grey GroundOf(const Grey& dark_on_light) {
  const int reach = dark_on_light.height / 6;
  const auto most = [](float a, float b) { return std::max(a, b); };
  const auto least = [](float a, float b) { return std::min(a, b); };
  const Grey calm = Smooth(dark_on_light, 1);
  return Smooth(Filter(Filter(calm, reach, most), reach, least), reach);
}

// Ink is the rarer of bright and dark.
bool IsLightOnDark(const Grey& grey) {
  const Grey calm = Smooth(grey, 1);
  const double low = Quantile(calm.pixels, 0.004), high = Quantile(calm.pixels, 0.996);
  return Quantile(calm.pixels, 0.5) < (low + high) / 2;
}

// ---- threshold ----------------------------------------------------------------------------------

// Dashes cover a hundredth of a field or more; noise alone has no such dark pixels.
float Threshold(const Grey& grey) {
  return static_cast<float>((Quantile(grey.pixels, 0.5) + Quantile(grey.pixels, 0.004)) / 2);
}

// ---- pieces -------------------------------------------------------------------------------------

struct Pieces {
  std::vector<int> number;   // of each pixel, -1: not of this kind
  std::vector<Blob> pieces;  // not in order
};

// Pixels for which `is` holds, hanging together (with `corners`: by a corner too).
Pieces PiecesOf(int width, int height, const std::vector<bool>& mask, bool is, bool corners) {
  Pieces out;
  const auto at = [&](int x, int y) { return PlaceIn(width, x, y); };
  out.number.assign(mask.size(), -1);
  std::vector<std::pair<int, int>> open;
  for (int y0 = 0; y0 < height; ++y0) {
    for (int x0 = 0; x0 < width; ++x0) {
      if (mask[at(x0, y0)] != is || out.number[at(x0, y0)] >= 0) continue;
      const auto number = static_cast<int>(out.pieces.size());
      Blob blob{x0, y0, x0, y0, 0, 0};
      out.number[at(x0, y0)] = number;
      open.assign(1, {x0, y0});
      while (!open.empty()) {
        const auto [x, y] = open.back();
        open.pop_back();
        ++blob.area;
        blob.left = std::min(blob.left, x);
        blob.right = std::max(blob.right, x);
        blob.top = std::min(blob.top, y);
        blob.bottom = std::max(blob.bottom, y);
        for (int d = 0; d < 9; ++d) {
          const int dx = d % 3 - 1, dy = d / 3 - 1, u = x + dx, v = y + dy;
          if (!corners && dx != 0 && dy != 0) continue;
          if (u < 0 || v < 0 || u >= width || v >= height) continue;
          if (mask[at(u, v)] != is || out.number[at(u, v)] >= 0) continue;
          out.number[at(u, v)] = number;
          open.emplace_back(u, v);
        }
      }
      out.pieces.push_back(blob);
    }
  }
  return out;
}

bool IsWithin(const Blob& inner, const Blob& outer) {
  return inner.left > outer.left && inner.right < outer.right && inner.top > outer.top &&
         inner.bottom < outer.bottom;
}

struct Reach {
  int left, right;
};

// How far the blob's ink reaches between two rows.
Reach ReachBetween(const InkField& field, const Blob& blob, int first, int last) {
  int left = blob.right + 1, right = blob.left - 1;
  for (int y = first; y <= last; ++y) {
    for (int x = blob.left; x <= blob.right; ++x) {
      if (!field.ink[PlaceIn(field.even.width, x, y)]) continue;
      left = std::min(left, x);
      right = std::max(right, x);
    }
  }
  return {left, right};
}

// The width of the blob's ink between two rows, as a share of all of it.
double ShareBetween(const InkField& field, const Blob& blob, int first, int last) {
  const Reach reach = ReachBetween(field, blob, first, last);
  return std::max(0, reach.right - reach.left + 1) / static_cast<double>(blob.width());
}

void MeasureFoot(const InkField& field, Blob& blob) {
  const int tenth = blob.height() / 10;
  const Reach foot = ReachBetween(field, blob, blob.bottom - 2 * tenth, blob.bottom);
  const Reach body = ReachBetween(field, blob, blob.top, blob.bottom - 3 * tenth);
  const Reach middle = ReachBetween(field, blob, blob.top + 5 * tenth + 2, blob.top + 7 * tenth);
  blob.foot_left = body.left - foot.left;
  blob.foot_right = foot.right - body.right;
  blob.step_left = middle.left - foot.left;
  blob.step_right = foot.right - middle.right;
}

void FindBlobs(InkField& field) {
  const int width = field.even.width, height = field.even.height;
  const Pieces inks = PiecesOf(width, height, field.ink, true, true);
  const Pieces grounds = PiecesOf(width, height, field.ink, false, false);
  int tallest = 0;
  for (const Blob& blob : inks.pieces) tallest = std::max(tallest, blob.height());
  const auto size = [&](const Blob& b) { return std::max(b.width(), b.height()); };
  for (Blob blob : inks.pieces) {
    if (size(blob) < std::max(2.0, kSpeck * tallest)) continue;
    if (size(blob) < kDoubtfulSpeck * tallest) field.doubt = "a speck that may be a point";
    const bool at_edge =
        blob.left == 0 || blob.right == width - 1 || blob.top == 0 || blob.bottom == height - 1;
    if (at_edge) field.doubt = "ink at the edge of the marked field";
    const double least_hole = 0.002 * height * height;
    for (const Blob& hole : grounds.pieces) {
      if (hole.area >= least_hole && IsWithin(hole, blob)) ++blob.holes;
    }
    const int fifth = blob.height() / 5;
    blob.top_share = ShareBetween(field, blob, blob.top, blob.top + fifth);
    blob.bottom_share = ShareBetween(field, blob, blob.bottom - fifth, blob.bottom);
    MeasureFoot(field, blob);
    field.blobs.push_back(blob);
  }
  std::ranges::sort(field.blobs, {}, &Blob::left);
}

void NameSigns(InkField& field) {
  int tallest = 0, base = 0;
  for (const Blob& blob : field.blobs) {
    if (blob.height() > tallest) {
      tallest = blob.height();
      base = blob.bottom;
    }
  }
  for (const Blob& blob : field.blobs) {
    const bool is_low = blob.height() < 0.33 * tallest;
    const bool is_long = blob.width() > 1.5 * blob.height();
    const bool all_are_dashes = tallest < 0.3 * field.even.height && is_long;
    if (all_are_dashes || (is_low && is_long)) {
      field.signs.push_back(Sign::kDash);
    } else if (is_low && blob.bottom > base - 0.2 * tallest) {
      field.signs.push_back(Sign::kPoint);
    } else {
      field.signs.push_back(Sign::kCharacter);
    }
  }
}

void Measure(InkField& field) {
  double ink = 0, inks = 0, ground = 0, grounds = 0, square = 0;
  for (std::size_t i = 0; i < field.ink.size(); ++i) {
    const double value = field.even.pixels[i];
    (field.ink[i] ? ink : ground) += value;
    (field.ink[i] ? inks : grounds) += 1;
    if (!field.ink[i]) square += value * value;
  }
  if (inks == 0 || grounds == 0) return;
  const double mean = ground / grounds;
  field.contrast = (mean - ink / inks) / 255;
  field.noise = std::sqrt(std::max(0.0, square / grounds - mean * mean)) / (mean - ink / inks);
}

}  // namespace

InkField FindInk(const Raster& raster) {
  InkField field;
  Grey grey = GreyOf(raster);
  const bool light_on_dark = IsLightOnDark(grey);
  const auto burnt = std::ranges::count_if(grey.pixels, [](float v) { return v >= kBurnt; });
  field.burnt = static_cast<double>(burnt) / static_cast<double>(grey.pixels.size());
  if (light_on_dark) {
    for (float& value : grey.pixels) value = 255 - value;
  }
  const Grey ground = GroundOf(grey);
  field.even = grey;
  // What shines is added to the light of the ground; on a dark display the difference is even, on
  // paper the share.
  for (std::size_t i = 0; i < grey.pixels.size(); ++i) {
    const float light = std::max(1.0F, ground.pixels[i]);
    const float even =
        light_on_dark ? 255 - (light - grey.pixels[i]) : 255 * grey.pixels[i] / light;
    field.even.pixels[i] = std::clamp(even, 0.0F, 255.0F);
  }
  const Grey calm = Smooth(field.even, 1);
  const float threshold = Threshold(calm);
  for (const float value : calm.pixels) field.ink.push_back(value < threshold);
  Measure(field);
  FindBlobs(field);
  NameSigns(field);
  field.is_blank = field.blobs.empty() || field.contrast < kLeastContrast;
  if (field.blobs.empty()) field.doubt = "nothing stands there";
  if (field.contrast < kLeastContrast) field.doubt = "too little contrast";
  if (field.noise > kMostNoise) field.doubt = "too much noise, or uneven light";
  if (light_on_dark && field.burnt > kMostBurnt) field.doubt = "glare";
  return field;
}

int HolesOf(char character) {
  static constexpr std::string_view kNone = "12357CEFGHIJKLMNSTUVWXYZcfhijklmnrstuvwxyz.-";
  static constexpr std::string_view kOne = "069ADOPQRabdeopq";
  if (kNone.find(character) != std::string_view::npos) return 0;
  if (kOne.find(character) != std::string_view::npos) return 1;
  return character == '8' || character == 'B' ? 2 : -1;  // 4 and g are drawn either way
}

}  // namespace drycrank::picture
