// SPDX-License-Identifier: Apache-2.0
#include "schedule/wire_colour.h"

#include <algorithm>
#include <array>
#include <vector>

#include "schedule/columns.h"

namespace drycrank::schedule {
namespace {

struct Named {
  std::string_view paint;
  std::array<std::string_view, 6> words;  // plain (columns.h)
};
constexpr Named kColours[] = {
    {"#1b1b1b", {"black", "schwarz", "bk", "sw"}},
    {"#7a4a21", {"brown", "braun", "bn", "br"}},
    {"#cc2020", {"red", "rot", "rd", "rt"}},
    {"#e8801a", {"orange", "og", "or"}},
    {"#f0cf1e", {"yellow", "gelb", "ye", "ge"}},
    {"#1d8a3a", {"green", "gruen", "gn"}},
    {"#2456b8", {"blue", "blau", "bu", "bl"}},
    {"#7d3fa6", {"violet", "purple", "violett", "lila", "vt", "vi"}},
    {"#8d9196", {"grey", "gray", "grau", "gy"}},
    {"#ffffff", {"white", "weiss", "wh", "ws"}},
    {"#ef8fb4", {"pink", "rosa", "pk", "rs"}},
    {"#27a9a4", {"turquoise", "tuerkis", "tq", "tk"}},
    {"#6fb7ea", {"light blue", "hellblau"}},
    {"#8fd18a", {"light green", "hellgruen"}},
    {"#c9a77a", {"tan", "beige"}},
};

std::string PaintNamed(const std::string& plain) {
  for (const Named& colour : kColours) {
    if (std::find(colour.words.begin(), colour.words.end(), plain) != colour.words.end()) {
      return std::string(colour.paint);
    }
  }
  return {};
}

}  // namespace

Paint PaintOf(std::string_view colour) {
  std::string plain = Plain(colour);  // separators are spaces now
  if (plain.empty()) return {};
  if (const std::string one = PaintNamed(plain); !one.empty()) return {one, {}};
  // A split into two known names: at a space, or in the middle of two codes ("gnye").
  for (std::size_t at = 1; at < plain.size(); ++at) {
    const bool space = plain[at] == ' ';
    if (!space && plain.size() != 4) continue;
    const std::string base = PaintNamed(plain.substr(0, at));
    const std::string stripe = PaintNamed(plain.substr(space ? at + 1 : at));
    if (!base.empty() && !stripe.empty()) return {base, stripe};
  }
  return {};
}

}  // namespace drycrank::schedule
