// SPDX-License-Identifier: Apache-2.0
#include "schedule/cut_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "profile/wire_gauge.h"
#include "types/plain_text.h"

namespace drycrank::schedule {
namespace {

using Row = std::vector<std::string>;
using Rows = std::vector<Row>;

const Row kCutHeadings = {"wire", "circuit", "length_m", "gauge", "colour", "from", "to", "twist", "notes"};
const Row kTotalHeadings = {"gauge", "colour", "wires", "length_m", "without_length"};
const Row kLabelHeadings = {"wire", "at", "goes_to", "circuit", "gauge", "colour"};

// Gauges by their copper; what is none comes last.
double AreaOf(const std::string& gauge) {
  const auto found = profile::FindWireGauge(gauge);
  return found ? found->area_mm2 : 1e9;
}

std::string Metres(double length_m) { return fmt::format("{:.2f}", length_m); }

Row RowOf(const Cut& cut) {
  return {std::to_string(cut.number), cut.circuit, cut.length_m ? Metres(*cut.length_m) : "",
          cut.gauge,                  cut.colour,  cut.from,
          cut.to,                     cut.twist,   cut.notes};
}

Row RowOf(const CutTotal& total) {
  return {total.gauge, total.colour, std::to_string(total.wires), Metres(total.length_m),
          std::to_string(total.unknown)};
}

Row LabelOf(const Cut& cut, const std::string& at, const std::string& goes_to) {
  return {std::to_string(cut.number), at, goes_to, cut.circuit, cut.gauge, cut.colour};
}

template <class Item>
Rows RowsOf(const std::vector<Item>& items) {
  Rows rows;
  for (const Item& item : items) rows.push_back(RowOf(item));
  return rows;
}

// In the order of the wires' numbers, both ends one after the other.
Rows LabelRows(const CutList& list) {
  std::vector<Cut> cuts = list.cuts;
  std::ranges::sort(cuts, {}, &Cut::number);
  Rows rows;
  for (const Cut& cut : cuts) {
    rows.push_back(LabelOf(cut, cut.from, cut.to));
    rows.push_back(LabelOf(cut, cut.to, cut.from));
  }
  return rows;
}

std::string Csv(const Row& headings, const Rows& rows) {
  std::string text;
  const auto add = [&](const Row& row) {
    for (std::size_t i = 0; i < row.size(); ++i) text += (i == 0 ? "" : ",") + CsvQuoted(row[i]);
    text += "\n";
  };
  add(headings);
  std::ranges::for_each(rows, add);
  return text;
}

Markup TableRow(std::string_view cell, const Row& row) {
  Markup cells;
  for (const std::string& text : row) cells += Element(cell, text);
  return Element("tr", cells) + "\n";
}

Markup Table(const Row& headings, const Rows& rows) {
  Markup body = TableRow("th", headings);
  for (const Row& row : rows) body += TableRow("td", row);
  return Element("table", "\n" + body) + "\n";
}

Markup Labels(const CutList& list) {
  Markup labels;
  for (const Row& row : LabelRows(list)) {
    labels += Element("div", {{"class", "label"}},
                      Element("b", row[0] + " " + row[3]) + EmptyElement("br", {}) + row[1] +
                          EmptyElement("br", {}) + ("goes to " + row[2])) +
              "\n";
  }
  return Element("div", {{"class", "labels"}}, "\n" + labels);
}

constexpr std::string_view kStyle =
    "body{margin:1rem;font-family:sans-serif;font-size:11pt}table{border-collapse:collapse;"
    "margin:0 0 1.5rem}th,td{border:1px solid #888;padding:.15rem .4rem;text-align:left}"
    "tr,.label{break-inside:avoid}.labels{display:flex;flex-wrap:wrap}"
    ".label{border:1px dashed #888;width:45mm;padding:1.5mm;font-size:9pt;overflow:hidden}";

}  // namespace

CutList CutListOf(const Schedule& schedule) {
  CutList list;
  int number = 0;
  for (const ScheduleWire& wire : schedule.wires) {
    if (wire.IsFuse()) continue;
    if (!wire.fitted) {
      ++list.on_paper;
      continue;
    }
    list.cuts.push_back({++number, wire.circuit.text, wire.gauge.text, wire.colour.text,
                         wire.from.text, wire.to.text, wire.twist.text, wire.notes,
                         wire.length_m});
  }
  std::ranges::sort(list.cuts, {}, [](const Cut& cut) {
    return std::tuple(AreaOf(cut.gauge), cut.gauge, cut.colour, cut.number);
  });
  for (const Cut& cut : list.cuts) {
    const bool is_new = list.totals.empty() || list.totals.back().gauge != cut.gauge ||
                        list.totals.back().colour != cut.colour;
    if (is_new) list.totals.push_back({cut.gauge, cut.colour});
    CutTotal& total = list.totals.back();
    ++total.wires;
    total.length_m += cut.length_m.value_or(0);
    total.unknown += cut.length_m ? 0 : 1;
  }
  return list;
}

std::string CutsCsv(const CutList& list) { return Csv(kCutHeadings, RowsOf(list.cuts)); }
std::string TotalsCsv(const CutList& list) { return Csv(kTotalHeadings, RowsOf(list.totals)); }
std::string LabelsCsv(const CutList& list) { return Csv(kLabelHeadings, LabelRows(list)); }

Markup CutPage(const CutList& list, const std::string& title) {
  const Markup head = "\n" + EmptyElement("meta", {{"charset", "utf-8"}}) + "\n" +
                      EmptyElement("meta", {{"name", "generator"}, {"content", "drycrank"}}) +
                      "\n" + Element("title", title) + "\n" +
                      Element("style", Markup::Raw(kStyle)) + "\n";
  const Markup body = "\n" + Element("h1", title) + "\n" + Element("h2", "Wires to cut") + "\n" +
                      Table(kCutHeadings, RowsOf(list.cuts)) +
                      Element("h2", "Wire of each gauge and colour") + "\n" +
                      Table(kTotalHeadings, RowsOf(list.totals)) +
                      Element("h2", "Labels, one for each end") + "\n" + Labels(list) + "\n";
  return Element("html", {{"lang", "en"}},
                 "\n" + Element("head", head) + "\n" + Element("body", body) + "\n");
}

}  // namespace drycrank::schedule
