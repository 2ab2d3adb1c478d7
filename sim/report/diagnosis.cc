// SPDX-License-Identifier: Apache-2.0
#include "report/diagnosis.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>

#include "diagnose/bus_signs.h"
#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

constexpr std::size_t kGroupsShown = 4, kMembersShown = 6, kCluesShown = 5;
constexpr double kLeastShare = 0.005;
constexpr double kLeastNearest = 0.05;  // where a healthy bench is likelier

const diagnose::Reading& ReadingOf(const DiagnosisReport& r, const diagnose::Clue& clue) {
  return Nth(*r.readings, clue.reading);
}

const std::string& StepOf(const DiagnosisReport& r, const diagnose::Clue& clue) {
  return Nth(*r.situations, clue.situation).name;
}

// What a disturbed signal makes is chance: no prediction of it is held against it.
bool IsByChance(const DiagnosisReport& r) {
  const auto& faults = r.diagnosis->groups[0].members[0].hypothesis.faults;
  return std::ranges::any_of(
      faults, [](const profile::Fault& f) { return f.Is<profile::fault::ElectricalNoise>(); });
}

// What was expected of edges and sparks and failed, by whether the first fault gives that.
void AddDegrees(const DiagnosisReport& r, bool speaks_for, std::string& out) {
  const bool by_chance = !speaks_for && IsByChance(r);
  for (const FailedExpectation& failed : OfDegrees(r, speaks_for)) {
    const char* format = speaks_for ? "     for      {}: {}\n"
                         : by_chance
                             ? "     open     {}: {}; a disturbed signal may give that or not\n"
                             : "     against  {}: {}; this fault does not give that\n";
    out += fmt::format(fmt::runtime(format), failed.name, failed.detail);
  }
}

// Does the first fault make the display look as somebody saw it?
bool GivesLook(const DiagnosisReport& r) {
  const auto& faults = r.diagnosis->groups[0].members[0].hypothesis.faults;
  return diagnose::LookWith(*r.bench, faults) == r.look;
}

void AddFor(const DiagnosisReport& r, std::string& out) {
  AddDegrees(r, true, out);
  if (r.look && *r.look != diagnose::DisplayLook::kValues && GivesLook(r)) {
    out += fmt::format("     for      display: {}, as you saw it; a healthy bench shows values\n",
                       diagnose::Name(*r.look));
  }
  for (std::size_t i = 0; i < r.clues_for.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = r.clues_for[i];
    const diagnose::Reading& reading = ReadingOf(r, clue);
    out += fmt::format("     for      {}: {} {}; this fault predicts {}, a healthy bench {}\n",
                       StepOf(r, clue), reading.name, diagnose::InWords(reading, clue.observed),
                       diagnose::InWords(reading, clue.predicted),
                       diagnose::InWords(reading, clue.healthy));
  }
  if (r.clues_for.size() > kCluesShown) {
    out += fmt::format("              and {} more readings\n", r.clues_for.size() - kCluesShown);
  }
}

void AddAgainst(const DiagnosisReport& r, std::string& out) {
  AddDegrees(r, false, out);
  for (const std::string& reading : AgainstFirst(r)) {
    out += fmt::format("     against  {}, at the bench: this fault does not give that\n", reading);
  }
  const bool looks_other = r.look && !GivesLook(r);
  if (looks_other) {
    out += fmt::format("     against  display: {}, as you saw it; this fault does not give that\n",
                       diagnose::Name(*r.look));
  }
  const bool none = r.clues_against.empty() && OfDegrees(r, false).empty() && AgainstFirst(r).empty();
  if (!looks_other && none) {
    out += "     against  no reading\n";
  }
  for (std::size_t i = 0; i < r.clues_against.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = r.clues_against[i];
    const diagnose::Reading& reading = ReadingOf(r, clue);
    out += fmt::format("     against  {}: {} {}, but this fault predicts {}\n", StepOf(r, clue),
                       reading.name, diagnose::InWords(reading, clue.observed),
                       diagnose::InWords(reading, clue.predicted));
  }
}

// What no message carries and a node's own tool shows.
void AddSigns(const DiagnosisReport& r, std::string& out) {
  const auto& members = r.diagnosis->groups[0].members;
  std::set<std::string> told;
  for (std::size_t m = 0; m < members.size() && m < kMembersShown; ++m) {
    const diagnose::Hypothesis& hypothesis = members[m].hypothesis;
    for (const std::string& sign : diagnose::ErrorStatesWith(*r.bench, hypothesis.faults)) {
      if (!told.insert(sign).second) continue;
      out += fmt::format("     sign     with {}:\n              {}\n",
                         diagnose::Describe(*r.bench, hypothesis), sign);
    }
  }
}

void AddMembers(const DiagnosisReport& r, std::size_t index, std::string& out) {
  const diagnose::Group& group = r.diagnosis->groups[index];
  for (std::size_t m = 0; m < group.members.size() && m < kMembersShown; ++m) {
    const std::string words = diagnose::Describe(*r.bench, group.members[m].hypothesis);
    if (m == 0) {
      out += fmt::format("{:2}. {:>5}  {}\n", index + 1, Believed(group.share), words);
    } else {
      out += fmt::format("       or   {}\n", words);
    }
  }
  if (group.members.size() > kMembersShown) {
    out += fmt::format("            and {} more that look the same\n",
                       group.members.size() - kMembersShown);
  }
  const std::string before = ShareBefore(r, index);
  if (!before.empty()) out += fmt::format("     before the readings at the bench: {}\n", before);
}

void AddGroup(const DiagnosisReport& r, std::size_t index, std::string& out) {
  AddMembers(r, index, out);
  if (index == 0) {
    AddFor(r, out);
    AddAgainst(r, out);
    AddSigns(r, out);
  }
}

// What of all weight no group has.
void AddRest(const DiagnosisReport& r, std::string& out) {
  const diagnose::Diagnosis& d = *r.diagnosis;
  const auto was = [&](double diagnose::Diagnosis::*share) {
    return r.before == nullptr ? "" : fmt::format(" (before: {})", Believed(r.before->*share));
  };
  if ((d.explained || r.after != nullptr) && d.unknown_share >= kLeastShare) {
    out += fmt::format("    {:>5}  something that is not on the list{}\n", Believed(d.unknown_share),
                       was(&diagnose::Diagnosis::unknown_share));
  }
  if (d.healthy_share >= kLeastShare) {
    out += fmt::format("    {:>5}  nothing wrong: what is off is within tolerances{}\n",
                       Believed(d.healthy_share), was(&diagnose::Diagnosis::healthy_share));
  }
}

std::string LikeHealthyText(const DiagnosisReport& r) {
  const std::vector<std::string> like = LikeHealthy(r);
  if (like.empty()) return "";
  std::string out;
  for (const std::string& line : Wrap(kLikeHealthyNote, r.columns)) out += line + "\n";
  for (const std::string& words : like) out += "  " + words + "\n";
  return out;
}

// Something failed: what is likely enough then, though nothing wrong is likelier by the readings.
std::string NearestText(const DiagnosisReport& r) {
  const auto& groups = r.diagnosis->groups;
  if (groups.empty() || groups[0].share < kLeastNearest) return "";
  std::string out = "\nOf the faults on the list, the likeliest to have done it:\n\n";
  for (std::size_t i = 0; i < std::min(groups.size(), kGroupsShown); ++i) {
    if (groups[i].share >= kLeastNearest) AddMembers(r, i, out);
  }
  return out;
}

std::string NotesText(const DiagnosisReport& r) {
  std::string out;
  for (const std::string& note : r.notes) {
    for (const std::string& line : Wrap("Note: " + note, r.columns)) out += line + "\n";
  }
  return out.empty() ? out : out + "\n";
}

std::string HealthyText(const DiagnosisReport& r) {
  if (r.failed.empty()) {
    return "Nothing to explain: every reading is what a healthy bench gives.\n" +
           LikeHealthyText(r);
  }
  std::string out =
      "The readings at rest are what a healthy bench gives, and yet not all that was expected came "
      "true:\n\n";
  for (const FailedExpectation& failed : r.failed) {
    out += fmt::format("  {}: {}\n", failed.name, failed.detail);
    out += fmt::format("     not in the readings at rest: {}\n", failed.why_not);
  }
  return out + NearestText(r) + LikeHealthyText(r);
}

}  // namespace

std::vector<FailedExpectation> OfDegrees(const DiagnosisReport& r, bool speaks_for) {
  const diagnose::Candidate& first = r.diagnosis->groups[0].members[0];
  std::vector<FailedExpectation> of;
  for (const FailedExpectation& failed : r.failed) {
    const auto right = failed.about == About::kEdges    ? first.edges_right
                       : failed.about == About::kSparks ? first.sparks_right
                                                        : std::nullopt;
    if (right == speaks_for) of.push_back(failed);
  }
  return of;
}

bool LeavesSome(const diagnose::Diagnosis& d) {
  return !d.explained && !d.groups.empty() && d.groups[0].share >= d.unknown_share;
}

std::string ShareBefore(const DiagnosisReport& r, std::size_t index) {
  return r.after == nullptr ? "" : Believed(r.after->share_before[index]);
}

std::vector<std::string> AgainstFirst(const DiagnosisReport& r) {
  std::vector<std::string> readings;
  if (r.after == nullptr) return readings;
  for (const std::size_t i : r.after->against_first) {
    readings.push_back(fmt::format("reading {}: {}", r.given[i].number, r.given[i].said));
  }
  return readings;
}

// Beside the record's readings: what a meter read, how the display looks, what was seen of the crank.
bool IsAnyAgainst(const DiagnosisReport& r) {
  if (r.diagnosis->groups.empty()) return false;
  return !AgainstFirst(r).empty() || !OfDegrees(r, false).empty() || (r.look && !GivesLook(r));
}

std::string NoneExplains(const diagnose::Diagnosis& d, bool any_against) {
  if (LeavesSome(d)) return "The likeliest fault leaves some readings open, as it says under it";
  const std::string else_share = Believed(d.unknown_share);
  const bool none_against = !any_against && !d.groups.empty() && !d.groups[0].members.empty() &&
                            d.groups[0].members[0].surprises == 0;
  if (none_against) {
    return fmt::format("No fault on the list fits well (something else: {}), and no one reading says why.",
                       else_share);
  }
  return fmt::format("None of the faults on the list explains all readings (something else: {}).", else_share);
}

std::vector<std::string> LikeHealthy(const DiagnosisReport& r) {
  std::vector<std::string> words;
  const auto& like = r.diagnosis->like_healthy;
  for (std::size_t i = 0; i < std::min(like.size(), kMembersShown); ++i) {
    words.push_back(diagnose::Describe(*r.bench, like[i].hypothesis));
  }
  if (like.size() > kMembersShown) {
    words.push_back(fmt::format("and {} more", like.size() - kMembersShown));
  }
  return words;
}

std::string DiagnosisText(const DiagnosisReport& r) {
  const diagnose::Diagnosis& d = *r.diagnosis;
  std::string out = NotesText(r);
  if (d.healthy) return out + HealthyText(r) + (r.given.empty() ? "" : TestsText(r));
  if (!d.explained) {
    out += NoneExplains(d, IsAnyAgainst(r)) + (LeavesSome(d)       ? ":\n\n"
                              : d.groups.empty() ? "\n"
                                                 : " The nearest are:\n\n");
  } else {
    out += d.groups[0].members.size() == 1
               ? "One fault explains every reading:\n\n"
               : fmt::format("One of {} faults that look the same{} explains every reading:\n\n",
                             d.groups[0].members.size(), r.after == nullptr ? "" : " in the record");
  }
  for (std::size_t i = 0; i < d.groups.size(); ++i) {
    const bool explains = d.groups[i].members[0].surprises == 0;
    if (i > 0 && d.groups[i].share < kLeastShare) break;
    if (i >= kGroupsShown && !explains) continue;
    AddGroup(r, i, out);
  }
  AddRest(r, out);
  for (const std::string& line : Wrap(kBelievedNote, r.columns)) out += line + "\n";
  return out + TestsText(r);
}

std::string TestsText(const DiagnosisReport& r) {
  if (r.narrowed == nullptr) return "";
  std::string out;
  if (!r.given.empty()) {
    out += "\n" + GivenText(r.given, r.columns);
    for (const std::string& sentence : Objections(*r.model, *r.narrowed, r.given)) {
      for (const std::string& line : Wrap(sentence, r.columns)) out += line + "\n";
    }
    out += "\n" + LeftText(*r.bench, *r.narrowed, r.columns);
  }
  if (!r.tests.empty() && !r.narrowed->IsNamed()) {
    out += "\n" + TestText(*r.bench, *r.narrowed, r.tests[0], r.columns);
    out += fmt::format("Give the answer back: drycrank diagnose {} --ask\n", r.record);
  }
  return out;
}

}  // namespace drycrank::report
