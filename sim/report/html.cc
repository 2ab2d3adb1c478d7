// SPDX-License-Identifier: Apache-2.0
//
// The page: first the verdict and the wires to look at, then the evidence, last the full tables.
#include <fmt/format.h>

#include "report/html_parts.h"
#include "report/report.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

std::string Heading(const Report& report) {
  const auto& s = *report.scenario;
  const auto& b = *report.bench;
  return "<header>" + Element("h1", s.title.empty() ? s.name : s.title) +
         Element("p", "Bench: " + (b.title.empty() ? b.name : b.title)) +
         Element("p", "Run: " + report.mode + ", " + Seconds(report.duration_ns)) + "</header>\n";
}

}  // namespace

std::string Section(std::string_view id, std::string_view title, const std::string& content) {
  return fmt::format("<section id=\"{}\">{}{}</section>\n", id, Element("h2", title), content);
}

std::string Element(std::string_view tag, std::string_view text, std::string_view css) {
  const std::string class_text = css.empty() ? "" : fmt::format(" class=\"{}\"", css);
  return fmt::format("<{0}{1}>{2}</{0}>", tag, class_text, Escape(KeepUnits(text)));
}

std::string ListOf(const std::vector<std::string>& items) {
  std::string out = "<ul>";
  for (const std::string& item : items) out += Element("li", item);
  return out + "</ul>";
}

std::string Table(const std::vector<std::string>& heads, const std::string& rows) {
  std::string out = "<table><thead><tr>";
  for (const std::string& head : heads) out += Element("th", head);
  return out + "</tr></thead><tbody>" + rows + "</tbody></table>";
}

std::string Html(const Report& report) {
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";
  out += Element("title", report.scenario->name + " on " + report.bench->name);
  out += "<style>\n";
  out += kStyleSheet;
  out += "</style></head><body>\n" + Heading(report) + VerdictBox(report);
  out += FailureSection(report);
  if (!report.notes.empty()) out += Section("notes", "Notes", ListOf(report.notes));
  out += Section("cautions", "Cautions", ListOf(Cautions()));
  out += PictureSection(report) + ExpectationSection(report) + CoverageSection(report);
  out += FaultSection(report) + StepSection(report) + BusSection(report);
  out += MessageSection(report) + RunSection(report);
  return out + SignOffSection() + "</body></html>\n";
}

}  // namespace drycrank::report
