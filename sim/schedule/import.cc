// SPDX-License-Identifier: Apache-2.0
#include "schedule/import.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "schedule/cells.h"
#include "schedule/parts.h"
#include "types/nth.h"
#include "yaml/csv_records.h"
#include "yaml/nearest.h"

namespace drycrank::schedule {
namespace {

using yaml::CsvRecord;
using yaml::CsvTable;

constexpr std::size_t kHeadingWithin = 20;  // records: title, revision and so on may come first

bool IsSpliceWord(std::string_view text) {
  const std::string plain = Plain(text);
  return plain.starts_with("splice") || plain.starts_with("spleiss");
}

class Importer {
 public:
  Importer(const std::string& file, const std::string& text,
           const std::map<Column, std::string>& named)
      : file_(file), text_(text), named_(named) {
    out_.schedule.file = file;
  }

  Imported Import() {
    if (!FindHeadings() || !TookWhatWasNamed()) return std::move(out_);
    out_.is_readable = true;
    for (const Diagnostic& problem : table_.problems) out_.problems.push_back(problem);
    for (std::size_t i = heading_ + 1; i < table_.records.size(); ++i) CollectNames(Row(i));
    for (std::size_t i = heading_ + 1; i < table_.records.size(); ++i) ReadRow(Row(i));
    FindParts(out_);
    std::stable_sort(
        out_.problems.begin(), out_.problems.end(), [](const Diagnostic& a, const Diagnostic& b) {
          return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
        });
    return std::move(out_);
  }

 private:
  const CsvRecord& Row(std::size_t i) const { return table_.records[i]; }

  // The separator and the line by which most columns are known.
  bool FindHeadings() {
    int best = 0;
    for (const char separator : {',', ';', '\t'}) {
      CsvTable table = yaml::ReadCsv(file_, text_, separator);
      for (std::size_t i = 0; i < std::min(table.records.size(), kHeadingWithin); ++i) {
        Headings headings = TakeColumns(table.records[i], named_);
        if (!headings.complete() || headings.score <= best) continue;
        best = headings.score;
        out_.headings = std::move(headings);
        out_.separator = separator;
        out_.heading_line = table.records[i].line;
        heading_ = i;
      }
      if (out_.separator == separator && best > 0) table_ = std::move(table);
    }
    if (best == 0) SayThatNoHeadingWasFound(yaml::ReadCsv(file_, text_, LikelySeparator()));
    return best > 0;
  }

  // The one that is written most at the begin.
  char LikelySeparator() const {
    char likely = ',';
    std::ptrdiff_t most = 0;
    const std::string_view begin = std::string_view(text_).substr(0, 4096);
    for (const char separator : {',', ';', '\t'}) {
      const auto count = std::count(begin.begin(), begin.end(), separator);
      if (count > most) likely = separator;
      most = std::max(most, count);
    }
    return likely;
  }

  void SayThatNoHeadingWasFound(const CsvTable& table) {
    for (const Diagnostic& problem : table.problems) out_.problems.push_back(problem);
    std::vector<std::string> found;
    if (!table.records.empty()) {
      for (const yaml::CsvField& field : table.records.front().fields) {
        if (!field.text.empty() && found.size() < 12) found.push_back(field.text.substr(0, 40));
      }
    }
    const Place place{file_, table.records.empty() ? 1 : table.records.front().line, 1};
    out_.problems.push_back(
        {place, "no line names the columns of both ends of a wire",
         found.empty()
             ? std::string("write headings such as From,From pin,To,To pin,Circuit,Gauge,Length")
             : fmt::format(
                   "say which they are: --column from_connector=... --column to_connector=...; "
                   "the first line has: {}",
                   fmt::join(found, " | "))});
  }

  bool TookWhatWasNamed() {
    bool all = true;
    for (const auto& [column, heading] : named_) {
      if (out_.headings[column].index >= 0) continue;
      std::vector<std::string> known;
      for (const yaml::CsvField& field : Row(heading_).fields) known.push_back(field.text);
      out_.problems.push_back(
          {{file_, out_.heading_line, 1},
           fmt::format("no column is headed '{}', to be taken for {}", heading, NameOf(column)),
           yaml::Suggest(heading, known)});
      all = false;
    }
    return all;
  }

  // The field, or an empty one at the line's begin.
  Cell CellOf(const CsvRecord& record, Column column) const {
    const int index = out_.headings[column].index;
    if (index < 0 || AsSize(index) >= record.fields.size()) {
      return {"", {file_, record.line, 1}};
    }
    const yaml::CsvField& field = Nth(record.fields, index);
    return {field.text, {file_, field.line, field.column}};
  }

  void Complain(const Place& place, std::string what, std::string remedy) {
    if (out_.problems.size() >= yaml::kMaxCsvProblems) return;
    out_.problems.push_back({place, std::move(what), std::move(remedy)});
  }

  // `made` of `text`, remembered when it differs.
  std::string Renamed(const std::string& text, std::string made) {
    if (made != text) out_.renamed.emplace(text, made);
    return made;
  }

  void CollectNames(const CsvRecord& record) {
    const Cell splice = CellOf(record, Column::kSplice);
    if (!splice.text.empty()) splices_.insert(PlugName(splice.text));
    for (const auto& [plug, pin] : kEnds) {
      const std::string plug_text = CellOf(record, plug).text;
      if (!plug_text.empty() && !CellOf(record, pin).text.empty())
        plugs_.insert(PlugName(plug_text));
    }
  }

  // An empty cell: the line says nothing there. Nothing: it cannot be read, and that was said.
  std::optional<Cell> ReadEnd(const CsvRecord& record, Column plug_column, Column pin_column) {
    const Cell plug = CellOf(record, plug_column);
    const Cell pin = CellOf(record, pin_column);
    if (plug.text.empty() && pin.text.empty()) return Cell{"", plug.place};
    if (plug.text.empty()) {
      Complain(pin.place, fmt::format("pin '{}' has no connector", pin.text),
               "write the connector in every line, even when it is that of the line above");
      return std::nullopt;
    }
    if (!pin.text.empty()) return Terminal(plug, plug.text, PinText(pin.text));
    if (splices_.contains(PlugName(plug.text)) || IsSpliceWord(plug.text)) return Splice(plug);
    if (const auto both = SplitTerminal(plug.text)) return Terminal(plug, both->plug, both->pin);
    if (plugs_.contains(PlugName(plug.text))) {
      Complain(plug.place, fmt::format("connector '{}' has no pin here", plug.text),
               "write the pin; only a splice has none");
      return std::nullopt;
    }
    return Splice(plug);
  }

  std::optional<Cell> Terminal(const Cell& at, const std::string& plug, const std::string& pin) {
    const std::string plug_name = PlugName(plug);
    const std::string pin_name = PlugName(pin);
    if (plug_name.empty() || pin_name.empty()) {
      Complain(at.place, fmt::format("'{}' is not a terminal", at.text),
               "write connector and pin with letters and digits, as CLT.1");
      return std::nullopt;
    }
    Renamed(plug, plug_name);
    Renamed(pin, pin_name);
    return Cell{plug_name + "." + pin_name, at.place};
  }

  std::optional<Cell> Splice(const Cell& at) {
    const std::string name = Renamed(at.text, PlugName(at.text));
    if (name.empty()) {
      Complain(at.place, fmt::format("'{}' is not the name of a splice", at.text),
               "write letters and digits");
      return std::nullopt;
    }
    return Cell{name, at.place};
  }

  void ReadRow(const CsvRecord& record) {
    std::vector<std::string> filled;
    for (const yaml::CsvField& field : record.fields) {
      if (!field.text.empty()) filled.push_back(field.text);
    }
    if (filled.empty() || IsHeadingAgain(record)) return;
    if (filled.size() == 1) {
      out_.notes.push_back({{file_, record.line, 1},
                            fmt::format("passed over: '{}'", filled.front().substr(0, 60)),
                            {}});
      return;
    }
    if (auto wire = ReadWire(record)) {
      AddEnd(wire->from.text);
      AddEnd(wire->to.text);
      out_.schedule.wires.push_back(std::move(*wire));
    }
  }

  bool IsHeadingAgain(const CsvRecord& record) const {
    const CsvRecord& heading = Row(heading_);
    return std::equal(record.fields.begin(), record.fields.end(), heading.fields.begin(),
                      heading.fields.end(),
                      [](const auto& a, const auto& b) { return a.text == b.text; });
  }

  std::optional<ScheduleWire> ReadWire(const CsvRecord& record) {
    ScheduleWire wire;
    wire.place = {file_, record.line, 1};
    auto from = ReadEnd(record, Column::kFromConnector, Column::kFromPin);
    auto to = ReadEnd(record, Column::kToConnector, Column::kToPin);
    if (!from || !to || !TakeSplice(CellOf(record, Column::kSplice), *from, *to)) {
      return Unread(from, to);
    }
    if (from->text.empty() || to->text.empty()) {
      Complain(from->text.empty() ? from->place : to->place,
               fmt::format("the wire has no end '{}'", from->text.empty() ? "from" : "to"),
               "write its terminal, or its splice");
      return Unread(from, to);
    }
    wire.from = std::move(*from);
    wire.to = std::move(*to);
    wire.circuit = Circuit(record, wire);
    ReadSizes(record, wire);
    wire.colour = CellOf(record, Column::kColour);
    wire.twist = CellOf(record, Column::kTwist);
    wire.fuse = CellOf(record, Column::kFuse);
    wire.notes = CellOf(record, Column::kNotes).text;
    return wire;
  }

  std::nullopt_t Unread(const std::optional<Cell>& from, const std::optional<Cell>& to) {
    for (const auto* end : {&from, &to}) {
      if (*end && !(*end)->text.empty()) out_.schedule.unread_ends.push_back((*end)->text);
    }
    return std::nullopt;
  }

  bool TakeSplice(const Cell& cell, Cell& from, Cell& to) {
    if (cell.text.empty()) return true;
    const std::string name = Renamed(cell.text, PlugName(cell.text));
    if (from.text == name || to.text == name) return true;
    Cell& open = from.text.empty() ? from : to;
    if (!open.text.empty()) {
      Complain(cell.place, fmt::format("the wire has two ends and splice '{}' too", cell.text),
               "leave the end empty that lies in the splice, or write two lines, one to the splice "
               "and one from it");
      return false;
    }
    open = {name, cell.place};
    return true;
  }

  Cell Circuit(const CsvRecord& record, const ScheduleWire& wire) {
    Cell cell = CellOf(record, Column::kCircuit);
    const std::string name = CircuitName(cell.text);
    if (!name.empty()) {
      cell.text = Renamed(cell.text, name);
      return cell;
    }
    const Cell& end = IsTerminal(wire.from.text) ? wire.from : wire.to;
    cell.text = CircuitName(end.text);
    out_.notes.push_back({cell.place,
                          fmt::format("no circuit is named; it is called {}", cell.text),
                          "name what the wire carries"});
    return cell;
  }

  void ReadSizes(const CsvRecord& record, ScheduleWire& wire) {
    wire.gauge = CellOf(record, Column::kGauge);
    if (!wire.gauge.text.empty()) {
      auto read = ReadGauge(wire.gauge.text, out_.headings[Column::kGauge].unit);
      if (!read.value) Complain(wire.gauge.place, read.what, read.remedy);
      wire.gauge.text = read.value.value_or("");
    }
    wire.length = CellOf(record, Column::kLength);
    if (!wire.length.text.empty()) {
      auto read =
          ReadLength(wire.length.text, out_.headings[Column::kLength].unit, out_.separator != ',');
      if (!read.value) Complain(wire.length.place, read.what, read.remedy);
      wire.length_m = read.value;
    }
  }

  void AddEnd(const std::string& end) {
    if (!IsTerminal(end)) {
      auto& splices = out_.schedule.splices;
      if (std::find(splices.begin(), splices.end(), end) == splices.end()) splices.push_back(end);
      return;
    }
    auto& connectors = out_.schedule.connectors;
    int at = profile::IndexOf(connectors, ConnectorOf(end));
    if (at < 0) {
      profile::Connector connector;
      connector.name = ConnectorOf(end);
      connector.label = connector.name;
      at = static_cast<int>(connectors.size());
      connectors.push_back(std::move(connector));
    }
    auto& pins = Nth(connectors, at).pins;
    if (std::find(pins.begin(), pins.end(), PinOf(end)) == pins.end())
      pins.emplace_back(PinOf(end));
  }

  static constexpr std::pair<Column, Column> kEnds[] = {{Column::kFromConnector, Column::kFromPin},
                                                        {Column::kToConnector, Column::kToPin}};

  const std::string& file_;
  const std::string& text_;
  const std::map<Column, std::string>& named_;
  Imported out_;
  CsvTable table_;
  std::size_t heading_ = 0;
  std::set<std::string> splices_;  // of the column `splice`
  std::set<std::string> plugs_;    // connectors that have a pin somewhere
};

}  // namespace

Imported ImportCsv(const std::string& file, const std::string& text,
                   const std::map<Column, std::string>& named) {
  return Importer(file, text, named).Import();
}

std::string ColumnsText(const Imported& imported) {
  std::string text;
  for (int i = 0; i < kColumnCount; ++i) {
    const auto column = static_cast<Column>(i);
    const TakenColumn& taken = imported.headings[column];
    if (taken.index < 0) continue;
    text += fmt::format("  {:<15} from column {:>2}, '{}'{}{}\n", NameOf(column), taken.index + 1,
                        taken.heading, taken.unit.empty() ? "" : ", in " + taken.unit,
                        taken.guessed ? "" : ", as you said");
  }
  if (!imported.headings.passed_over.empty()) {
    text += fmt::format("  not read: '{}'\n", fmt::join(imported.headings.passed_over, "', '"));
  }
  return text;
}

}  // namespace drycrank::schedule
