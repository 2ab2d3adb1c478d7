// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "schedule/draw.h"
#include "schedule/schedule.h"
#include "schedule/svg_parts.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

constexpr double kTop = 112, kRow = 27, kHead = 27, kGap = 13, kMargin = 16;
constexpr double kPlugWidth = 205, kPinWidth = 40, kHubPinWidth = 76, kLane = 13, kLetter = 6.5;

// A row of the drawing: a pin at the left, a pin at the right, either or none, and the wire there.
struct Row {
  double y = 0;
  std::string left, right;  // terminals
  int wire = -1;            // index into bench.wires; -1: a free pin
};

// Of the box with a splice's name.
double HalfWidth(const std::string& splice) {
  return std::max(15.0,
                  6 + 3.9 * static_cast<double>(std::min<std::size_t>(Characters(splice), 14)));
}

struct PlugBox {
  const profile::Connector* plug = nullptr;
  double top = 0, bottom = 0;
};

class Drawing {
 public:
  Drawing(const profile::Bench& bench, const Marks& marks) : bench_(bench), marks_(marks) {}

  Markup Draw() {
    FindHub();
    PlaceRows();
    PlaceColumns();
    DrawPlugs();
    DrawSplices();
    for (const Row& row : rows_) DrawRow(row);
    DrawLinks();
    return Assemble();
  }

 private:
  using Wire = profile::Wire;

  // ---- where everything goes ----

  // The plugs at the right: the controller's, else the one with most wires.
  void FindHub() {
    if (bench_.controller) {
      const profile::Controller& c = *bench_.controller;
      std::vector<std::string> terminals{c.supply, c.ground};
      for (const auto* more : {&c.more_supplies, &c.more_grounds, &c.sensor_grounds}) {
        terminals.insert(terminals.end(), more->begin(), more->end());
      }
      for (const auto& output : c.outputs) terminals.push_back(output.terminal);
      for (const auto& output : c.references) terminals.push_back(output.terminal);
      for (const auto& input : c.inputs) terminals.push_back(input.terminal);
      for (const std::string& terminal : terminals) hub_.emplace(ConnectorOf(terminal));
      return;
    }
    std::map<std::string, int> count;
    for (const Wire& wire : bench_.wires) {
      for (const std::string& end : {wire.from, wire.to}) {
        if (IsTerminal(end)) ++count[std::string(ConnectorOf(end))];
      }
    }
    const auto most =
        std::max_element(count.begin(), count.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    if (most != count.end()) hub_.insert(most->first);
  }

  bool IsHub(const std::string& end) const { return hub_.contains(std::string(ConnectorOf(end))); }
  bool IsLeft(const std::string& end) const { return IsTerminal(end) && !IsHub(end); }
  const Wire& At(int wire) const { return Nth(bench_.wires, wire); }
  const std::string& Far(int wire, const std::string& end) const {
    return At(wire).from == end ? At(wire).to : At(wire).from;
  }
  bool Marked(int wire) const { return wire >= 0 && marks_.Has(At(wire)); }

  void PlaceRows() {
    double y = kTop;
    for (const profile::Connector& plug : bench_.connectors) {
      if (hub_.contains(plug.name)) continue;
      PlugBox box{&plug, y, 0};
      y += kHead;
      for (const std::string& pin : plug.pins) AddPinRows(plug.name + "." + pin, y);
      box.bottom = y - kRow + 16;
      y += kGap;
      plugs_.push_back(box);
    }
    for (std::size_t i = 0; i < bench_.wires.size(); ++i) {
      const Wire& wire = bench_.wires[i];
      if (IsLeft(wire.from) || IsLeft(wire.to)) continue;
      const std::string& right = IsTerminal(wire.to) ? wire.to : wire.from;
      AddRow({y, "", IsTerminal(right) ? right : "", static_cast<int>(i)}, y);
      if (IsHub(wire.from) && IsHub(wire.to)) {
        AddRow({y, "", wire.from, static_cast<int>(i)}, y);
        links_right_.push_back(static_cast<int>(i));
      }
    }
    bottom_ = y;
  }

  void AddRow(const Row& row, double& y) {
    rows_.push_back(row);
    y += kRow;
  }

  void AddPinRows(const std::string& terminal, double& y) {
    bool any = false;
    for (std::size_t i = 0; i < bench_.wires.size(); ++i) {
      const int wire = static_cast<int>(i);
      if (At(wire).from != terminal && At(wire).to != terminal) continue;
      const std::string& far = Far(wire, terminal);
      AddRow({y, terminal, IsHub(far) ? far : "", wire}, y);
      if (IsLeft(far) && At(wire).from == terminal) links_left_.push_back(wire);
      any = true;
    }
    if (!any) AddRow({y, terminal, "", -1}, y);
  }

  // Labels stand over the wires, in a zone without upright lines.
  void PlaceColumns() {
    std::size_t left = 20, right = 0;
    for (const Row& row : rows_) {
      const std::size_t width = Characters(LabelOf(row));
      (row.left.empty() ? right : left) = std::max(row.left.empty() ? right : left, width);
    }
    x_wire_ = kMargin + kPlugWidth + kPinWidth;
    double x = x_wire_ + 12 + kLetter * static_cast<double>(left);
    for (const int wire : links_left_) {
      lane_[wire] = x;
      x += kLane;
    }
    x += 14;
    for (const std::string& splice : bench_.splices) {
      const double half = 4 + HalfWidth(splice);
      x += half;
      bar_[splice] = x;
      x += half;
    }
    x_right_labels_ = x + 10;
    x = x_right_labels_ + 12 + kLetter * static_cast<double>(right);
    for (const int wire : links_right_) {
      lane_[wire] = x;
      x += kLane;
    }
    x_hub_ = x + 12;
    width_ = x_hub_ + kHubPinWidth + kPlugWidth + kMargin;
  }

  std::string LabelOf(const Row& row) const {
    if (row.wire < 0) return {};
    const Wire& wire = At(row.wire);
    std::string label =
        wire.IsFuse() ? fmt::format("{} · {}", Cut(wire.circuit, 40), wire.gauge)
                      : fmt::format("{} · {} · {:g} m", Cut(wire.circuit, 40), wire.gauge,
                                    wire.length_m);
    if (!wire.colour.empty()) label += " · " + Cut(wire.colour, 20);
    if (!wire.twist.empty()) label += fmt::format(" · twist {}", Cut(wire.twist, 16));
    const std::string& far = row.left.empty() ? std::string() : Far(row.wire, row.left);
    if (IsLeft(far)) label += " · to " + far;
    return label;
  }

  // ---- what is drawn ----

  Markup& Layer(bool marked) { return marked ? marked_ : plain_; }

  bool PlugMarked(const std::string& plug) const {
    return std::any_of(rows_.begin(), rows_.end(), [&](const Row& row) {
      return Marked(row.wire) && (ConnectorOf(row.left) == plug || ConnectorOf(row.right) == plug);
    });
  }

  void DrawPlugs() {
    for (const PlugBox& box : plugs_) {
      Markup& layer = Layer(PlugMarked(box.plug->name));
      layer += SvgBox(kMargin, box.top, kPlugWidth, box.bottom - box.top, "#f1efe8", kInk, 1.5);
      DrawPlugName(layer, *box.plug, kMargin + 8, box.top + 18);
    }
    double y = kTop;
    for (const profile::Connector& plug : bench_.connectors) {
      if (!hub_.contains(plug.name)) continue;
      Markup& layer = Layer(PlugMarked(plug.name));
      if (y == kTop) {
        layer +=
            SvgBox(x_hub_ + kHubPinWidth, kTop, kPlugWidth, bottom_ - kTop, "#f1efe8", kInk, 1.5);
      }
      DrawPlugName(layer, plug, x_hub_ + kHubPinWidth + 8, y + 18);
      DrawFreePins(layer, plug, y);
    }
  }

  void DrawPlugName(Markup& layer, const profile::Connector& plug, double x, double y) const {
    layer += SvgWords(x, y, plug.name, {15, "start", true});
    if (plug.label != plug.name) {
      layer += SvgWords(x, y + 17, Cut(plug.label, 34), {12, "start", false, kSoft});
    }
  }

  // "free: 5-9, 13"; moves `y` below.
  void DrawFreePins(Markup& layer, const profile::Connector& plug, double& y) const {
    std::vector<bool> free;
    for (const std::string& pin : plug.pins) {
      const std::string terminal = plug.name + "." + pin;
      free.push_back(std::none_of(rows_.begin(), rows_.end(),
                                  [&](const Row& row) { return row.right == terminal; }));
    }
    const std::vector<std::string> ranges = Runs(plug.pins, free);
    y += 58;
    std::string line = ranges.empty() ? "" : "free:";
    for (const std::string& range : ranges) {
      if (Characters(line) + Characters(range) > 30) {
        layer += SvgWords(x_hub_ + kHubPinWidth + 8, y, line, {12, "start", false, kSoft});
        y += 16;
        line.clear();
      }
      line += " " + range;
    }
    layer += SvgWords(x_hub_ + kHubPinWidth + 8, y, line, {12, "start", false, kSoft});
    y += 24;
  }

  void DrawSplices() {
    for (const auto& [splice, x] : bar_) {
      double low = kTop;
      bool marked = false;
      for (const Row& row : rows_) {
        if (row.wire < 0 || (At(row.wire).from != splice && At(row.wire).to != splice)) continue;
        low = std::max(low, row.y);
        marked = marked || Marked(row.wire);
      }
      Markup& layer = Layer(marked);
      layer += SvgStroke(fmt::format("M{0:g} {1:g}V{2:g}", x, kTop - 14, low), kInk, 5);
      const double half = HalfWidth(splice);
      layer += SvgBox(x - half, kTop - 36, 2 * half, 22, kInk, kInk, 1);
      layer += SvgWords(x, kTop - 20, Cut(splice, 14), {13, "middle", true, kPaper});
    }
  }

  double XOf(const std::string& end) const {
    if (!IsTerminal(end)) {
      const auto bar = bar_.find(end);
      return bar == bar_.end() ? x_right_labels_ : bar->second;
    }
    return IsHub(end) ? x_hub_ : x_wire_;
  }

  void DrawRow(const Row& row) {
    Markup& layer = Layer(Marked(row.wire));
    if (!row.left.empty()) DrawLeftPin(layer, row);
    if (!row.right.empty()) DrawRightPin(layer, row);
    if (row.wire < 0) return;
    if (!IsLink(row.wire)) {
      const Wire& wire = At(row.wire);
      const double a = XOf(wire.from), b = XOf(wire.to);
      layer += SvgWire(fmt::format("M{:g} {:g}H{:g}", std::min(a, b), row.y, std::max(a, b)),
                       PaintOf(wire.colour), Marked(row.wire));
      for (const std::string& end : {wire.from, wire.to}) {
        if (!IsTerminal(end)) layer += SvgDot(XOf(end), row.y, 6, kInk);
      }
    }
    DrawLabel(layer, row);
  }

  bool IsLink(int wire) const { return lane_.contains(wire); }

  void DrawLabel(Markup& layer, const Row& row) const {
    const bool marked = Marked(row.wire);
    const double x = row.left.empty() ? x_right_labels_ : x_wire_ + 6;
    layer += SvgWords(x, row.y - 7, (marked ? "▶ " : "") + LabelOf(row), {12, "start", marked});
  }

  void DrawLeftPin(Markup& layer, const Row& row) const {
    const bool named = marks_.ends.contains(row.left);
    layer +=
        SvgBox(x_wire_ - kPinWidth, row.y - 10, kPinWidth, 20, named ? kHalo : kPaper, kInk, 1.5);
    layer +=
        SvgWords(x_wire_ - kPinWidth / 2, row.y + 5, Cut(PinOf(row.left), 5), {13, "middle", true});
    if (row.wire < 0) {
      layer += SvgWords(x_wire_ + 6, row.y + 4, "free", {12, "start", false, kSoft});
    }
  }

  void DrawRightPin(Markup& layer, const Row& row) const {
    const bool named = marks_.ends.contains(row.right);
    layer += SvgBox(x_hub_, row.y - 10, kHubPinWidth, 20, named ? kHalo : kPaper, kInk, 1.5);
    layer +=
        SvgWords(x_hub_ + kHubPinWidth / 2, row.y + 5, Cut(row.right, 9), {13, "middle", true});
  }

  // Wires between two pins of the same side, by an upright lane of their own.
  void DrawLinks() {
    for (const auto& [wire, x] : lane_) {
      double first = 0, last = 0;
      for (const Row& row : rows_) {
        if (row.wire != wire) continue;
        if (first == 0) first = row.y;
        last = row.y;
      }
      const double side = IsHub(At(wire).from) ? x_hub_ : x_wire_;
      Layer(Marked(wire)) +=
          SvgWire(fmt::format("M{:g} {:g}H{:g}V{:g}H{:g}", side, first, x, last, side),
                  PaintOf(At(wire).colour), Marked(wire));
    }
  }

  Markup Assemble() const {
    const double height = bottom_ + 56;
    const auto fuses = AsSize(std::ranges::count_if(bench_.wires, &Wire::IsFuse));
    Markup content = SvgWords(kMargin, 30, bench_.title, {20, "start", true});
    content +=
        SvgWords(kMargin, 52,
                 fmt::format("{} wires, {}{} connectors, {} splices. Not to scale.",
                             bench_.wires.size() - fuses,
                             fuses > 0 ? fmt::format("{} fuses, ", fuses) : "",
                             bench_.connectors.size(), bench_.splices.size()),
                 {13, "start", false, kSoft});
    if (marks_.any()) {
      content += SvgWords(kMargin, 74, "▶ and the yellow band: the wires in question.",
                          {14, "start", true});
    }
    content += (marks_.any() ? SvgPale(plain_, 0.28) : plain_) + marked_;
    content += SvgWords(
        kMargin, height - 16,
        "Over each wire: circuit, gauge, length, colour. A dot joins a wire to a splice; "
        "without dot it passes. A broken white line: its colour is not written, or not known.",
        {12, "start", false, kSoft});
    return SvgDrawing(width_, height, "Harness of " + bench_.title, content);
  }

  const profile::Bench& bench_;
  const Marks& marks_;
  std::set<std::string> hub_;
  std::vector<Row> rows_;
  std::vector<PlugBox> plugs_;
  std::vector<int> links_left_, links_right_;
  std::map<int, double> lane_;         // x of a link's upright part
  std::map<std::string, double> bar_;  // x of a splice
  double x_wire_ = 0, x_right_labels_ = 0, x_hub_ = 0, width_ = 0, bottom_ = 0;
  Markup plain_, marked_;
};

}  // namespace

Markup HarnessSvg(const profile::Bench& bench, const Marks& marks) {
  return Drawing(bench, marks).Draw();
}

}  // namespace drycrank::schedule
