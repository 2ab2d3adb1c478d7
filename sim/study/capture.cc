// SPDX-License-Identifier: Apache-2.0
#include "study/capture.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <set>
#include <string_view>

#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr int kFewestPulses = 2;
constexpr std::size_t kOneIn = 10, kOrderShown = 8;
constexpr std::size_t kMostProblems = 20;

struct Track {
  int output = -1;
  int level = -1;  // not known yet
  int changes = 0, falls = 0;
};

std::vector<std::string_view> Split(std::string_view line) {
  std::vector<std::string_view> fields;
  for (;;) {
    const auto comma = line.find(',');
    std::string_view field = line.substr(0, comma);
    while (!field.empty() && (field.front() == ' ' || field.front() == '"')) field.remove_prefix(1);
    while (!field.empty() && (field.back() == ' ' || field.back() == '"' || field.back() == '\r')) {
      field.remove_suffix(1);
    }
    fields.push_back(field);
    if (comma == std::string_view::npos) return fields;
    line.remove_prefix(comma + 1);
  }
}

bool IsPulsed(const profile::ControllerOutput& output) {
  return output.kind == profile::OutputKind::kIgnition ||
         output.kind == profile::OutputKind::kInjector;
}

class Reader {
 public:
  Reader(const profile::Bench& bench, const std::string& path) : bench_(bench), path_(path) {}

  Capture Read() {
    std::ifstream file(path_);
    if (!file) Add(0, "cannot be read", "give a CSV file");
    std::string line;
    for (int number = 1; std::getline(file, line); ++number) {
      if (line.empty() || line == "\r" || line.front() == '#') continue;
      if (tracks_.empty()) {
        if (!Header(number, Split(line))) break;
      } else {
        Row(number, Split(line));
      }
      if (out_.problems.size() >= kMostProblems) break;
    }
    if (out_.problems.empty() && rows_ == 0) Add(0, "no lines with levels", "export it again");
    if (out_.problems.empty()) Judge();
    return std::move(out_);
  }

 private:
  const std::vector<profile::ControllerOutput>& outputs() const {
    return bench_.controller->outputs;
  }
  const profile::ControllerOutput& OutputOf(const Track& track) const {
    return Nth(outputs(), track.output);
  }

  void Add(int line, const std::string& what, const std::string& remedy) {
    out_.problems.push_back({{path_, line, line == 0 ? 0 : 1}, what, remedy});
  }

  bool Header(int number, const std::vector<std::string_view>& fields) {
    std::vector<std::string> known;
    for (const auto& output : outputs()) known.push_back(output.name);
    if (fields.size() < 2 || fields[0] != "time_s") {
      Add(number, "the first line does not name the columns",
          fmt::format("begin with time_s and outputs: {}", fmt::join(known, ", ")));
      return false;
    }
    std::set<int> seen;
    for (std::size_t i = 1; i < fields.size(); ++i) {
      Track track;
      track.output = profile::IndexOf(outputs(), fields[i]);
      if (track.output < 0) {
        Add(number, fmt::format("there is no output '{}'", fields[i]),
            fmt::format("known: {}", fmt::join(known, ", ")));
      } else if (!seen.insert(track.output).second) {
        Add(number, fmt::format("output '{}' is there twice", fields[i]), "keep one");
      }
      tracks_.push_back(track);
    }
    return out_.problems.empty();
  }

  void Row(int number, const std::vector<std::string_view>& fields) {
    ++rows_;
    if (fields.size() != tracks_.size() + 1) {
      Add(number, fmt::format("{} fields", fields.size()),
          fmt::format("{} as in the first line", tracks_.size() + 1));
      return;
    }
    double t_s = 0;
    const auto [end, error] =
        std::from_chars(fields[0].data(), fields[0].data() + fields[0].size(), t_s);
    if (error != std::errc() || end != fields[0].data() + fields[0].size() ||
        (rows_ > 1 && t_s < last_s_)) {
      Add(number, fmt::format("'{}' is not a time after the last one", fields[0]),
          "seconds, ascending, with decimal points");
      return;
    }
    last_s_ = t_s;
    for (std::size_t i = 0; i < tracks_.size(); ++i) {
      if (fields[i + 1] != "0" && fields[i + 1] != "1") {
        Add(number, fmt::format("'{}' is not a level", fields[i + 1]), "0 or 1");
        return;
      }
      Take(tracks_[i], fields[i + 1] == "1" ? 1 : 0);
    }
  }

  void Take(Track& track, int level) {
    if (track.level >= 0 && level != track.level) {
      ++track.changes;
      if (level == 0) {
        ++track.falls;
        const profile::ControllerOutput& output = OutputOf(track);
        if (IsPulsed(output) && output.cylinder > 0) {
          order_[output.kind == profile::OutputKind::kInjector].push_back(output.cylinder);
        }
      }
    }
    track.level = level;
  }

  // Of the cylinders seen, each falls where the firing order has it, but for one in ten: an engine
  // that stops and starts anew begins anywhere. Empty, or the order seen.
  std::string OutOfOrder(bool injectors) const {
    const std::vector<int>& seen = order_[injectors];
    const std::set<int> cylinders(seen.begin(), seen.end());
    std::vector<int> due;
    for (const int cylinder : bench_.engine.firing_order) {
      if (cylinders.contains(cylinder)) due.push_back(cylinder);
    }
    if (due.size() < 2) return "";
    std::size_t wrong = 0, first = 0;
    for (std::size_t i = 1; i < seen.size(); ++i) {
      const auto at = std::find(due.begin(), due.end(), seen[i - 1]);
      if (at == due.end()) return "";  // a cylinder that the engine does not have
      const auto next = at + 1 == due.end() ? due.begin() : at + 1;
      if (*next != seen[i] && wrong++ == 0) first = i - 1;
    }
    if (wrong * kOneIn <= seen.size() - 1) return "";
    const std::vector<int> shown(
        seen.begin() + static_cast<std::ptrdiff_t>(first),
        seen.begin() + static_cast<std::ptrdiff_t>(std::min(seen.size(), first + kOrderShown)));
    return fmt::format("the order is {}, the firing order {}", fmt::join(shown, " "),
                       fmt::join(due, " "));
  }

  void Judge() {
    const std::string wrong[2] = {OutOfOrder(false), OutOfOrder(true)};
    for (const Track& track : tracks_) {
      const profile::ControllerOutput& output = OutputOf(track);
      Seen seen;
      seen.output = track.output;
      if (!IsPulsed(output)) {
        seen.acts = track.changes > 0;
        seen.detail = fmt::format("{} changes of level", track.changes);
      } else {
        const std::string& order = wrong[output.kind == profile::OutputKind::kInjector];
        seen.acts = track.falls >= kFewestPulses && (output.cylinder == 0 || order.empty());
        seen.detail = fmt::format("{} pulses", track.falls);
        if (track.falls >= kFewestPulses && output.cylinder > 0 && !order.empty()) {
          seen.detail += "; " + order;
        }
      }
      out_.seen.push_back(std::move(seen));
    }
  }

  const profile::Bench& bench_;
  const std::string& path_;
  Capture out_;
  std::vector<Track> tracks_;
  std::vector<int> order_[2];  // cylinders as they fell: coils, injectors
  std::size_t rows_ = 0;
  double last_s_ = 0;
};

}  // namespace

Capture ReadCapture(const profile::Bench& bench, const std::string& path) {
  return Reader(bench, path).Read();
}

}  // namespace drycrank::study
