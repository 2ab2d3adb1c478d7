// SPDX-License-Identifier: Apache-2.0
//
// A trigger wheel in one of two ways:
//   {teeth: 60, missing: [59, 60], tooth_fraction: 0.5}   60 places, two without tooth; place k
//       (from 1) begins at (k - 1) * 360 / teeth and its tooth fills tooth_fraction of it.
//       `missing: 2` stands for the last two places.
//   {tooth_edges_deg: [[0, 20], [70, 130]]}               begin and end of each tooth
// Degrees of the wheel's own shaft.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "profile/keys_triggers.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

std::set<int> ReadMissing(Reader& r, int teeth) {
  std::set<int> missing;
  const Node* node = r.Find("missing");
  if (node == nullptr) return missing;
  if (node->kind != NodeKind::kList) {
    const auto count = ReadInt(r.problems(), *node, "'missing'", 0, teeth - 1);
    for (int i = 0; count && i < static_cast<int>(*count); ++i) missing.insert(teeth - i);
    return missing;
  }
  EachItem(r.problems(), node, "'missing'", [&](const Node& item) {
    const auto tooth = ReadInt(r.problems(), item, "a missing tooth", 1, teeth);
    if (tooth && !missing.insert(static_cast<int>(*tooth)).second) {
      r.problems().Add(item.Where(), fmt::format("tooth {} is missing twice", *tooth), "keep one");
    }
  });
  return missing;
}

void ReadPlaces(Reader& r, Wheel* wheel) {
  int teeth = 0;
  Places places;
  TakeAll(r, kPlacesKeys, places);
  if (!r.Get("teeth", &teeth, 1, static_cast<int>(kMaxTeeth))) return;
  const std::set<int> missing = ReadMissing(r, teeth);
  if (missing.size() >= AsSize(teeth)) {
    r.Complain("missing", "no tooth is left", "name fewer missing teeth");
  }
  const double pitch_deg = 360.0 / teeth;
  for (int k = 1; k <= teeth; ++k) {
    if (missing.contains(k)) continue;
    const double begin_deg = pitch_deg * (k - 1);
    wheel->teeth.push_back({begin_deg, begin_deg + pitch_deg * places.tooth_fraction});
  }
}

std::optional<Tooth> ReadTooth(Reader& r, const Node& item) {
  if (item.kind != NodeKind::kList || item.items.size() != 2) {
    r.problems().Add(item.Where(), "a tooth is not a pair of angles", "write [begin, end]");
    return std::nullopt;
  }
  const auto begin = ReadNumber(r.problems(), item.items[0], "a tooth's begin", {"deg", 0, 360});
  const auto end = ReadNumber(r.problems(), item.items[1], "a tooth's end", {"deg", 0, 720});
  if (!begin || !end) return std::nullopt;
  if (*begin >= 360 || *end <= *begin || *end >= *begin + 360) {
    r.problems().Add(item.Where(), fmt::format("a tooth from {:g} to {:g} deg", *begin, *end),
                     "begin below 360, end behind the begin and less than a turn away");
    return std::nullopt;
  }
  return Tooth{*begin, *end};
}

void ReadEdges(Reader& r, const Node& node, Wheel* wheel) {
  EachItem(r.problems(), &node, "'tooth_edges_deg'", [&](const Node& item) {
    const auto tooth = ReadTooth(r, item);
    if (!tooth) return;
    if (!wheel->teeth.empty() && tooth->begin_deg <= wheel->teeth.back().end_deg) {
      r.problems().Add(item.Where(),
                       fmt::format("the tooth at {:g} deg begins before the last ends, at {:g}",
                                   tooth->begin_deg, wheel->teeth.back().end_deg),
                       "sort the teeth by angle, with a space between them");
    }
    wheel->teeth.push_back(*tooth);
  });
  if (node.items.size() > kMaxTeeth || (node.kind == NodeKind::kList && node.items.empty())) {
    r.Complain("tooth_edges_deg", fmt::format("{} teeth", node.items.size()),
               fmt::format("1 to {} is possible", kMaxTeeth));
  }
  if (wheel->teeth.size() > 1 &&
      wheel->teeth.back().end_deg >= wheel->teeth.front().begin_deg + 360) {
    r.problems().Add(node.items.back().Where(),
                     fmt::format("the last tooth ends at {:g} deg, in the first tooth",
                                 wheel->teeth.back().end_deg),
                     "end it before the first one begins again");
  }
}

}  // namespace

void LoadWheel(Problems& problems, const Node& node, const std::string& title, Wheel* wheel) {
  Reader r(problems, node, "wheel of " + title);
  TakeAll(r, kWheelKeys, *wheel);
  const Node* edges = r.Find("tooth_edges_deg");
  if (edges != nullptr && r.Has("teeth")) {
    r.Complain("teeth", "'teeth' and 'tooth_edges_deg'", "write one of the two");
  } else if (edges == nullptr && !r.Has("teeth") && r.is_map()) {
    r.problems().Add(r.place(), r.title() + " has neither 'teeth' nor 'tooth_edges_deg'",
                     "add 'teeth: 60' with 'missing: [59, 60]', or 'tooth_edges_deg: [[0, 180]]'");
  }
  if (edges != nullptr) {
    ReadEdges(r, *edges, wheel);
  } else {
    ReadPlaces(r, wheel);
  }
}

}  // namespace drycrank::profile
