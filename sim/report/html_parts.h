// SPDX-License-Identifier: Apache-2.0
//
// The sections of the page, top to bottom as html.cc puts them together; nothing where there is
// nothing to say. The pages are well-formed XML too, so that a test can parse them.
#ifndef DRYCRANK_REPORT_HTML_PARTS_H_
#define DRYCRANK_REPORT_HTML_PARTS_H_

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "report/report.h"
#include "report/summary.h"
#include "types/markup.h"

namespace drycrank::report {

extern const std::string_view kStyleSheet;
// For the cycles of the page (report/cycle_scope.h).
extern const std::string_view kCycleScript;

// A whole file. `style` of this page alone stands behind kStyleSheet.
std::string Page(std::string_view title, std::string_view style, const Markup& body);
// <section id=".."><h2>..</h2>content</section>
Markup Section(std::string_view id, std::string_view title, const Markup& content);
// A cell of a table, or another element, around a text whose numbers keep their units.
Markup TextElement(std::string_view name, std::string_view text, std::string_view css = {});
Markup CountCell(std::uint64_t count);

Markup ListOf(const std::vector<std::string>& items);
Markup Table(const std::vector<std::string>& heads, const Markup& rows);
// The answer at the top, in a frame. `mark`: its class and its symbol. `more` stands below it.
Markup Answer(const Mark& mark, std::string_view sentence, const Markup& more = {});

Markup VerdictBox(const Report& report);
Markup FailureSection(const Report& report);
Markup PictureSection(const Report& report);
Markup ExpectationSection(const Report& report);

Markup OpenCircuitSection(const Report& report);
Markup ProvenCircuitSection(const Report& report);
Markup FaultSection(const Report& report);
Markup StepSection(const Report& report);
Markup BusSection(const Report& report);
Markup MessageSection(const Report& report);
Markup RunSection(const Report& report);
Markup SignOffSection();
Markup SheetSection(const Report& report);  // the sheet to sign, a page of its own on paper

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_HTML_PARTS_H_
