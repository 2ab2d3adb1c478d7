// SPDX-License-Identifier: Apache-2.0
#include "tools/compare_page.h"

#include <fmt/format.h>

#include <set>

#include "picture/inline_svg.h"
#include "picture/side_by_side.h"
#include "report/html_parts.h"

namespace drycrank::tools {
namespace {

constexpr std::string_view kStyle = R"css(
.pair { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 1.2rem; align-items: start; }
.pair figure { border: 1px solid var(--rule); min-width: 0; }
.pair figure p { margin: 1rem; }
#results td { overflow-wrap: anywhere; }
#results td, #results th:not(:first-child) { width: 38%; }
@media (max-width: 40rem) { .pair { grid-template-columns: minmax(0, 1fr); } }
)css";

Markup Drawn(const picture::Page& page) {
  if (page.fields.empty()) {
    return Element("figure",
                   report::TextElement("p", page.head + ": nothing stands on this page."));
  }
  const std::string words = fmt::format("{}, page {}", page.head, page.number);
  return Element("figure", picture::InlineSvg(picture::LayOut(page), words));
}

Markup PairSection(const picture::PagePair& pair) {
  const std::string sent =
      fmt::format("Sent: {}. A bar at its left marks what changed.", fmt::join(pair.sent, "; "));
  const Markup both = Element("div", {{"class", "pair"}}, Drawn(pair.was) + Drawn(pair.now));
  return report::Section(fmt::format("page{}", pair.number), fmt::format("Page {}", pair.number),
                         report::TextElement("p", sent) + both);
}

// A row for each: two columns fit a phone.
Markup Facts(const struct sweep::ShownBy& was, const struct sweep::ShownBy& now) {
  const auto row = [](const char* name, const std::string& before, const std::string& after) {
    const auto cell = [](const std::string& text) {
      return report::TextElement("td", text.empty() ? "not told" : text);
    };
    return Element("tr", report::TextElement("th", name) + cell(before) + cell(after));
  };
  const auto who = [](const std::string& by) { return by.empty() ? "nobody yet" : by; };
  return row("bench", was.bench, now.bench) + row("seen by", was.witness, now.witness) +
         row("seed", was.seed, now.seed) +
         row("accepted by", who(was.accepted_by), who(now.accepted_by)) +
         row("version", was.version, now.version);
}

Markup NotAskedBefore(const sweep::Comparison& comparison) {
  std::vector<std::string> lines;
  for (const sweep::ShownChange& gained : comparison.not_asked_before) {
    lines.push_back(fmt::format("{}: {}", sweep::Spoken(gained.readout), gained.sentence));
  }
  return lines.empty() ? Markup()
                       : report::Section("not_asked_before", "Not asked before, not compared",
                                         report::ListOf(lines));
}

Markup NotShown(const sweep::Comparison& comparison) {
  std::vector<std::string> lines;
  for (const sweep::ShownChange& missing : comparison.not_shown) {
    lines.push_back(fmt::format("{}: {}", sweep::Spoken(missing.readout), missing.sentence));
  }
  return lines.empty() ? Markup()
                       : report::Section("not_shown", "Not shown", report::ListOf(lines));
}

Markup ChangeSection(const sweep::Comparison& comparison) {
  Markup rows;
  for (const sweep::ShownChange& change : comparison.changes) {
    rows += Element("tr", report::TextElement("th", sweep::Spoken(change.readout)) +
                              report::TextElement("td", change.sentence));
  }
  const Markup content = rows.empty() ? report::TextElement("p", "Nothing changed.")
                                      : report::Table({"readout", "change"}, rows);
  return report::Section("changes", "What changed", content) + NotShown(comparison) +
         NotAskedBefore(comparison);
}

std::string Identical(const sweep::Comparison& c) {
  return fmt::format("{} readouts and {} points are identical.", c.readouts_identical,
                     c.points_identical);
}

Markup Head(const sweep::Comparison& c) {
  std::set<std::string> names;
  for (const sweep::ShownChange& change : c.changes) names.insert(change.readout);
  const std::size_t compared = sweep::Compared(c).size(), changed = names.size();
  const bool is_all_shown = c.not_shown.empty() && !sweep::NothingCompared(c);
  const report::Mark mark = report::MarkOf(changed > 0    ? check::Outcome::kFailed
                                           : is_all_shown ? check::Outcome::kMet
                                                          : check::Outcome::kNotObservable);
  const std::string sentence = changed > 0
                                   ? fmt::format("{} of {} readouts changed.", changed, compared)
                               : sweep::NothingCompared(c) ? "Nothing was compared."
                               : is_all_shown              ? "Nothing changed."
                                                           : "Nothing changed of what was shown.";
  return report::Answer(mark, sentence, report::TextElement("p", Identical(c)));
}

}  // namespace

std::string ComparisonPage(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now,
                           const sweep::Comparison& comparison) {
  const std::string title = "Display " + now.by.bench + ", before and now";
  Markup body = Element("header", report::TextElement("h1", title)) + Head(comparison);
  body += ChangeSection(comparison);
  const auto pairs = picture::SideBySide(was, now, comparison);
  for (const picture::PagePair& pair : pairs) body += PairSection(pair);
  if (!pairs.empty()) {
    body += report::TextElement(
        "p",
        "The pages are drawn from what was shown, in a look of their own: what the "
        "display itself looks like is not known here.");
  }
  Markup results = report::Table({"", "before", "now"}, Facts(was.by, now.by));
  if (!comparison.notes.empty()) results += report::ListOf(comparison.notes);
  body += report::Section("results", "The two results", results);
  return report::Page(title, kStyle, body);
}

}  // namespace drycrank::tools
