// SPDX-License-Identifier: Apache-2.0
//
// The results of a fault campaign: of every single fault, who would notice it, and how far it moves
// the reported values. As a table on the terminal, JSON, and one self-contained page.
//
// Who notices, the first that does:
//   controller  its own report of itself differs from a healthy run's: a range fault, the count of
//               faults or of lost synchronisations, the state of synchronisation, a stored code
//   display     it marks a value as stale or warns, where a healthy one does not
//   checker     an expectation is not met that a healthy bench meets
//   nobody      none of them
// An effect is the deviation of a reported value, for at least half a second, from the healthy
// run's around that moment (study/reported.h), and the angle by which sparks come earlier or later
// at the real crank (study/sparks.h).
#ifndef DRYCRANK_REPORT_CAMPAIGN_H_
#define DRYCRANK_REPORT_CAMPAIGN_H_

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank::report {

enum class NoticedBy { kController, kDisplay, kChecker, kNobody };
inline constexpr NoticedBy kNoticedBy[] = {NoticedBy::kController, NoticedBy::kDisplay,
                                           NoticedBy::kChecker, NoticedBy::kNobody};
const char* Name(NoticedBy who);

// The largest deviation of one reported value.
struct Effect {
  std::string value;      // "engine_temps.coolant"
  std::string unit;       // may be empty
  std::string situation;  // the step in which it was largest
  double deviation = 0;   // faulty - healthy, `unit`; not for missing
  double healthy = 0, faulty = 0;
  double times_sigma = 0;  // |deviation| / what a good bench may deviate by (diagnose/reading.h)
  bool missing = false;    // the value is not sent any more
  std::string says = {};   // of a state: "says ok where warning is due"
};
// "engine_temps.coolant -44.9 °C: 45.2 °C where 90.1 °C is due, in coolant_high"
std::string EffectInWords(const Effect& effect);

// How a result came to be.
enum class Made {
  kPlayed,     // through the whole scenario
  kPredicted,  // from another run (study/remake.h)
  kProven,     // predicted, and played as well: both say the same
  kDisproven,  // predicted, and played as well: what was played stands
};
inline constexpr Made kMade[] = {Made::kPlayed, Made::kPredicted, Made::kProven, Made::kDisproven};
const char* Name(Made made);

struct FaultResult {
  std::size_t index = 0;  // among all faults of the schedule
  std::string kind;       // "wire open"
  std::string words;      // "wire coolant_signal open (CLT.1 to ECU.20)"
  NoticedBy noticed_by = NoticedBy::kNobody;
  std::vector<std::string> controller, display;  // what they say, in words
  std::vector<std::string> checker;              // names of the expectations
  std::vector<Effect> effects;                   // beyond kLeastEffect, largest times_sigma first
  Made made = Made::kPlayed;
};
// Of a fault that was predicted and played: what stands, marked by whether both say the same.
FaultResult Compared(const FaultResult& predicted, const FaultResult& played);
// Less is the scatter of good sensors and inputs.
inline constexpr double kLeastEffect = 3;  // times sigma
// A value that is gone comes before any that is wrong.
inline constexpr double kMissingSigmas = 1e6;
// To six digits, so that files are short.
double Rounded(double value);

// Bench, scenario and seed of a campaign. Two with the same head (apart from the part) fit
// together.
struct CampaignHead {
  std::string version;  // of drycrank
  std::string bench, bench_title, bench_hash;
  std::string scenario, scenario_hash;
  std::uint64_t seed = 1;
  std::size_t faults = 0;  // of the schedule, all parts together
  std::size_t part = 1, parts = 1;
  bool play_all = true;  // nothing is predicted
};

struct Campaign {
  CampaignHead head;
  std::vector<FaultResult> results;  // ascending index
};

// One line without its end; and back. False: no such line.
std::string FaultLine(const FaultResult& result);
bool ReadFaultLine(std::string_view line, FaultResult& out);
std::string HeadJson(const CampaignHead& head);
// Of format 1 nothing was predicted. Empty when it was read, else why not: "is not the head of a campaign".
[[nodiscard]] std::string ReadHeadJson(std::string_view text, CampaignHead& out);

std::string CampaignText(const Campaign& campaign, int columns);
std::string CampaignJson(const Campaign& campaign);
std::string CampaignHtml(const Campaign& campaign);

// ---- counted alike by text, JSON and page -----------------------------------------------------

struct MadeCounts {
  std::size_t of[4] = {};  // per Made
  bool trusted() const { return of[3] == 0; }
};
MadeCounts CountMade(const Campaign& campaign);
// "Predicted: 480, of which 51 were played as well and say the same. Played: 170."
std::string MadeInWords(const Campaign& campaign);

struct KindRow {
  std::string kind;
  std::size_t faults = 0;
  std::size_t by[4] = {};                 // per NoticedBy
  std::size_t unnoticed_with_effect = 0;  // of by[kNobody]
  const FaultResult* worst = nullptr;     // of those; its first effect is the largest
};
// In the order in which kinds first come; the last row, "all", is their sum.
std::vector<KindRow> ByKind(const Campaign& campaign);

struct ValueRow {
  const FaultResult* fault = nullptr;
  const Effect* effect = nullptr;
};
// Per reported value the largest deviation that nobody notices, in alphabetical order.
std::vector<ValueRow> WorstUnnoticed(const Campaign& campaign);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_CAMPAIGN_H_
