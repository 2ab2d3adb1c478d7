// SPDX-License-Identifier: Apache-2.0
#include "capture/csv_trace.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "capture/byte_file.h"
#include "capture/csv_clock.h"
#include "capture/csv_shape.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::capture {
namespace {

constexpr std::size_t kLinesLookedAt = 300;
constexpr const char* kMark = "\xEF\xBB\xBF";  // byte order mark of UTF-8
constexpr double kFarthestNs = 1e19;           // 300 years: seconds since 1970 are times, too

constexpr double kChangesEachRow = 0.6;  // of the rows: they stand where something changes

std::string Lower(std::string_view text) {
  std::string lower(text);
  std::ranges::transform(lower, lower.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  });
  return lower;
}

class CsvTrace : public Trace {
 public:
  CsvTrace(const std::string& path, const TraceHints& hints) : file_(path), hints_(hints) {
    path_ = path;
    info_.format = "CSV";
  }

  bool Open() {
    const std::vector<std::string> lines = FirstLines();
    if (problem_) return false;
    if (std::ranges::any_of(lines, [](const std::string& l) { return l.find('\0') != l.npos; })) {
      return Refuse(0, "bytes of 0 in what should be text", "export it as text in ASCII or UTF-8");
    }
    const auto shape = ShapeOf(lines);
    if (!shape)
      return Refuse(0, "no two lines of numbers",
                    "CSV: a time and a value per channel in each line");
    shape_ = *shape;
    if (!FindTime(lines) || !FindChannels()) return false;
    LookAhead(lines);
    return true;
  }

  // Opened anew where the numbers begin.
  bool Begin() {
    std::string_view line;
    for (; number_ < static_cast<int>(shape_.first_line) && file_.Line(line); ++number_) {
    }
    return true;
  }

  void TakeShape(const CsvTrace& other) {
    info_ = other.info_;
    shape_ = other.shape_;
    time_ = other.time_;
    ns_per_time_ = other.ns_per_time_;
    index_ = other.index_;
    clock_ = other.clock_;
  }

  bool Next(TraceBlock& block) override {
    block.Clear();
    std::string_view line;
    while (block.t_ns.size() < kRowsPerBlock) {
      begin_ = file_.offset();
      if (!file_.Line(line)) break;
      ++number_;
      if (line.empty() || line.front() == '#') continue;
      if (!Row(line, block)) return false;
    }
    if (file_.too_long()) return RefuseHere("a line of more than 64 KiB", "is this a CSV file?");
    if (block.t_ns.empty() && rows_ == 0) return RefuseHere("no samples", kAgain);
    return !block.t_ns.empty();
  }

 private:
  static constexpr const char* kAgain = "export it again";

  bool RefuseHere(const std::string& what, const std::string& remedy) {
    return RefuseLine(number_, begin_, what, remedy);
  }

  std::vector<std::string> FirstLines() {
    std::vector<std::string> lines;
    std::string_view line;
    while (lines.size() < kLinesLookedAt && file_.Line(line)) {
      if (lines.empty() && line.starts_with(kMark)) line.remove_prefix(3);
      lines.emplace_back(line);
    }
    if (file_.too_long())
      Refuse(file_.offset(), "a line of more than 64 KiB", "is this a CSV file?");
    if (lines.empty() && !problem_) Refuse(0, "the file is empty", kAgain);
    return lines;
  }

  std::vector<std::optional<double>> Column(const std::vector<std::string>& lines,
                                            std::size_t column) const {
    std::vector<std::optional<double>> values;
    std::vector<std::string_view> fields;
    for (std::size_t i = shape_.first_line; i < lines.size(); ++i) {
      SplitFields(lines[i], shape_.separator, fields);
      if (column < fields.size()) values.push_back(NumberOf(fields[column], shape_.decimal));
    }
    return values;
  }

  bool Ascends(const std::vector<std::string>& lines, std::size_t column) const {
    const auto values = Column(lines, column);
    for (std::size_t i = 1; i < values.size(); ++i) {
      if (!values[i] || !values[i - 1] || *values[i] < *values[i - 1]) return false;
    }
    return values.size() > 1 && values.back() > values.front();
  }

  // By name or unit, or the first column when it rises from line to line; a rate that is given
  // needs none.
  bool FindTime(const std::vector<std::string>& lines) {
    for (std::size_t c = 0; c < shape_.names.size() && time_ < 0; ++c) {
      const std::string name = Lower(shape_.names[c]);
      const bool is_named = hints_.time_column.empty()
                                ? name.starts_with("time") || name == "t" || name == "t_s" ||
                                      NsPer(shape_.units[c]) > 0
                                : shape_.names[c] == hints_.time_column;
      if (is_named) time_ = static_cast<int>(c);
    }
    if (time_ < 0 && !hints_.time_column.empty()) {
      return Refuse(0, fmt::format("no column '{}'", OneLine(hints_.time_column)),
                    fmt::format("its columns: {}",
                                OneLine(fmt::format("{}", fmt::join(shape_.names, ", ")))));
    }
    FindIndex(lines);
    const bool first_may_be = shape_.names.size() > 1 && index_ != 0;
    if (time_ < 0 && hints_.rate_hz == 0 && first_may_be && Ascends(lines, 0)) time_ = 0;
    if (time_ < 0 && hints_.rate_hz == 0) {
      return Refuse(0, "no column of times",
                    "say the sample rate (--sample-rate, or sample_rate_hz of the map)");
    }
    if (time_ < 0) {
      info_.rate_hz = hints_.rate_hz;
      return true;
    }
    const std::string& unit = shape_.units[AsSize(time_)];
    ns_per_time_ = unit.empty() ? UnitOfName() : NsPer(unit);
    return ns_per_time_ > 0 ||
           Refuse(0, fmt::format("times in '{}'", OneLine(unit)), "s, ms, us or ns");
  }

  // Rows that are numbered: by the column's name, and each number one step above the one before.
  void FindIndex(const std::vector<std::string>& lines) {
    static constexpr std::array<std::string_view, 10> kNames = {
        "index", "sample", "samples", "n", "no", "nr", "#", "row", "point", "number"};
    for (std::size_t c = 0; c < shape_.names.size() && index_ < 0; ++c) {
      if (std::ranges::find(kNames, Lower(shape_.names[c])) == kNames.end()) continue;
      if (Ascends(lines, c) && static_cast<int>(c) != time_) index_ = static_cast<int>(c);
    }
  }

  // "time_ms"
  double UnitOfName() const {
    const std::string& name = shape_.names[AsSize(time_)];
    const auto bar = name.find_last_of("_ ");
    const double ns = bar == std::string::npos ? 0 : NsPer(std::string_view(name).substr(bar + 1));
    return ns > 0 ? ns : 1e9;
  }

  bool FindChannels() {
    for (std::size_t c = 0; c < shape_.names.size(); ++c) {
      if (static_cast<int>(c) == time_) continue;
      const std::string name =
          shape_.names[c].empty() ? fmt::format("{}", info_.channels.size() + 1) : shape_.names[c];
      info_.channels.push_back({OneLine(name), false, shape_.units[c]});
    }
    if (info_.channels.empty()) return Refuse(0, "times, and no channel beside them", kAgain);
    if (info_.channels.size() <= kMostChannels) return true;
    return Refuse(0, fmt::format("{} columns", info_.channels.size()),
                  fmt::format("{} at most", kMostChannels));
  }

  // Logic channels, and whether rows stand at changes alone, as far as the first lines show it.
  void LookAhead(const std::vector<std::string>& lines) {
    std::size_t channel = 0;
    bool all_digital = true;
    for (std::size_t c = 0; c < shape_.names.size(); ++c) {
      if (static_cast<int>(c) == time_) continue;
      const auto values = Column(lines, c);
      const bool digital =
          std::ranges::all_of(values, [](const auto& v) { return v && (*v == 0 || *v == 1); });
      info_.channels[channel++].digital = digital;
      all_digital = all_digital && (digital || static_cast<int>(c) == index_);
    }
    TakeClock(lines, all_digital);
  }

  void TakeClock(const std::vector<std::string>& lines, bool all_digital) {
    if (index_ >= 0) clock_.index_step = StepOf(Column(lines, AsSize(index_)));
    if (time_ < 0) return;
    const auto times = Column(lines, AsSize(time_));
    clock_ = ClockOf(times, ns_per_time_, clock_.index_step);
    const bool is_clocked =
        clock_.is_even || (clock_.ticks() && ShareChanged(lines) < kChangesEachRow);
    info_.by_change = all_digital && !is_clocked;
    info_.uneven = !info_.by_change && !clock_.ticks();
    if (info_.by_change) clock_.farthest_ns = 0;
  }

  // Of the rows, those that differ from the one before in more than time and number.
  double ShareChanged(const std::vector<std::string>& lines) const {
    std::vector<bool> changed(lines.size(), false);
    for (std::size_t c = 0; c < shape_.names.size(); ++c) {
      if (static_cast<int>(c) == time_ || static_cast<int>(c) == index_) continue;
      const auto values = Column(lines, c);
      for (std::size_t i = 1; i < values.size(); ++i)
        changed[i] = changed[i] || values[i] != values[i - 1];
    }
    return static_cast<double>(std::ranges::count(changed, true)) /
           static_cast<double>(std::max<std::size_t>(lines.size() - shape_.first_line, 1));
  }

  bool Row(std::string_view line, TraceBlock& block) {
    SplitFields(line, shape_.separator, fields_);
    const std::size_t columns = shape_.names.size();
    if (fields_.size() == columns + 1 && fields_.back().empty()) fields_.pop_back();
    if (fields_.size() != columns) {
      return RefuseHere(fmt::format("{} fields", fields_.size()),
                        fmt::format("{} as in the lines before", columns));
    }
    double t_ns = 0, index = 0;
    row_.clear();
    for (std::size_t c = 0; c < columns; ++c) {
      const auto number = NumberOf(fields_[c], shape_.decimal);
      if (!number) {
        return RefuseHere(fmt::format("'{}' is no number", OneLine(fields_[c].substr(0, 40))),
                          "numbers alone below the head");
      }
      if (static_cast<int>(c) == index_) index = *number;
      if (static_cast<int>(c) != time_)
        row_.push_back(static_cast<float>(*number));
      else
        t_ns = *number * ns_per_time_;
    }
    if (clock_.ticks()) digits_.Add(fields_[AsSize(time_)], shape_.decimal);
    if (IsRepeated(t_ns)) return LeaveOut(t_ns);
    const double skipped = SkippedBy(index);
    if (time_ < 0) {
      ticks_ += rows_ > 0 ? 1 + skipped : 0;
      t_ns = ticks_ * 1e9 / std::max(info_.rate_hz, 1e-9);
    }
    if (!IsInOrder(t_ns)) return false;
    if (rows_ > 0) NoteHole(t_ns, skipped, block);
    last_ns_ = t_ns;
    ++rows_;
    block.t_ns.push_back(t_ns);
    block.values.insert(block.values.end(), row_.begin(), row_.end());
    return true;
  }

  // A clock ticks, and twice at this time, though it is written finely enough for the tick between:
  // to less than half of one. Where it is not, times that are rounded stand still.
  bool IsRepeated(double t_ns) const {
    if (rows_ == 0 || t_ns != last_ns_ || !clock_.ticks()) return false;
    return digits_.RoundedTo(t_ns / ns_per_time_) * ns_per_time_ < clock_.step_ns / 2;
  }

  bool LeaveOut(double t_ns) {
    if (repeats_.count++ == 0) repeats_ = {number_, t_ns, 1};
    return true;
  }

  // Rows that are missing before this one, by their numbers.
  double SkippedBy(double index) {
    const double step = index - last_index_;
    last_index_ = index;
    if (index_ < 0 || rows_ == 0 || clock_.index_step <= 0 || step <= 0) return 0;
    return std::max(0.0, std::round(step / clock_.index_step) - 1);
  }

  void NoteHole(double t_ns, double skipped, TraceBlock& block) {
    const double far_ns = t_ns - last_ns_;
    const bool is_far = clock_.farthest_ns > 0 && far_ns > clock_.farthest_ns;
    if (!is_far && skipped <= 0) return;
    const double by_time = is_far ? std::max(1.0, std::round(far_ns / clock_.step_ns) - 1) : 0;
    AddHole({number_, last_ns_, t_ns, skipped > 0 ? skipped : by_time});
    block.t_ns.push_back(last_ns_ + far_ns / 2);
    block.values.insert(block.values.end(), row_.size(), std::numeric_limits<float>::quiet_NaN());
  }

  bool IsInOrder(double t_ns) {
    if (std::abs(t_ns) > kFarthestNs)
      return RefuseHere(fmt::format("a time of {:.9g} s", t_ns * 1e-9),
                        "check the unit of the times");
    if (rows_ == 0) first_ns_ = t_ns;
    if (rows_ > 0 && t_ns < last_ns_) {
      return RefuseHere(
          fmt::format("time goes back from {:.9g} s to {:.9g} s", last_ns_ * 1e-9, t_ns * 1e-9),
          "times in order");
    }
    if (t_ns - first_ns_ > 9e15)
      return RefuseHere("a time that is 100 days on", "check the unit of the times");
    return true;
  }

  ByteFile file_;
  TraceHints hints_;
  CsvShape shape_;
  int time_ = -1;   // column; -1: by the rate
  int index_ = -1;  // column in which rows are numbered
  CsvClock clock_;
  TimeDigits digits_;
  double ns_per_time_ = 0;
  std::vector<std::string_view> fields_;
  std::vector<float> row_;
  double last_index_ = 0, ticks_ = 0;
  int number_ = 0;
  std::uint64_t begin_ = 0, rows_ = 0;
  double first_ns_ = 0, last_ns_ = 0;
};

}  // namespace

OpenedTrace OpenCsv(const std::string& path, const TraceHints& hints) {
  CsvTrace look(path, hints);
  if (!look.Open()) return {nullptr, look.problem()};
  auto trace = std::make_unique<CsvTrace>(path, hints);
  trace->TakeShape(look);
  trace->Begin();
  return {std::move(trace), {}};
}

}  // namespace drycrank::capture
