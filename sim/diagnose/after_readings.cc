// SPDX-License-Identifier: Apache-2.0
#include "diagnose/after_readings.h"

#include <algorithm>
#include <map>

namespace drycrank::diagnose {
namespace {

constexpr double kLostMore = 20;  // than the suspect that lost least

// A group as it is left.
struct Row {
  std::vector<const Suspect*> members;  // likeliest first
  double share = 0, share_before = 0;
};

class Remains {
 public:
  Remains(const Diagnosis& before, const Narrowed& narrowed) : before_(before) {
    for (const Suspect& suspect : narrowed.suspects) {
      suspects_[suspect.candidate] = &suspect;
      if (suspect.candidate->share > 0) most_kept_ = std::max(most_kept_, Kept(suspect));
    }
    after_.diagnosis.healthy_share = narrowed.healthy_share;
    after_.diagnosis.unknown_share = narrowed.unknown_share;
    after_.diagnosis.healthy_prediction = before.healthy_prediction;
  }

  AfterReadings Weigh() {
    for (const Group& group : before_.groups) AddRow(group);
    AddLikeHealthy();
    std::ranges::stable_sort(rows_, std::ranges::greater{}, &Row::share);
    std::ranges::stable_sort(after_.cleared, std::ranges::greater{}, &Candidate::share);
    for (const Row& row : rows_) AddGroup(row);
    if (!rows_.empty()) after_.against_first = rows_[0].members[0]->against;
    Judge();
    return std::move(after_);
  }

 private:
  static double Kept(const Suspect& suspect) { return suspect.share / suspect.candidate->share; }

  bool IsCleared(const Suspect& suspect) const {
    return !suspect.against.empty() && suspect.share < kLeftShare &&
           suspect.share * kLostMore < suspect.candidate->share * most_kept_;
  }

  void AddRow(const Group& group) {
    Row row;
    row.share_before = group.share;
    for (const Candidate& member : group.members) {
      const auto found = suspects_.find(&member);
      if (found == suspects_.end()) continue;
      if (IsCleared(*found->second)) {
        after_.cleared.push_back(&member);
        continue;
      }
      row.members.push_back(found->second);
      row.share += found->second->share;
    }
    if (row.members.empty()) return;
    std::ranges::stable_sort(row.members, std::ranges::greater{}, &Suspect::share);
    rows_.push_back(std::move(row));
  }

  // With health for as long as it is as likely as each of them; else each is a row.
  void AddLikeHealthy() {
    std::vector<const Suspect*> like;
    double most = 0;
    for (const Candidate& candidate : before_.like_healthy) {
      const auto found = suspects_.find(&candidate);
      if (found == suspects_.end()) continue;
      most = std::max(most, found->second->share);
      like.push_back(found->second);
    }
    std::ranges::stable_sort(like, std::ranges::greater{}, &Suspect::share);
    Diagnosis& d = after_.diagnosis;
    if (like.empty()) d.like_healthy = before_.like_healthy;  // nothing was read
    const bool with_health = d.healthy_share >= most;
    for (const Suspect* suspect : like) {
      if (IsCleared(*suspect)) {
        after_.cleared.push_back(suspect->candidate);
      } else if (with_health) {
        d.healthy_share += suspect->share;
        d.like_healthy.push_back(AsLeft(*suspect));
      } else {
        rows_.push_back({{suspect}, suspect->share, suspect->candidate->share});
      }
    }
  }

  static Candidate AsLeft(const Suspect& suspect) {
    Candidate left = *suspect.candidate;
    left.hypothesis = suspect.hypothesis;
    left.share = suspect.share;
    return left;
  }

  void AddGroup(const Row& row) {
    Group& group = after_.diagnosis.groups.emplace_back();
    group.share = row.share;
    after_.share_before.push_back(row.share_before);
    after_.against.push_back(row.members[0]->against.size());
    for (const Suspect* suspect : row.members) group.members.push_back(AsLeft(*suspect));
  }

  void Judge() {
    Diagnosis& d = after_.diagnosis;
    const double first = d.groups.empty() ? 0 : d.groups[0].share;
    d.healthy = d.healthy_share >= std::max(first, d.unknown_share);
    if (!d.healthy) d.like_healthy.clear();
    d.explained = !d.healthy && !d.groups.empty() && first >= d.unknown_share &&
                  d.groups[0].members[0].surprises == 0 && after_.against_first.empty();
  }

  const Diagnosis& before_;
  std::map<const Candidate*, const Suspect*> suspects_;
  double most_kept_ = 0;
  std::vector<Row> rows_;
  AfterReadings after_;
};

}  // namespace

AfterReadings WithReadings(const Diagnosis& before, const Narrowed& narrowed) {
  return Remains(before, narrowed).Weigh();
}

}  // namespace drycrank::diagnose
