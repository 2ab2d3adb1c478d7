// SPDX-License-Identifier: Apache-2.0
#include "picture/marks.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "types/unit.h"
#include "yaml/include.h"
#include "yaml/reader.h"

namespace drycrank::picture {
namespace {

using yaml::Node;
using yaml::Reader;

constexpr double kLargest = 1e5;  // pixels of a picture, or of a page's own unit
constexpr int kNewestFormat = 1;
constexpr char kBegin[] =
    "marks need 'kind: marks', and under 'pages' of each page its size, its corners and where its "
    "readouts stand; 'drycrank display draw BENCH --out DIR' writes such a file";

class Loader {
 public:
  Loader(yaml::Problems& problems, const profile::Bench& bench)
      : problems_(problems), readouts_(RequiredReadouts(bench)) {}

  Marks Load(const Node& top) {
    Marks marks;
    Reader r(problems_, top, "marks", top.Where());
    r.BeTop();
    int kind = 0, format = kNewestFormat;
    r.Require("kind", "kind: marks");
    r.GetWord("kind", &kind, {{"marks", 1}});
    r.Get("format", &format, 1, kNewestFormat);
    r.Require("pages", "pages: {1: {size: [390, 614], ...}}");
    EachKey(r.Find("pages"), "'pages'", [&](const yaml::Entry& entry) {
      const auto number = ParseNumberWithUnit(entry.key);
      if (!number || number->value != std::floor(number->value) || !number->unit.empty()) {
        problems_.Add(entry.key_spot.Where(), fmt::format("'{}' is no page", entry.key),
                      "write the number of the page");
        return;
      }
      const int page = static_cast<int>(number->value);
      if (std::ranges::find(readouts_, page, &profile::Readout::page) == readouts_.end()) {
        problems_.Add(entry.key_spot.Where(), fmt::format("the bench has no page {}", page),
                      fmt::format("it has {}; take the page out, or write its number", Pages()));
      }
      marks.pages[page] = Page(entry.value, page);
    });
    EachKey(r.Find("pictures"), "'pictures'", [&](const yaml::Entry& entry) {
      Reader picture(problems_, entry.value, fmt::format("picture '{}'", entry.key),
                     entry.key_spot.Where());
      picture.Require("corners", "corners: [[0, 0], [779, 0], [779, 1227], [0, 1227]]");
      if (auto corners = CornersOf(picture)) marks.pictures[entry.key] = *corners;
    });
    return marks;
  }

 private:
  // "page 1, 2, 3".
  std::string Pages() const {
    std::set<int> pages;
    for (const profile::Readout& readout : readouts_) pages.insert(readout.page);
    return fmt::format("page {}", fmt::join(pages, ", "));
  }

  template <class Each>
  void EachKey(const Node* map, const std::string& what, Each each) {
    if (map == nullptr) return;
    if (map->kind != yaml::NodeKind::kMap) {
      problems_.Add(map->Where(), what + " is " + KindName(*map), "write names with their data");
      return;
    }
    for (const yaml::Entry& entry : map->entries) each(entry);
  }

  // A list of `count` numbers; empty, and said, when it is none.
  std::vector<double> Numbers(const Node& list, const std::string& what, std::size_t count) {
    std::vector<double> numbers;
    if (list.kind != yaml::NodeKind::kList || list.items.size() != count) {
      problems_.Add(list.Where(), what + " is no list of " + std::to_string(count) + " numbers",
                    count == 4 ? "write [left, top, width, height]" : "write two numbers: [3, 4]");
      return {};
    }
    for (const Node& item : list.items) {
      const auto number = ReadNumber(problems_, item, what, {"", -kLargest, kLargest});
      if (!number) return {};
      numbers.push_back(*number);
    }
    return numbers;
  }

  std::optional<Corners> CornersOf(Reader& r) {
    const Node* list = r.Find("corners");
    if (list == nullptr) return std::nullopt;
    if (list->kind != yaml::NodeKind::kList || list->items.size() != 4) {
      r.Complain("corners", "not four corners", "write four, upper left first, then clockwise");
      return std::nullopt;
    }
    Corners corners;
    for (std::size_t i = 0; i < 4; ++i) {
      const auto xy = Numbers(list->items[i], "a corner", 2);
      if (xy.empty()) return std::nullopt;
      corners[i] = {xy[0], xy[1]};
    }
    if (!IsClockwise(corners)) {
      r.Complain("corners", "corners that go not once around the page",
                 "write upper left, upper right, lower right, lower left");
      return std::nullopt;
    }
    return corners;
  }
  // Each corner turns to the right (x rightwards, y downwards).
  static bool IsClockwise(const Corners& c) {
    for (std::size_t i = 0; i < 4; ++i) {
      const PagePoint &a = c[i], &b = c[(i + 1) % 4], &d = c[(i + 2) % 4];
      if ((b.x - a.x) * (d.y - b.y) - (b.y - a.y) * (d.x - b.x) < 1) return false;
    }
    return true;
  }

  std::optional<Box> BoxOf(Reader& r, const char* key, const MarkedPage& page) {
    const Node* list = r.Find(key);
    if (list == nullptr) return std::nullopt;
    const auto n = Numbers(*list, fmt::format("'{}'", key), 4);
    if (n.empty()) return std::nullopt;
    const bool is_on_page = n[0] >= 0 && n[1] >= 0 && n[2] > 0 && n[3] > 0 &&
                            n[0] + n[2] <= page.width && n[1] + n[3] <= page.height;
    if (is_on_page) return Box{n[0], n[1], n[2], n[3]};
    r.Complain(key, fmt::format("'{}' that is not on the page", key),
               fmt::format("the page is {:g} wide and {:g} high", page.width, page.height));
    return std::nullopt;
  }

  MarkedPage Page(const Node& node, int number) {
    MarkedPage page;
    Reader r(problems_, node, fmt::format("page {}", number));
    if (r.Require("size", "size: [390, 614]")) {
      const auto size = Numbers(*r.Find("size"), "'size'", 2);
      if (size.empty()) return page;
      page.width = size[0];
      page.height = size[1];
    }
    page.corners = CornersOf(r);
    r.GetText("dark", &page.dark);
    r.Require("readouts", "readouts: {coolant: {text: [18, 69, 129, 46]}}");
    EachNamed(problems_, r.Find("readouts"), "'readouts'",
              [&](const std::string& name, const Place& place, const Node& field) {
                Field(name, place, field, page);
              });
    return page;
  }

  void Field(const std::string& name, const Place& place, const Node& node, MarkedPage& page) {
    const auto readout = std::ranges::find(readouts_, name, &profile::Readout::name);
    if (readout == readouts_.end()) {
      problems_.Add(place, fmt::format("there is no readout '{}'", name),
                    "name one that the bench says must be shown");
    }
    Reader r(problems_, node, fmt::format("readout '{}'", name));
    MarkedField field;
    r.Require("text", "text: [18, 69, 129, 46]");
    if (const auto text = BoxOf(r, "text", page)) field.text = *text;
    field.lamp = BoxOf(r, "lamp", page);
    const bool must = readout != readouts_.end() && !readout->lamp.empty();
    if (must && !r.Has("lamp")) {
      r.Complain("text", fmt::format("a lamp, {}, and no mark of it", readout->lamp),
                 "lamp: [left, top, width, height]");
    }
    if (must && page.dark.empty()) {
      r.Complain("lamp", "a lamp, and its page no picture with it dark",
                 "dark: FILE, beside the page's size");
    }
    page.readouts[name] = field;
  }

  yaml::Problems& problems_;
  std::vector<profile::Readout> readouts_;
};

std::string BoxText(const Box& box) {
  return fmt::format("[{:g}, {:g}, {:g}, {:g}]", box.left, box.top, box.width, box.height);
}

}  // namespace

ReadMarks LoadMarks(const std::string& path, const profile::Bench& bench) {
  ReadMarks out;
  yaml::Problems problems;
  yaml::Files files(problems, kBegin);
  const auto top = files.ReadProfile(path, {path, 0, 0});
  if (top && problems.size() == 0) out.marks = Loader(problems, bench).Load(*top);
  out.problems = problems.Sorted(files.names());
  if (!out.problems.empty()) out.marks.reset();
  return out;
}

std::string MarksText(const std::vector<DrawnPage>& pages, double scale) {
  std::string text = std::string(kMarksTitle) + "\nkind: marks\nformat: 1\npages:\n";
  for (const DrawnPage& page : pages) {
    const double right = page.sheet.width_px * scale, bottom = page.sheet.height_px * scale;
    text += fmt::format(
        "  {}:\n    size: [{:g}, {:g}]\n    corners: [[0, 0], [{:g}, 0], [{:g}, {:g}], [0, {:g}]]\n"
        "    dark: {}\n    readouts:\n",
        page.number, page.sheet.width_px, page.sheet.height_px, right, right, bottom, bottom,
        page.dark);
    for (const FieldPlace& place : page.sheet.places) {
      text += fmt::format("      {}: {{text: {}", place.readout, BoxText(place.text));
      if (place.lamp.width > 0) text += ", lamp: " + BoxText(place.lamp);
      text += "}\n";
    }
  }
  return text;
}

}  // namespace drycrank::picture
