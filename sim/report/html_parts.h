// SPDX-License-Identifier: Apache-2.0
//
// The sections of the page, top to bottom as html.cc puts them together. Each returns markup that
// is well-formed XML too (so that a test can parse it), or nothing when it has nothing to say.
#ifndef DRYCRANK_REPORT_HTML_PARTS_H_
#define DRYCRANK_REPORT_HTML_PARTS_H_

#include <string>
#include <string_view>
#include <vector>

#include "report/report.h"

namespace drycrank::report {

extern const std::string_view kStyleSheet;

// <section id=".."><h2>..</h2>content</section>
std::string Section(std::string_view id, std::string_view title, const std::string& content);
// A cell of a table, or another element, around escaped text.
std::string Element(std::string_view tag, std::string_view text, std::string_view css = {});

std::string ListOf(const std::vector<std::string>& items);
// `rows`: markup.
std::string Table(const std::vector<std::string>& heads, const std::string& rows);

std::string VerdictBox(const Report& report);
std::string FailureSection(const Report& report);
std::string PictureSection(const Report& report);
std::string ExpectationSection(const Report& report);

std::string CoverageSection(const Report& report);
std::string FaultSection(const Report& report);
std::string StepSection(const Report& report);
std::string BusSection(const Report& report);
std::string MessageSection(const Report& report);
std::string RunSection(const Report& report);
std::string SignOffSection();

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_HTML_PARTS_H_
