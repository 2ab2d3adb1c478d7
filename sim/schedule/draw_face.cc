// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "schedule/draw.h"
#include "schedule/schedule.h"
#include "schedule/svg_parts.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

constexpr double kMargin = 16, kCell = 62, kCellHeight = 72, kTableRow = 22;
constexpr std::size_t kMostColumns = 20;  // of a face without rows of its own

struct Column {
  const char* title;
  double width;
};
constexpr Column kTable[] = {{"pin", 56},   {"circuit", 230}, {"colour", 150},
                             {"gauge", 80}, {"length", 76},   {"goes to", 140}};

class Face {
 public:
  Face(const profile::Bench& bench, const profile::Connector& plug, const Marks& marks)
      : bench_(bench), plug_(plug), marks_(marks) {
    for (const std::string& pin : plug.pins) wires_.push_back(WireAt(plug.name + "." + pin));
    const std::size_t pins = std::max<std::size_t>(plug.pins.size(), 1);
    const auto rows = AsSize(plug.rows);
    columns_ = (pins + rows - 1) / rows;
    if (rows == 1 && columns_ > kMostColumns) columns_ = kMostColumns;
    rows_ = (pins + columns_ - 1) / columns_;
  }

  Markup Draw() {
    const double face = static_cast<double>(rows_) * kCellHeight;
    const double grid_width = static_cast<double>(columns_) * kCell;
    const double second = std::max(grid_width + 60, 320.0);
    const bool beside = second + grid_width < 900;  // the two views side by side
    double table_width = 0;
    for (const Column& column : kTable) table_width += column.width;
    const double views = beside ? second + grid_width : grid_width;
    const double width = 2 * kMargin + std::max({table_width, views, 640.0});
    double y = 100;
    DrawView(kMargin, y, false);
    if (beside) {
      DrawView(kMargin + second, y, true);
    } else {
      y += face + 50;
      DrawView(kMargin, y, true);
    }
    y += face + 40;
    y = DrawTable(y);
    Markup content = SvgWords(kMargin, 32, plug_.name, {24, "start", true});
    content += SvgWords(kMargin + 24 + 15 * static_cast<double>(Characters(plug_.name)), 32,
                        plug_.label == plug_.name ? "" : plug_.label, {17});
    content += SvgWords(kMargin, 56, Layout(), {13, "start", false, kSoft});
    content += body_;
    content += SvgWords(kMargin, y + 20,
                        "Not to scale. Believe the numbers moulded into the plug, not this page.",
                        {13, "start", true});
    return SvgDrawing(width, y + 40, fmt::format("Connector {}", plug_.name), content);
  }

 private:
  const profile::Wire* WireAt(const std::string& terminal) const {
    for (const profile::Wire& wire : bench_.wires) {
      if (wire.from == terminal || wire.to == terminal) return &wire;
    }
    return nullptr;
  }

  std::string Layout() const {
    if (rows_ > 1 && plug_.rows == 1) {
      return fmt::format("{} pins in one row, shown in {} lines; the bench states no rows.",
                         plug_.pins.size(), rows_);
    }
    return fmt::format("{} pins in {} row{}.", plug_.pins.size(), rows_, rows_ == 1 ? "" : "s");
  }

  bool Marked(std::size_t pin) const {
    const std::string terminal = plug_.name + "." + plug_.pins[pin];
    return marks_.ends.contains(terminal) || (wires_[pin] != nullptr && marks_.Has(*wires_[pin]));
  }

  // The wire side is the mating side, mirrored.
  void DrawView(double x, double y, bool wire_side) {
    body_ +=
        SvgWords(x, y - 12,
                 wire_side ? "Wire side: as the wires go in" : "Mating side: looking into the plug",
                 {15, "start", true});
    body_ += SvgBox(x - 4, y - 4, static_cast<double>(columns_) * kCell + 8,
                    static_cast<double>(rows_) * kCellHeight + 8, "#f1efe8", kInk, 2.5);
    for (std::size_t pin = 0; pin < plug_.pins.size(); ++pin) {
      const std::size_t row = pin / columns_, column = pin % columns_;
      const std::size_t at = wire_side ? columns_ - 1 - column : column;
      DrawPin(pin, x + static_cast<double>(at) * kCell, y + static_cast<double>(row) * kCellHeight);
    }
  }

  void DrawPin(std::size_t pin, double x, double y) {
    const profile::Wire* wire = wires_[pin];
    const bool marked = Marked(pin);
    Markup cell = SvgBox(x + 3, y + 3, kCell - 6, kCellHeight - 6, marked ? kHalo : kPaper, kInk,
                         marked ? 3 : 1.5, wire == nullptr);
    const double middle = x + kCell / 2;
    cell += SvgWords(middle, y + 22, (marked ? "▶" : "") + Cut(plug_.pins[pin], 5),
                     {17, "middle", true});
    if (wire == nullptr) {
      cell += SvgWords(middle, y + 44, "free", {12, "middle", false, kSoft});
    } else {
      const Paint paint = PaintOf(wire->colour);
      cell += SvgStroke(fmt::format("M{:g} {:g}H{:g}", x + 9, y + 35, x + kCell - 9), kInk, 14);
      cell += SvgStroke(fmt::format("M{:g} {:g}H{:g}", x + 10.5, y + 35, x + kCell - 10.5),
                        paint.base.empty() ? kPaper : std::string_view(paint.base), 11);
      if (!paint.stripe.empty()) {
        cell += SvgStroke(fmt::format("M{:g} {:g}H{:g}", x + 10.5, y + 35, x + kCell - 10.5),
                          paint.stripe, 4);
      }
      cell += ColourWords(*wire, middle, y);
    }
    Add(cell, marked);
  }

  // Two colours take two lines.
  static Markup ColourWords(const profile::Wire& wire, double x, double y) {
    const std::string colour = wire.colour.empty() ? "no colour" : wire.colour;
    const auto slash = colour.find('/');
    if (slash == std::string::npos) return SvgWords(x, y + 57, Cut(colour, 10), {10.5, "middle"});
    return SvgWords(x, y + 53, Cut(colour.substr(0, slash + 1), 10), {10, "middle"}) +
           SvgWords(x, y + 64, Cut(colour.substr(slash + 1), 10), {10, "middle"});
  }

  void Add(const Markup& part, bool marked) {
    body_ += marks_.any() && !marked ? SvgPale(part, 0.35) : part;
  }

  double DrawTable(double y) {
    double x = kMargin;
    for (const Column& column : kTable) {
      body_ += SvgWords(x, y, column.title, {13, "start", true});
      x += column.width;
    }
    body_ += SvgStroke(fmt::format("M{:g} {:g}H{:g}", kMargin, y + 7, x), kInk, 1.5);
    y += kTableRow;
    std::vector<bool> free;
    for (std::size_t pin = 0; pin < plug_.pins.size(); ++pin) {
      free.push_back(wires_[pin] == nullptr);
      if (free.back()) continue;
      DrawTableRow(pin, y);
      y += kTableRow;
    }
    if (const std::vector<std::string> runs = Runs(plug_.pins, free); !runs.empty()) {
      const std::string text = fmt::format("free: {}", fmt::join(runs, ", "));
      body_ += SvgWords(kMargin, y, Cut(text, 110), {13, "start", false, kSoft});
      y += kTableRow;
    }
    return y;
  }

  void DrawTableRow(std::size_t pin, double y) {
    const profile::Wire& wire = *wires_[pin];
    const std::string terminal = plug_.name + "." + plug_.pins[pin];
    const bool marked = Marked(pin);
    const std::string texts[] = {(marked ? "▶ " : "") + plug_.pins[pin],
                                 Cut(wire.circuit, 32),
                                 Cut(wire.colour, 20),
                                 wire.gauge,
                                 fmt::format("{:g} m", wire.length_m),
                                 Cut(wire.from == terminal ? wire.to : wire.from, 20)};
    Markup line;
    double x = kMargin;
    for (std::size_t i = 0; i < std::size(kTable); ++i) {
      line += SvgWords(x, y, texts[i], {13, "start", marked || i == 0});
      x += kTable[i].width;
    }
    Add(line, marked);
  }

  const profile::Bench& bench_;
  const profile::Connector& plug_;
  const Marks& marks_;
  std::vector<const profile::Wire*> wires_;  // by pin; null: free
  std::size_t columns_ = 1, rows_ = 1;
  Markup body_;
};

}  // namespace

Markup FaceSvg(const profile::Bench& bench, const profile::Connector& connector,
               const Marks& marks) {
  return Face(bench, connector, marks).Draw();
}

}  // namespace drycrank::schedule
