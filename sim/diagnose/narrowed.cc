// SPDX-License-Identifier: Apache-2.0
#include "diagnose/narrowed.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include "diagnose/sized_answers.h"

namespace drycrank::diagnose {
namespace {

// Suspects of the record with their shares there, the greatest first.
std::vector<Suspect> SuspectsOf(const Diagnosis& diagnosis, std::size_t most) {
  std::vector<Suspect> suspects;
  for (const Group& group : diagnosis.groups) {
    for (const Candidate& member : group.members) {
      Suspect suspect;
      suspect.candidate = &member;
      suspect.share = member.share;
      suspects.push_back(suspect);
    }
  }
  std::ranges::stable_sort(suspects, std::ranges::greater{}, &Suspect::share);
  if (suspects.size() > most) suspects.resize(most);
  return suspects;
}

// What looks like a healthy bench in the record has a part of its share, and a meter may tell it from one.
std::vector<Suspect> LikeHealthyOf(const Diagnosis& diagnosis) {
  std::vector<Suspect> suspects;
  for (const Candidate& like : diagnosis.like_healthy) {
    suspects.emplace_back().candidate = &like;
    suspects.back().share = like.share;
  }
  return suspects;
}

bool SameTest(const Test& a, const Test& b) { return a == b; }

// Twice the same test: as far apart as what either foretold for one fault may never be.
bool Contradict(const MeasuredModel& model, const Answered& a, const Answered& b,
                const Foretold& likely) {
  if (!SameTest(a.test, b.test)) return false;
  if (std::holds_alternative<Jumps>(a.test)) return false;
  if (std::holds_alternative<Probing>(a.test)) {
    const Meter meter = std::get<Probing>(a.test).meter;
    Foretold as_b = likely;
    as_b.meter.y = OnScale(meter, b.value);
    return model.Off(a, as_b) > kFarZ;
  }
  return std::isnan(a.value) != std::isnan(b.value) || a.value != b.value;
}

class Narrower {
 public:
  Narrower(MeasuredModel& model, const Repairs& repairs, std::span<const Answered> answers)
      : model_(model), repairs_(repairs), answers_(answers) {}

  Narrowed Weigh(const Diagnosis& diagnosis, std::size_t most) {
    Narrowed narrowed;
    narrowed.suspects = SuspectsOf(diagnosis, most);
    double log_healthy = 0;
    std::vector<bool> fits(answers_.size(), false);
    for (std::size_t i = 0; i < answers_.size(); ++i) {
      const Foretold healthy = model_.Foretell(answers_[i].test, {});
      log_healthy += model_.LogLikelihood(answers_[i], healthy);
      fits[i] = model_.Off(answers_[i], healthy) <= kFarZ;
    }
    if (!answers_.empty()) like_healthy_ = LikeHealthyOf(diagnosis);
    for (Suspect& suspect : narrowed.suspects) WeighOne(suspect, fits);
    for (Suspect& suspect : like_healthy_) WeighOne(suspect, fits);
    Share(narrowed, diagnosis, log_healthy);
    for (std::size_t i = 0; i < answers_.size(); ++i) {
      if (!fits[i]) narrowed.fits_nobody.push_back(i);
    }
    FindContradictions(narrowed);
    Group(narrowed);
    return narrowed;
  }

 private:
  void WeighOne(Suspect& suspect, std::vector<bool>& fits) {
    const Candidate& candidate = *suspect.candidate;
    const AnswersWeighed weighed =
        WeighAnswers(model_, answers_, candidate.hypothesis,
                     {candidate.size_spread, candidate.size_low, candidate.size_high});
    suspect.log_like = weighed.log_like;
    suspect.hypothesis = candidate.hypothesis.quantity == Quantity::kOhm
                             ? WithValue(candidate.hypothesis, weighed.value)
                             : candidate.hypothesis;
    for (std::size_t i = 0; i < answers_.size(); ++i) {
      // Of a free size, whatever its likeliest size for this answer alone.
      if (weighed.each[i] < model_.LogLikelihoodOfSlip(answers_[i]) + std::log(2)) {
        suspect.against.push_back(i);
      } else {
        fits[i] = true;
      }
    }
  }

  // By the record: what is in groups has all that is neither healthy nor unknown, what looks like a
  // healthy bench its part of health.
  void ShareByRecord(Narrowed& narrowed, const Diagnosis& diagnosis) {
    const double listed = std::max(0.0, 1 - diagnosis.healthy_share - diagnosis.unknown_share);
    double shares = 0;
    for (const Suspect& suspect : narrowed.suspects) shares += suspect.share;
    for (Suspect& suspect : narrowed.suspects) suspect.share *= listed / shares;
    narrowed.healthy_share = diagnosis.healthy_share;
    for (const Suspect& suspect : like_healthy_) narrowed.healthy_share -= suspect.share;
    narrowed.healthy_share = std::max(narrowed.healthy_share, 0.0);
    narrowed.unknown_share = diagnosis.unknown_share;
    std::ranges::move(like_healthy_, std::back_inserter(narrowed.suspects));
  }

  void Share(Narrowed& narrowed, const Diagnosis& diagnosis, double log_healthy) {
    ShareByRecord(narrowed, diagnosis);
    const double log_unknown = model_.LogLikelihoodOfUnknown(answers_);
    double best = std::max(log_healthy, log_unknown);
    for (const Suspect& suspect : narrowed.suspects) best = std::max(best, suspect.log_like);
    narrowed.healthy_share *= std::exp(log_healthy - best);
    narrowed.unknown_share *= std::exp(log_unknown - best);
    double total = narrowed.healthy_share + narrowed.unknown_share;
    for (Suspect& suspect : narrowed.suspects) {
      suspect.share *= std::exp(suspect.log_like - best);
      total += suspect.share;
    }
    narrowed.healthy_share /= total;
    narrowed.unknown_share /= total;
    for (Suspect& suspect : narrowed.suspects) suspect.share /= total;
    std::ranges::stable_sort(narrowed.suspects, std::ranges::greater{}, &Suspect::share);
  }

  void FindContradictions(Narrowed& narrowed) const {
    for (std::size_t i = 0; i < answers_.size(); ++i) {
      for (std::size_t k = i + 1; k < answers_.size(); ++k) {
        const Foretold healthy = model_.Foretell(answers_[i].test, {});
        if (Contradict(model_, answers_[i], answers_[k], healthy)) {
          narrowed.contradict.emplace_back(i, k);
        }
      }
    }
    narrowed.none_fits_all =
        !answers_.empty() && narrowed.fits_nobody.empty() && !narrowed.suspects.empty() &&
        std::ranges::none_of(narrowed.suspects,
                             [](const Suspect& suspect) { return suspect.against.empty(); });
  }

  void Group(Narrowed& narrowed) const {
    std::map<std::string, std::size_t> by_key;
    for (std::size_t s = 0; s < narrowed.suspects.size(); ++s) {
      const Repair repair = repairs_.Of(narrowed.suspects[s].candidate->hypothesis);
      const auto [at, fresh] = by_key.try_emplace(repair.key, narrowed.repairs.size());
      if (fresh) narrowed.repairs.push_back({repair, 0, {}});
      narrowed.repairs[at->second].share += narrowed.suspects[s].share;
      narrowed.repairs[at->second].suspects.push_back(s);
    }
    std::ranges::stable_sort(narrowed.repairs, std::ranges::greater{}, &RepairLeft::share);
    for (std::size_t r = 0; r < narrowed.repairs.size(); ++r) {
      for (const std::size_t s : narrowed.repairs[r].suspects) {
        narrowed.suspects[s].repair = static_cast<int>(r);
      }
    }
  }

  MeasuredModel& model_;
  const Repairs& repairs_;
  std::span<const Answered> answers_;
  std::vector<Suspect> like_healthy_;
};

}  // namespace

Narrowed Narrow(MeasuredModel& model, const Repairs& repairs, const Diagnosis& diagnosis,
                std::span<const Answered> answers, std::size_t most) {
  return Narrower(model, repairs, answers).Weigh(diagnosis, most);
}

}  // namespace drycrank::diagnose
