// SPDX-License-Identifier: Apache-2.0
#include "bus/driven.h"

#include <fmt/format.h>

#include <algorithm>

namespace drycrank::bus {
namespace {

// An interface that frames reach, and how.
struct Reached {
  LinkFacts link;
  std::string way;
};

class Search {
 public:
  Search(const std::vector<GatewayJob>& jobs, const LinkByIndex& link_of)
      : jobs_(jobs), link_of_(link_of) {}

  std::vector<Driven> From(int index) {
    Reach(index, "", "");
    for (std::size_t at = 0; at < reached_.size(); ++at) LookAt(at);
    return std::move(driven_);
  }

 private:
  void Reach(int index, const std::string& way, const char* by) {
    if (index == 0 ||
        std::ranges::any_of(reached_, [&](const Reached& r) { return r.link.index == index; })) {
      return;
    }
    const std::optional<LinkFacts> link = link_of_(index);
    if (!link) return;
    reached_.push_back({*link, way.empty() ? link->name : way + by + link->name});
  }

  void LookAt(std::size_t at) {
    const Reached from = reached_[at];
    const bool hidden = from.link.peer_elsewhere;
    if (!from.link.IsVirtual() || hidden) {
      std::string way = at == 0 ? "" : from.way;
      if (hidden) way = from.way + ", whose other end is in another network namespace";
      driven_.push_back({from.link.index, from.link.name, from.link.kind, std::move(way)});
    }
    if (!hidden) Reach(from.link.peer_index, from.way, ", its peer ");
    for (const GatewayJob& job : jobs_) {
      if (job.from == from.link.index) Reach(job.to, from.way, ", by a gateway job to ");
    }
  }

  const std::vector<GatewayJob>& jobs_;
  const LinkByIndex& link_of_;
  std::vector<Reached> reached_;
  std::vector<Driven> driven_;
};

}  // namespace

std::vector<Driven> DrivenBy(int index, const std::vector<GatewayJob>& jobs,
                             const LinkByIndex& link_of) {
  return Search(jobs, link_of).From(index);
}

bool IsWithin(const std::vector<Driven>& now, const std::vector<Driven>& armed) {
  return std::ranges::all_of(
      now, [&](const Driven& driven) { return std::ranges::count(armed, driven) > 0; });
}

std::string NamesOf(const std::vector<Driven>& driven, const char* between) {
  std::string names;
  for (const Driven& one : driven) names += (names.empty() ? "" : between) + one.name;
  return names;
}

}  // namespace drycrank::bus
