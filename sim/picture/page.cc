// SPDX-License-Identifier: Apache-2.0
#include "picture/page.h"

#include <map>

namespace drycrank::picture {

std::vector<Page> PagesOf(const profile::Bench& bench, const std::vector<sweep::Shown>& shown) {
  std::map<int, Page> by_number;
  const auto& gauges = bench.display->gauges;
  for (std::size_t i = 0; i < gauges.size(); ++i) {
    Page& page = by_number[shown[i].page];
    const std::string& label = gauges[i].label.empty() ? gauges[i].name : gauges[i].label;
    page.fields.push_back({gauges[i].name, label, gauges[i].lamp, shown[i]});
    if (!gauges[i].bar) continue;
    page.fields.back().bar = {*gauges[i].bar, gauges[i].warn_above, gauges[i].warn_below};
  }
  std::vector<Page> pages;
  for (auto& [number, page] : by_number) {
    page.display = bench.title.empty() ? bench.name : bench.title;
    page.number = number;
    page.last = by_number.rbegin()->first;
    pages.push_back(std::move(page));
  }
  return pages;
}

}  // namespace drycrank::picture
