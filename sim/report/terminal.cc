// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "report/common_point.h"
#include "report/headline.h"
#include "report/report.h"
#include "report/summary.h"
#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

constexpr int kMinColumns = 56;
constexpr int kMaxColumns = 160;
constexpr int kVerdictColumns = 10;  // "✗ failed", "○ not seen"
constexpr int kWorstColumns = 11;
constexpr int kGap = 2;
constexpr std::size_t kMostNames = 4;

class Screen {
 public:
  Screen(bool colour, int columns)
      : colour_(colour), columns_(std::clamp(columns, kMinColumns, kMaxColumns)) {}

  int columns() const { return columns_; }
  std::string Take() { return std::move(out_); }

  void Line(std::string_view text = {}) {
    out_ += text;
    out_ += '\n';
  }
  // `text` after `head` on the first line, further lines below it.
  void Paragraph(std::string head, std::string_view text) {
    const int indent = Width(head);
    for (const std::string& line : Wrap(text, columns_ - indent)) {
      Line(head + line);
      head.assign(AsSize(indent), ' ');
    }
  }
  // Bold red, green or yellow, by what it says; the words say it as well.
  std::string Tinted(const Mark& mark, const std::string& text) const {
    if (!colour_) return text;
    const std::string_view key = mark.key;
    const char* code = key == "failed" ? "1;31" : key == "met" || key == "proven" ? "32" : "33";
    return fmt::format("\x1b[{}m{}\x1b[0m", code, text);
  }
  std::string Bold(const std::string& text) const {
    return colour_ ? "\x1b[1m" + text + "\x1b[0m" : text;
  }

 private:
  bool colour_;
  int columns_;
  std::string out_;
};

void Table(const Report& report, Screen& screen) {
  const auto order = WorstFirst(report);
  int margin_columns = Width("margin");
  for (const auto* v : order) {
    margin_columns = std::max(margin_columns, Width(PlainLine(MarginInWords(report, *v))));
  }
  const int name_columns =
      std::max(12, screen.columns() - kVerdictColumns - margin_columns - kWorstColumns - 3 * kGap);
  const auto row = [&](const std::string& verdict, const std::string& name,
                       const std::string& margin, const std::string& worst) {
    screen.Line(verdict + "  " + PadRight(name, name_columns) + "  " +
                PadLeft(margin, margin_columns) + "  " + PadLeft(worst, kWorstColumns));
  };
  row(PadRight("verdict", kVerdictColumns), "expectation", "margin", "worst at");
  for (const auto* v : order) {
    const Mark mark = MarkOf(v->outcome);
    const auto names = Wrap(ExpectationOf(report, *v).name, name_columns);
    row(screen.Tinted(mark,
                      PadRight(fmt::format("{} {}", mark.symbol, mark.word), kVerdictColumns)),
        names.front(), PlainLine(MarginInWords(report, *v)), WorstInWords(*v));
    for (std::size_t i = 1; i < names.size(); ++i) {
      screen.Line(std::string(kVerdictColumns + kGap, ' ') + names[i]);
    }
  }
}

void LookAt(const Report& report, const std::string& head, const std::string& circuit,
            const std::string& tail, Screen& screen) {
  const auto wires = WiresOf(*report.bench, circuit);
  if (wires.empty()) screen.Paragraph(head, circuit + tail);
  for (const auto* wire : wires) {
    const std::string colour = wire->colour.empty() ? "" : ", " + wire->colour;
    screen.Paragraph(head, circuit + ": " + wire->from + " to " + wire->to + colour + tail);
  }
}

void Failures(const Report& report, Screen& screen) {
  if (const auto point = CommonPointOf(report)) {
    screen.Line();
    screen.Paragraph("", CommonPointInWords(report, *point));
    for (const std::string& circuit : point->feeds) {
      LookAt(report, "    look at ", circuit, "", screen);
    }
  }
  int number = 0;
  for (const auto* v : WorstFirst(report)) {
    if (v->outcome == check::Outcome::kMet) continue;
    if (v->outcome == check::Outcome::kNotObserved && !UnseenIsFailure(report)) continue;
    const profile::Expectation& e = ExpectationOf(report, *v);
    const std::string head = fmt::format("{:>2}. ", ++number);
    screen.Line();
    screen.Paragraph(head, HeadingOf(report, *v));
    std::string detail = e.name + ": " + v->detail;
    if (WorstInWords(*v) != kNoNumber) detail += ", at " + WorstInWords(*v);
    screen.Paragraph("    ", detail);
    const std::vector<Suspect> suspects = SuspectsOf(report, v->expectation);
    for (const auto& [circuit, explains, but] : suspects) {
      const bool last = suspects.front().but.empty() && !but.empty();
      const std::string look = explains ? "    look at "
                               : last   ? "    last at "
                                        : "    perhaps at ";
      const std::string tail = but.empty() ? "" : " (" + but + ")";
      LookAt(report, look, circuit, tail, screen);
    }
  }
}

void Coverage(const Report& report, Screen& screen) {
  if (report.coverage.empty()) return;
  screen.Line();
  screen.Paragraph("", CoverageSentence(report));
  if (const std::string unexplained = UnexplainedInWords(report); !unexplained.empty()) {
    screen.Paragraph("  ", unexplained);
  }
  // Circuits of one reason together.
  std::vector<std::pair<std::string, std::vector<std::string>>> by_reason;
  for (const auto* c : OpenCircuits(report)) {
    const std::string why = WhyInWords(report, *c);
    const std::string head = MarkOf(*c).word + (why.empty() ? "" : ": " + why);
    auto at = std::ranges::find(by_reason, head, [](const auto& entry) { return entry.first; });
    if (at == by_reason.end()) at = by_reason.insert(at, {head, {}});
    at->second.push_back(c->circuit);
  }
  // Which ones a fault was put in for is no news when it is all of them: the page has their names.
  const std::string put_in = fmt::format("not shown: {}", check::kPutIn);
  for (const auto& [head, names] : by_reason) {
    const bool many = head == put_in && names.size() > kMostNames;
    screen.Paragraph(
        "  ", fmt::format("{}: {}", many ? Counted(names.size(), "circuit") : Join(names), head));
  }
}

}  // namespace

std::string Terminal(const Report& report, bool colour, int columns) {
  Screen screen(colour, columns);
  const std::string& title =
      report.scenario->title.empty() ? report.scenario->name : report.scenario->title;
  for (const std::string& line : Wrap(title, screen.columns())) screen.Line(screen.Bold(line));
  screen.Paragraph("",
                   fmt::format("{}; {}, seed {}", report.bench->title, report.mode, report.seed));
  for (const profile::Fault& fault : report.scenario->faults) {
    screen.Paragraph("fault put in: ",
                     FaultInWords(fault) + ", " + FaultTimeInWords(report, fault));
  }
  screen.Line();
  Table(report, screen);
  Failures(report, screen);
  Coverage(report, screen);
  for (const std::string& note : report.notes) screen.Paragraph("note: ", note);
  screen.Line();
  const Mark mark = HeadlineMark(report);
  for (const auto& line : Wrap(mark.symbol + (" " + Headline(report)), screen.columns())) {
    screen.Line(screen.Tinted(mark, line));
  }
  screen.Paragraph("  ", WhatWasJudged(report));
  return screen.Take();
}

}  // namespace drycrank::report
