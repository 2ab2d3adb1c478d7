// SPDX-License-Identifier: Apache-2.0
//
// A page of a display as it stands at one moment: its readouts in the order of the bench, each with
// name, text, unit, state and lamp. Made from what the display itself shows, never from what was driven.
#ifndef DRYCRANK_PICTURE_PAGE_H_
#define DRYCRANK_PICTURE_PAGE_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::picture {

// Of a bar: its ends, and from where on its segments warn.
struct BarLook {
  profile::Bar bar;
  std::optional<double> warn_above, warn_below;
};

struct PageField {
  std::string readout;     // "oil_pressure"
  std::string label;       // "Oil pressure"
  std::string lamp;        // the lamp it has: "red"; empty: none
  sweep::Shown shown;      // shown.lamp: lit
  bool is_marked = false;  // a stripe at its side says that it is to be looked at
  std::optional<BarLook> bar = {};
};

struct Page {
  std::string display;  // whose: the bench's title, or its name
  int number = 1;
  int last = 1;  // highest number there is
  std::vector<PageField> fields = {};
  std::string head = "Stand-in display";
};

// `shown`: one for each gauge, in their order. REQUIRES: bench.display.
std::vector<Page> PagesOf(const profile::Bench& bench, const std::vector<sweep::Shown>& shown);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_PAGE_H_
