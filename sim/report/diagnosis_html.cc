// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis as a page in the look of a run's: which wire, on the drawing of the harness; what the
// two best candidates predict over what was observed; what to measure next, and the cautions.
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
using diagnose::Observation;

constexpr std::size_t kCurves = 6, kGroupsShown = 4, kMembersShown = 8, kCluesShown = 12;
constexpr double kLeastShare = 0.005;
constexpr double kWidth = 940, kHeight = 300, kLeft = 70, kRight = 930, kTop = 14, kBottom = 190;

// ---- which wire ----------------------------------------------------------------------------

std::string GroupRows(const DiagnosisReport& r) {
  std::string rows;
  const auto& groups = r.diagnosis->groups;
  for (std::size_t i = 0; i < groups.size() && i < kGroupsShown; ++i) {
    if (i > 0 && groups[i].share < kLeastShare) break;
    std::vector<std::string> members;
    for (std::size_t m = 0; m < groups[i].members.size() && m < kMembersShown; ++m) {
      members.push_back(diagnose::Describe(*r.bench, groups[i].members[m].hypothesis));
    }
    if (groups[i].members.size() > kMembersShown) {
      members.push_back(
          fmt::format("and {} more that look the same", groups[i].members.size() - kMembersShown));
    }
    const int left_open = groups[i].members[0].surprises;
    rows += fmt::format("<tr><td class=\"num\">{}</td><td class=\"num\">{:.0f} %</td><td>{}</td>",
                        i + 1, 100 * groups[i].share, ListOf(members)) +
            Element("td", left_open == 0 ? "nothing" : Counted(left_open, "reading")) + "</tr>";
  }
  return rows;
}

std::string GroupSection(const DiagnosisReport& r) {
  std::string out = Table({"", "share", "fault", "does not explain"}, GroupRows(r));
  out += Element("p",
                 "Faults in one row give the same readings: only a meter or another stimulus tells "
                 "them apart.");
  return Section("faults", "What explains the readings best", out);
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
std::string Image(const std::string& svg, std::string_view description) {
  std::string data;
  for (const char c : svg) {
    const bool plain = std::string_view("%#<>\"&'\n").find(c) == std::string_view::npos;
    data += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return fmt::format(
      "<img class=\"drawing\" alt=\"{}\" src=\"data:image/svg+xml;charset=utf-8,{}\"/>",
      Escape(description), data);
}

std::string DrawingSection(const DiagnosisReport& r) {
  const schedule::Marks marks = MarksOf(r.diagnosis->groups[0]);
  if (!IsDrawn(*r.bench, marks)) {
    return Section("drawing", "Where to look",
                   Element("p", "The likeliest fault is not in a wire: see its words above."));
  }
  return Section("drawing", "Where to look: the suspect wires, marked",
                 "<figure>" +
                     Image(schedule::HarnessSvg(*r.bench, marks),
                           "The harness; the suspect wires have a pointer and a yellow band.") +
                     "</figure>");
}

// ---- what is predicted, over what was observed ---------------------------------------------

struct Curve {
  std::string_view name, css;
  const Observation* rows;
};

std::vector<double> ValuesOf(const Observation& rows, std::size_t reading) {
  std::vector<double> values;
  for (const auto& row : rows) values.push_back(row[reading]);
  return values;
}

Frame FrameOver(const std::vector<Curve>& curves, std::size_t reading, std::size_t situations) {
  double low = 1e300, high = -1e300;
  for (const Curve& curve : curves) {
    for (const double value : ValuesOf(*curve.rows, reading)) {
      if (!std::isfinite(value)) continue;
      low = std::min(low, value);
      high = std::max(high, value);
    }
  }
  if (low > high) low = 0, high = 1;
  const double more = std::max((high - low) / 8, 0.5 * (high == low));
  return {kLeft,      kTop,       kRight, kBottom, -0.5, static_cast<double>(situations) - 0.5,
          low - more, high + more};
}

std::string Axes(const DiagnosisReport& r, const Frame& frame) {
  std::string out;
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
    out += fmt::format(
        "<text transform=\"translate({},{}) rotate(-40)\" text-anchor=\"end\" "
        "class=\"cap\">{}</text>",
        Px(x + 4), Px(frame.bottom + 16), Escape(Shortened((*r.situations)[s].name, 24)));
  }
  return out;
}

// A level over each situation, joined; where nothing comes the line breaks.
std::string LevelLine(const Frame& frame, const std::vector<double>& values, std::string_view css) {
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

std::string Dots(const Frame& frame, const std::vector<double>& values) {
  std::string out;
  for (std::size_t s = 0; s < values.size(); ++s) {
    if (!std::isfinite(values[s])) continue;
    out += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"4.5\" class=\"seen\"/>",
                       Px(frame.X(static_cast<double>(s))), Px(frame.Y(values[s])));
  }
  return out;
}

// ": 0 none, 2 signal high": the words of the states that the curves show.
std::string StateWords(const diagnose::Reading& what, std::size_t reading,
                       const std::vector<Curve>& curves) {
  std::vector<std::string> words;
  for (const auto& [value, name] : what.names) {
    const bool shown = std::any_of(curves.begin(), curves.end(), [&](const Curve& curve) {
      const std::vector<double> values = ValuesOf(*curve.rows, reading);
      return std::find(values.begin(), values.end(), value) != values.end();
    });
    if (shown) words.push_back(fmt::format("{:g} {}", value, DisplayUnit(name)));
  }
  return words.empty() ? "" : ": " + Join(words);
}

std::string CurveFigure(const DiagnosisReport& r, std::size_t reading,
                        const std::vector<Curve>& curves) {
  const diagnose::Reading& what = (*r.readings)[reading];
  const Frame frame = FrameOver(curves, reading, r.situations->size());
  const std::string caption = what.unit.empty() ? what.name + StateWords(what, reading, curves)
                                                : what.name + ", " + DisplayUnit(what.unit);
  std::string svg = SvgOpen(kWidth, kHeight, "curves",
                            caption + ": observed in each step, and what candidates predict");
  svg += Axes(r, frame);
  for (const Curve& curve : curves) {
    const std::vector<double> values = ValuesOf(*curve.rows, reading);
    svg += curve.css == "seen" ? Dots(frame, values) : LevelLine(frame, values, curve.css);
  }
  return "<figure><figcaption>" + Escape(caption) + "</figcaption>" + svg + "</svg></figure>";
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

std::string Key(const DiagnosisReport& r) {
  const auto& groups = r.diagnosis->groups;
  const auto entry = [](std::string_view mark, const std::string& words) {
    return fmt::format(
        "<li><svg class=\"key\" width=\"44\" height=\"14\" viewBox=\"0 0 44 14\">{}"
        "</svg> {}</li>",
        mark, Escape(words));
  };
  std::string out = "<ul class=\"key\">";
  out += entry("<circle cx=\"22\" cy=\"7\" r=\"4.5\" class=\"seen\"/>", "observed");
  out += entry("<path d=\"M2 7H42\" class=\"healthy\"/>", "a healthy bench");
  out += entry("<path d=\"M2 7H42\" class=\"first\"/>",
               "1: " + diagnose::Describe(*r.bench, groups[0].members[0].hypothesis));
  if (groups.size() > 1) {
    out += entry("<path d=\"M2 7H42\" class=\"second\"/>",
                 "2: " + diagnose::Describe(*r.bench, groups[1].members[0].hypothesis));
  }
  return out + "</ul>";
}

std::string CurveSection(const DiagnosisReport& r) {
  const auto& groups = r.diagnosis->groups;
  std::vector<Curve> curves = {{"healthy", "healthy", &r.diagnosis->healthy_prediction}};
  if (groups.size() > 1) curves.push_back({"2", "second", &groups[1].members[0].predicted});
  curves.push_back({"1", "first", &groups[0].members[0].predicted});
  curves.push_back({"observed", "seen", r.observed});
  std::string out = Key(r);
  for (const std::size_t reading : TellingReadings(r)) out += CurveFigure(r, reading, curves);
  return Section("curves", "Observed, and what the two best predict", out);
}

std::string ClueRows(const DiagnosisReport& r, const std::vector<diagnose::Clue>& clues,
                     bool speaks_for) {
  std::string rows;
  for (std::size_t i = 0; i < clues.size() && i < kCluesShown; ++i) {
    const diagnose::Clue& clue = clues[i];
    const auto& reading = Nth(*r.readings, clue.reading);
    rows += "<tr>" + Element("td", speaks_for ? "for" : "against") +
            Element("td", Nth(*r.situations, clue.situation).name) + Element("td", reading.name) +
            Element("td", diagnose::InWords(reading, clue.observed)) +
            Element("td", diagnose::InWords(reading, clue.predicted)) +
            Element("td", diagnose::InWords(reading, clue.healthy)) + "</tr>";
  }
  return rows;
}

std::string ClueSection(const DiagnosisReport& r) {
  const std::string rows = ClueRows(r, r.clues_against, false) + ClueRows(r, r.clues_for, true);
  std::string out =
      Table({"speaks", "in step", "reading", "observed", "with fault 1", "healthy"}, rows);
  const std::size_t more = r.clues_for.size() > kCluesShown ? r.clues_for.size() - kCluesShown : 0;
  if (more > 0) out += Element("p", fmt::format("And {} more readings speak for it.", more));
  return Section("clues", "What speaks for the first, and what against it", out);
}

std::string TestSection(const DiagnosisReport& r) {
  if (r.tests.empty()) return "";
  std::string out =
      Element("p",
              "Caution: key on. Coils and injectors unplugged. Probe from the wire side; "
              "do not pierce insulation or spread contacts; volts, not amperes.",
              "look");
  for (const diagnose::NextTest& test : r.tests) {
    std::string rows;
    for (const diagnose::Answer& answer : test.answers) {
      std::vector<std::string> faults;
      for (std::size_t i = 0; i < answer.candidates.size() && i < kMembersShown; ++i) {
        faults.push_back(diagnose::Describe(*r.bench, r.asked[answer.candidates[i]].hypothesis));
      }
      rows += "<tr>" + Element("td", answer.shows) + "<td>" + ListOf(faults) + "</td></tr>";
    }
    out += Element("h3", test.what);
    if (test.kind == diagnose::NextTest::Kind::kVoltage) {
      out += Element("p",
                     "Meter against the supply's minus, engine not turning, sensors plugged on and "
                     "at the values of the first step.");
    }
    out += Table({"if it shows", "it is"}, rows);
  }
  return Section("tests", "What to measure next, the most telling first", out);
}

std::string VerdictOf(const DiagnosisReport& r) {
  const diagnose::Diagnosis& d = *r.diagnosis;
  std::string css = "met", sign = "✓",
              text =
                  "Nothing to explain: every reading is what a healthy "
                  "bench gives.";
  if (!d.healthy && !d.explained) {
    css = "not_observable";
    sign = "?";
    text = "None of the faults that the schedule allows explains all readings.";
  } else if (!d.healthy) {
    css = "failed";
    sign = "✗";
    const auto& best = d.groups[0].members;
    text = diagnose::Describe(*r.bench, best[0].hypothesis);
    if (best.size() > 1) text += fmt::format(", or one of {} that look the same", best.size() - 1);
  }
  return fmt::format(
      "<div class=\"verdict {}\"><p class=\"big\"><span class=\"sign\">{}</span> {}"
      "</p></div>\n",
      css, sign, Escape(text));
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
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";
  out += Element("title", "Which wire: " + r.bench->name) + "<style>\n";
  out += kStyleSheet;
  out += kCurveStyle;
  out += "</style></head><body>\n<header>" + Element("h1", "Which wire to look at") +
         Element("p", "Bench: " + name) + Element("p", "Record: " + r.record) + "</header>\n";
  out += VerdictOf(r);
  if (!r.diagnosis->groups.empty()) {
    out += GroupSection(r) + TestSection(r) + DrawingSection(r) + CurveSection(r) + ClueSection(r);
  }
  out += Section("cautions", "Cautions", ListOf(Cautions()));
  return out + "</body></html>\n";
}

}  // namespace drycrank::report
