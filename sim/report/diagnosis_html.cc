// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis as a page in the look of a run's: which wire, on the drawing of the harness; the
// predictions of the two best candidates over the observation; the next measurement; the cautions.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "report/diagnosis.h"
#include "report/html_parts.h"
#include "report/report.h"
#include "report/svg.h"
#include "report/text.h"
#include "schedule/draw.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

using diagnose::Candidate;

constexpr std::size_t kCurves = 6, kGroupsShown = 4, kMembersShown = 8, kCluesShown = 12;
constexpr double kLeastShare = 0.005;
constexpr double kWidth = 940, kHeight = 300, kLeft = 70, kRight = 930, kTop = 14, kBottom = 190;

// ---- which wire ----------------------------------------------------------------------------

Markup GroupRow(const DiagnosisReport& r, std::size_t rank) {
  const auto& group = r.diagnosis->groups[rank];
  std::vector<std::string> members;
  for (std::size_t m = 0; m < group.members.size() && m < kMembersShown; ++m) {
    members.push_back(diagnose::Describe(*r.bench, group.members[m].hypothesis));
  }
  if (group.members.size() > kMembersShown) {
    members.push_back(
        fmt::format("and {} more that look the same", group.members.size() - kMembersShown));
  }
  const std::size_t at_bench = r.after == nullptr ? 0 : r.after->against[rank];
  const std::size_t left_open = AsSize(group.members[0].surprises) + at_bench;
  return Element(
      "tr",
      CountCell(rank + 1) + Element("td", {{"class", "num"}}, Believed(group.share)) +
          (r.after == nullptr ? Markup() : Element("td", {{"class", "num"}}, ShareBefore(r, rank))) +
          Element("td", ListOf(members)) +
          TextElement("td", left_open == 0 ? "nothing" : Counted(left_open, "reading")));
}

// With readings at the bench: what is on no list, before them and with them.
Markup RestRow(const DiagnosisReport& r) {
  return Element("tr", TextElement("td", "") +
                           Element("td", {{"class", "num"}}, Believed(r.diagnosis->unknown_share)) +
                           Element("td", {{"class", "num"}}, Believed(r.before->unknown_share)) +
                           TextElement("td", "something that is not on the list") +
                           TextElement("td", ""));
}

Markup GroupSection(const DiagnosisReport& r) {
  Markup rows;
  const auto& groups = r.diagnosis->groups;
  for (std::size_t i = 0; i < groups.size() && i < kGroupsShown; ++i) {
    if (i > 0 && groups[i].share < kLeastShare) break;
    rows += GroupRow(r, i);
  }
  std::vector<std::string> heads = {"", "share", "fault", "readings it does not explain"};
  if (r.after != nullptr) {
    heads.insert(heads.begin() + 2, "before the readings at the bench");
    rows += RestRow(r);
  }
  return Section("faults", "What explains the readings best",
                 Table(heads, rows) +
                     TextElement("p",
                                 "Faults in one row give the same readings: only a meter or "
                                 "another stimulus tells them apart.") +
                     TextElement("p", kBelievedNote));
}

schedule::Marks MarksOf(const diagnose::Group& group) {
  schedule::Marks marks;
  for (std::size_t m = 0; m < group.members.size() && m < kMembersShown; ++m) {
    for (const profile::Fault& fault : group.members[m].hypothesis.faults) {
      for (const std::string& name : {fault.at, fault.with}) {
        if (name.empty()) continue;
        marks.circuits.insert(name);
        marks.ends.insert(name);
      }
    }
  }
  return marks;
}

bool IsDrawn(const profile::Bench& bench, const schedule::Marks& marks) {
  return std::any_of(bench.wires.begin(), bench.wires.end(),
                     [&](const profile::Wire& wire) { return marks.Has(wire); });
}

// As an image of its own: the page's styles are not for it.
Markup Image(const Markup& svg, std::string_view description) {
  std::string data;
  for (const char c : svg.text()) {
    const bool plain = std::string_view("%#<>\"&'\n").find(c) == std::string_view::npos;
    data += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return EmptyElement("img", {{"class", "drawing"},
                              {"alt", description},
                              {"src", "data:image/svg+xml;charset=utf-8," + data}});
}

Markup DrawingSection(const DiagnosisReport& r) {
  const schedule::Marks marks = MarksOf(r.diagnosis->groups[0]);
  if (!IsDrawn(*r.bench, marks)) {
    return Section("drawing", "Where to look",
                   TextElement("p", "The likeliest fault is not in a wire: see its words above."));
  }
  return Section(
      "drawing", "Where to look: the suspect wires, marked",
      Element("figure", Image(schedule::HarnessSvg(*r.bench, marks),
                              "The harness; the suspect wires have a pointer and a yellow band.")));
}

// ---- predictions over the observation ---------------------------------------------

struct Curve {
  std::string_view name, css;
  diagnose::PredictedRows rows;  // seen values too
};

diagnose::PredictedRows AsPredictions(const diagnose::Observation& observed) {
  diagnose::PredictedRows rows;
  for (const diagnose::Values& seen : observed) {
    diagnose::Predictions row;
    for (const double value : seen) {
      row.push_back(std::isnan(value) ? diagnose::Prediction::None()
                                      : diagnose::Prediction::Value(value));
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

// One end of what the curve says of a reading, per situation; NaN for nothing.
std::vector<double> EndsOf(const Curve& curve, std::size_t reading, bool high) {
  std::vector<double> values;
  for (const diagnose::Predictions& row : curve.rows) {
    const diagnose::Prediction& prediction = row[reading];
    values.push_back(prediction.is_none() ? std::numeric_limits<double>::quiet_NaN()
                     : high               ? prediction.high()
                                          : prediction.low());
  }
  return values;
}

Frame FrameOver(const std::vector<Curve>& curves, std::size_t reading, std::size_t situations) {
  double low = 1e300, high = -1e300;
  for (const Curve& curve : curves) {
    for (const diagnose::Predictions& row : curve.rows) {
      if (row[reading].is_none()) continue;
      low = std::min(low, row[reading].low());
      high = std::max(high, row[reading].high());
    }
  }
  if (low > high) low = 0, high = 1;
  const double more = std::max((high - low) / 8, 0.5 * (high == low));
  return {kLeft,      kTop,       kRight, kBottom, -0.5, static_cast<double>(situations) - 0.5,
          low - more, high + more};
}

Markup Axes(const DiagnosisReport& r, const Frame& frame) {
  Markup out;
  const Ticks ticks = NiceTicks(frame.y_low, frame.y_high, 6);
  for (const double at : ticks.at) {
    out += SvgSegment({frame.left, frame.Y(at)}, {frame.right, frame.Y(at)}, "grid");
    out +=
        SvgText({frame.left - 8, frame.Y(at) + 4}, Anchor::kEnd,
                fmt::format("{:.{}f}", std::abs(at) < ticks.step / 1e3 ? 0 : at, ticks.decimals));
  }
  out += SvgSegment({frame.left, frame.bottom}, {frame.right, frame.bottom}, "edge");
  for (std::size_t s = 0; s < r.situations->size(); ++s) {
    const double x = frame.X(static_cast<double>(s));
    const std::string aslant =
        fmt::format("translate({},{}) rotate(-40)", Px(x + 4), Px(frame.bottom + 16));
    out += Element("text", {{"transform", aslant}, {"text-anchor", "end"}, {"class", "cap"}},
                   Shortened((*r.situations)[s].name, 24));
  }
  return out;
}

// A level over each situation, joined; where nothing comes the line breaks.
Markup LevelLine(const Frame& frame, const std::vector<double>& values, std::string_view css) {
  std::vector<Point> points;
  for (std::size_t s = 0; s < values.size(); ++s) {
    const double y =
        std::isfinite(values[s]) ? frame.Y(values[s]) : std::numeric_limits<double>::quiet_NaN();
    const double x = static_cast<double>(s);
    points.push_back({frame.X(x - 0.5), y});
    points.push_back({frame.X(x + 0.5), y});
  }
  return SvgLine(points, css);
}

Markup Dots(const Frame& frame, const std::vector<double>& values) {
  Markup out;
  for (std::size_t s = 0; s < values.size(); ++s) {
    if (!std::isfinite(values[s])) continue;
    out += SvgCircle({frame.X(static_cast<double>(s)), frame.Y(values[s])}, 4.5, "seen");
  }
  return out;
}

// ": 0 none, 2 signal high": the words of the states that the curves show.
std::string StateWords(const diagnose::Reading& what, std::size_t reading,
                       const std::vector<Curve>& curves) {
  std::vector<std::string> words;
  for (const auto& state : what.names) {
    const bool shown = std::any_of(curves.begin(), curves.end(), [&](const Curve& curve) {
      const std::vector<double> values = EndsOf(curve, reading, false);
      return std::find(values.begin(), values.end(), state.first) != values.end();
    });
    if (shown) words.push_back(fmt::format("{:g} {}", state.first, DisplayUnit(state.second)));
  }
  return words.empty() ? "" : ": " + Join(words);
}

// Of a curve without bands; nothing is the same as nothing.
bool SameEnds(const std::vector<double>& low, const std::vector<double>& high) {
  return std::equal(low.begin(), low.end(), high.begin(),
                    [](double a, double b) { return a == b || std::isnan(a); });
}

Markup CurveFigure(const DiagnosisReport& r, std::size_t reading,
                   const std::vector<Curve>& curves) {
  const diagnose::Reading& what = (*r.readings)[reading];
  const Frame frame = FrameOver(curves, reading, r.situations->size());
  const std::string caption = what.unit.empty() ? what.name + StateWords(what, reading, curves)
                                                : what.name + ", " + DisplayUnit(what.unit);
  Markup content = Axes(r, frame);
  for (const Curve& curve : curves) {
    const std::vector<double> low = EndsOf(curve, reading, false);
    const std::vector<double> high = EndsOf(curve, reading, true);
    content += curve.css == "seen" ? Dots(frame, low) : LevelLine(frame, low, curve.css);
    if (!SameEnds(low, high)) content += LevelLine(frame, high, curve.css);
  }
  return Element("figure",
                 Element("figcaption", caption) +
                     Svg({kWidth, kHeight, content}, "curves",
                         caption + ": observed in each step, and what candidates predict"));
}

// Those whose observed values are farthest from a healthy bench's.
std::vector<std::size_t> TellingReadings(const DiagnosisReport& r) {
  std::vector<std::pair<double, std::size_t>> found;
  for (std::size_t i = 0; i < r.readings->size(); ++i) {
    double z = 0;
    for (std::size_t s = 0; s < r.situations->size(); ++s) {
      const diagnose::Reading& reading = (*r.readings)[i];
      if (reading.turning && (*r.situations)[s].engine_rpm() <= 0) continue;
      z += diagnose::Surprise(reading, (*r.observed)[s][i], r.diagnosis->healthy_prediction[s][i]);
    }
    found.emplace_back(z, i);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::size_t> readings;
  for (const auto& [z, i] : found) {
    if (readings.size() == kCurves || z < diagnose::kSurprisingZ) break;
    readings.push_back(i);
  }
  return readings;
}

// What each mark of the curves stands for.
Markup Key(const DiagnosisReport& r) {
  const auto entry = [](const Markup& mark, const std::string& words) {
    const Markup sample = Element(
        "svg", {{"class", "key"}, {"width", 44}, {"height", 14}, {"viewBox", "0 0 44 14"}}, mark);
    return Element("li", sample + " " + words);
  };
  const auto line = [](std::string_view css) {
    return EmptyElement("path", {{"d", "M2 7H42"}, {"class", css}});
  };
  const auto first_of = [&](const diagnose::Group& group) {
    return diagnose::Describe(*r.bench, group.members[0].hypothesis);
  };
  const auto& groups = r.diagnosis->groups;
  Markup entries = entry(SvgCircle({22, 7}, 4.5, "seen"), "observed");
  entries += entry(line("healthy"), "a healthy bench");
  entries += entry(line("first"), "1: " + first_of(groups[0]));
  if (groups.size() > 1) entries += entry(line("second"), "2: " + first_of(groups[1]));
  return Element("ul", {{"class", "key"}}, entries);
}

Markup CurveSection(const DiagnosisReport& r) {
  const auto& groups = r.diagnosis->groups;
  std::vector<Curve> curves = {{"healthy", "healthy", r.diagnosis->healthy_prediction}};
  if (groups.size() > 1) curves.push_back({"2", "second", groups[1].members[0].predicted});
  curves.push_back({"1", "first", groups[0].members[0].predicted});
  curves.push_back({"observed", "seen", AsPredictions(*r.observed)});
  Markup out = Key(r);
  for (const std::size_t reading : TellingReadings(r)) out += CurveFigure(r, reading, curves);
  return Section("curves", "Observed, and what the two best predict", out);
}

Markup ClueRows(const DiagnosisReport& r, const std::vector<diagnose::Clue>& clues,
                bool speaks_for) {
  Markup rows;
  for (std::size_t i = 0; i < clues.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = clues[i];
    const auto& reading = Nth(*r.readings, clue.reading);
    const auto& situation = Nth(*r.situations, clue.situation);
    Markup row = TextElement("td", speaks_for ? "for" : "against") +
                 TextElement("td", situation.name) + TextElement("td", reading.name);
    row += TextElement("td", diagnose::InWords(reading, clue.observed)) +
           TextElement("td", diagnose::InWords(reading, clue.predicted)) +
           TextElement("td", diagnose::InWords(reading, clue.healthy));
    rows += Element("tr", row);
  }
  return rows;
}

Markup DegreeRows(const DiagnosisReport& r, bool speaks_for) {
  Markup rows;
  for (const FailedExpectation& failed : OfDegrees(r, speaks_for)) {
    rows +=
        Element("tr", TextElement("td", speaks_for ? "for" : "against") + TextElement("td", "") +
                          TextElement("td", failed.name) + TextElement("td", failed.detail) +
                          TextElement("td", speaks_for ? "that" : "not that") +
                          TextElement("td", "not that"));
  }
  return rows;
}

Markup AtBenchRows(const DiagnosisReport& r) {
  Markup rows;
  for (const std::string& reading : AgainstFirst(r)) {
    rows += Element("tr", TextElement("td", "against") + TextElement("td", "at the bench") +
                              TextElement("td", reading) + TextElement("td", "that") +
                              TextElement("td", "not that") + TextElement("td", ""));
  }
  return rows;
}

Markup ClueSection(const DiagnosisReport& r) {
  const Markup rows = AtBenchRows(r) + ClueRows(r, r.clues_against, false) +
                      DegreeRows(r, false) + DegreeRows(r, true) + ClueRows(r, r.clues_for, true);
  Markup out = Table({"speaks", "in step", "reading", "observed", "with fault 1", "healthy"}, rows);
  const std::size_t more = r.clues_for.size() > kCluesShown ? r.clues_for.size() - kCluesShown : 0;
  if (more > 0) out += TextElement("p", fmt::format("And {} more readings speak for it.", more));
  return Section("clues", "What speaks for the first, and what against it", out);
}

Markup GivenRows(const DiagnosisReport& r) {
  Markup rows;
  for (const GivenReading& given : r.given) {
    rows += Element("tr", TextElement("td", std::to_string(given.number)) +
                              TextElement("td", given.said) + TextElement("td", given.time) +
                              TextElement("td", given.by) + TextElement("td", given.meter));
  }
  return rows;
}

// Readings at the bench, and what they leave.
Markup ReadingSection(const DiagnosisReport& r) {
  if (r.given.empty()) return {};
  Markup out = Table({"", "reading", "taken", "by", "meter"}, GivenRows(r));
  for (const std::string& sentence : Objections(*r.model, *r.narrowed, r.given)) {
    out += TextElement("p", sentence, "look");
  }
  Markup rows;
  for (const diagnose::RepairLeft& left : r.narrowed->repairs) {
    if (left.share < kLeastShare) break;
    rows += Element("tr",
                    TextElement("td", Believed(left.share)) + TextElement("td", left.repair.words));
  }
  out += Table({"share", "repair"}, rows);
  return Section("readings", "Read at the bench, and what that leaves", out);
}

Markup TestSection(const DiagnosisReport& r) {
  if (r.tests.empty()) return {};
  Markup out;
  for (const diagnose::NextTest& test : r.tests) {
    Markup rows;
    for (const diagnose::Answer& answer : test.answers) {
      rows += Element(
          "tr",
          TextElement("td", answer.shows) +
              Element("td", ListOf(SuspectsOf(*r.bench, *r.narrowed, answer, kMembersShown))));
    }
    out += TextElement("h3", test.what) +
           TextElement("p", "Caution: " + CautionOf(test.test), "look") +
           Table({"if it shows", "it is"}, rows);
  }
  return Section("tests", "What to measure next, the most telling first", out);
}

Markup VerdictOf(const DiagnosisReport& r) {
  const diagnose::Diagnosis& d = *r.diagnosis;
  if (d.healthy) {
    if (!r.failed.empty()) {
      return Answer(MarkOf(check::Outcome::kNotObservable),
                    "The readings at rest are what a healthy bench gives, and yet not all that was "
                    "expected came true.");
    }
    return Answer(MarkOf(check::Outcome::kMet),
                  "Nothing to explain: every reading is what a healthy bench gives.");
  }
  if (!d.explained) {
    return Answer(
        MarkOf(check::Outcome::kNotObservable),
        NoneExplains(d, IsAnyAgainst(r)) +
            (LeavesSome(d) ? ": " + diagnose::Describe(*r.bench, d.groups[0].members[0].hypothesis)
                           : ""));
  }
  const auto& best = d.groups[0].members;
  std::string text = diagnose::Describe(*r.bench, best[0].hypothesis);
  if (best.size() > 1) text += fmt::format(", or one of {} that look the same", best.size() - 1);
  return Answer(MarkOf(check::Outcome::kFailed), text);
}

constexpr std::string_view kCurveStyle = R"css(
svg .seen { fill: var(--ink); stroke: var(--paper); stroke-width: 1.5; }
svg .healthy { stroke: var(--good); stroke-width: 2; stroke-dasharray: 7 4; }
svg .first { stroke: var(--bad); stroke-width: 3; }
svg .second { stroke: var(--wide); stroke-width: 2; stroke-dasharray: 2 3; }
img.drawing { width: 100%; }
ul.key { list-style: none; padding: 0; }
ul.key svg { display: inline-block; width: 44px; vertical-align: middle; }
td ul { margin: 0; padding-left: 1.1rem; }
)css";

}  // namespace

std::string DiagnosisHtml(const DiagnosisReport& r) {
  const std::string name = r.bench->title.empty() ? r.bench->name : r.bench->title;
  Markup body = Element("header", TextElement("h1", "Which wire to look at") +
                                      TextElement("p", "Bench: " + name) +
                                      TextElement("p", "Record: " + r.record)) +
                "\n" + VerdictOf(r);
  for (const std::string& note : r.notes) body += TextElement("p", "Note: " + note, "look");
  const std::vector<std::string> like = LikeHealthy(r);
  if (r.diagnosis->healthy && !like.empty()) {
    body += Section("like", "What would look the same",
                    TextElement("p", kLikeHealthyNote) + ListOf(like));
  }
  const bool accuses = !r.diagnosis->healthy && !r.diagnosis->groups.empty();
  if (accuses) body += GroupSection(r);
  body += ReadingSection(r) + TestSection(r);
  if (accuses) body += DrawingSection(r) + CurveSection(r) + ClueSection(r);
  body += Section("cautions", "Cautions", ListOf(Cautions()));
  return Page("Which wire: " + r.bench->name, kCurveStyle, body);
}

}  // namespace drycrank::report
