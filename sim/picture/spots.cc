// SPDX-License-Identifier: Apache-2.0
#include "picture/spots.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "picture/grey.h"

namespace drycrank::picture {
namespace {

// Strangeness of a pixel that is no noise: the least, and in deviations of the ground.
constexpr double kStrange = 0.1, kNoises = 5;
constexpr double kLeast = -0.04, kMost = 1.12;  // s of ground and of ink
constexpr int kAway = 3;                        // pixels around ink that are not yet ground
constexpr int kChannels = 3, kTerms = 6;
using Rgb = Eigen::Vector3d;

struct Pixels {
  std::vector<bool> ground, core;  // far from ink; far from ground
};

// Of each pixel whether all around it, within kAway or one pixel, are of one kind.
Pixels KindsOf(const InkField& field) {
  Grey ink = field.even;
  for (std::size_t i = 0; i < ink.pixels.size(); ++i) ink.pixels[i] = field.ink[i] ? 1.0F : 0.0F;
  const Grey wide = Smooth(ink, kAway), near = Smooth(ink, 1);
  Pixels out;
  for (std::size_t i = 0; i < ink.pixels.size(); ++i) {
    out.ground.push_back(wide.pixels[i] <= 0);
    out.core.push_back(near.pixels[i] > 0.999F);
  }
  return out;
}

Grey Channel(const Raster& raster, std::size_t channel) {
  Grey out{raster.width, raster.height, {}};
  for (const auto& pixel : raster.pixels) out.pixels.push_back(pixel[channel]);
  return Smooth(out, 1);
}

std::vector<float> Those(const Grey& of, const std::vector<bool>& which) {
  std::vector<float> out;
  for (std::size_t i = 0; i < which.size(); ++i) {
    if (which[i]) out.push_back(of.pixels[i]);
  }
  return out;
}

Eigen::Matrix<double, kTerms, 1> TermsAt(const Grey& grey, std::size_t at) {
  const double x = static_cast<double>(at % AsSize(grey.width)) / grey.width,
               y = static_cast<double>(at / AsSize(grey.width)) / grey.height;
  return Eigen::Matrix<double, kTerms, 1>{1, x, y, x * x, x * y, y * y};
}

// The ground's light everywhere, from those pixels of it that lie within `most` of `start`.
Grey Fitted(const Grey& light, const std::vector<bool>& ground, const Grey& start, double most) {
  Eigen::Matrix<double, kTerms, kTerms> square = Eigen::Matrix<double, kTerms, kTerms>::Zero();
  Eigen::Matrix<double, kTerms, 1> right = Eigen::Matrix<double, kTerms, 1>::Zero();
  for (std::size_t i = 0; i < ground.size(); ++i) {
    if (!ground[i] || std::abs(light.pixels[i] - start.pixels[i]) > most) continue;
    const auto terms = TermsAt(light, i);
    square += terms * terms.transpose();
    right += static_cast<double>(light.pixels[i]) * terms;
  }
  const Eigen::Matrix<double, kTerms, 1> solved = square.ldlt().solve(right);
  Grey out = light;
  for (std::size_t i = 0; i < out.pixels.size(); ++i) {
    out.pixels[i] = static_cast<float>(solved.dot(TermsAt(light, i)));
  }
  return out;
}

// How far those of `which` lie from `from`, so that three in four lie nearer, as of a normal
// distribution.
double Scatter(const Grey& of, const Grey& from, const std::vector<bool>& which) {
  Grey far = of;
  for (std::size_t i = 0; i < far.pixels.size(); ++i) {
    far.pixels[i] = std::abs(of.pixels[i] - from.pixels[i]);
  }
  return Quantile(Those(far, which), 0.75) / 1.15;
}

Grey GroundOf(const Grey& light, const std::vector<bool>& ground) {
  Grey all = light;
  std::ranges::fill(all.pixels, 0.0F);
  const Grey first = Fitted(light, ground, all, 1e9);
  return Fitted(light, ground, first, std::max(2.0, 3 * Scatter(light, first, ground)));
}

// `usual`: from ground to ink in most of the field; light that shines on both leaves it as it is,
// shade does not.
double Strangeness(const Rgb& seen, const Rgb& ground, const Rgb& ink, const Rgb& usual) {
  const Rgb here = ink - ground;
  const Rgb span = here.squaredNorm() > usual.squaredNorm() ? here : usual;
  const double square = std::max(1.0, span.squaredNorm());
  const double s = std::clamp((seen - ground).dot(span) / square, kLeast, kMost);
  return (seen - ground - s * span).norm() / std::sqrt(square);
}

}  // namespace

std::string WhySpots(const Raster& raster, const InkField& field, int few) {
  const Pixels kinds = KindsOf(field);
  std::array<Grey, kChannels> light, ground;
  Rgb ink, usual;
  for (std::size_t c = 0; c < kChannels; ++c) {
    light[c] = Channel(raster, c);
    ground[c] = GroundOf(light[c], kinds.ground);
    std::vector<float> cores = Those(light[c], kinds.core);
    if (cores.empty()) cores = Those(light[c], field.ink);
    ink(static_cast<int>(c)) = Quantile(std::move(cores), 0.5);
    usual(static_cast<int>(c)) =
        ink(static_cast<int>(c)) - Quantile(Those(ground[c], kinds.ground), 0.5);
  }
  Grey strange = field.even;
  for (std::size_t i = 0; i < strange.pixels.size(); ++i) {
    const auto at = [&](const std::array<Grey, kChannels>& of) {
      return Rgb{of[0].pixels[i], of[1].pixels[i], of[2].pixels[i]};
    };
    strange.pixels[i] = static_cast<float>(Strangeness(at(light), at(ground), ink, usual));
  }
  const double most =
      std::max(kStrange, kNoises * Quantile(Those(strange, kinds.ground), 0.75) / 1.15);
  const auto count = std::ranges::count_if(strange.pixels, [&](float v) { return v > most; });
  return count >= few ? "a spot on it, neither ink nor ground" : "";
}

}  // namespace drycrank::picture
