// SPDX-License-Identifier: Apache-2.0
#include "capture/vcd_trace.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <limits>
#include <string_view>
#include <unordered_map>

#include "capture/byte_file.h"

namespace drycrank::capture {
namespace {

constexpr float kNotKnown = std::numeric_limits<float>::quiet_NaN();

template <class Number>
bool Parse(std::string_view text, Number* out) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), *out);
  return error == std::errc() && end == text.data() + text.size();
}

class VcdTrace : public Trace {
 public:
  explicit VcdTrace(const std::string& path) : file_(path) {
    path_ = path;
    info_.format = "VCD";
    info_.by_change = true;
  }

  bool Open() {
    std::string_view word;
    while (Word(word)) {
      if (word == "$enddefinitions") return SkipToEnd() && HasChannels();
      if (!Section(word)) return false;
    }
    return Refuse(file_.offset(), "the file ends within its definitions", kAgain);
  }

  bool Next(TraceBlock& block) override {
    block.Clear();
    std::string_view word;
    while (block.t_ns.size() < kRowsPerBlock && Word(word)) {
      if (!Change(word, block)) return false;
    }
    const bool is_end = block.t_ns.size() < kRowsPerBlock && !problem_;
    if (is_end && file_.ends_in_line()) return RefuseCut();
    if (is_end) EndRow(block);
    return !problem_ && !block.t_ns.empty();
  }

 private:
  static constexpr const char* kAgain = "export it again";
  static constexpr std::uint64_t kLatest = 1ULL << 53;
  static constexpr double kLongestTick = 1000;  // of its unit; 1, 10 or 100 by the standard

  // False at the end.
  bool Word(std::string_view& word) {
    for (;;) {
      const auto begin = line_.find_first_not_of(" \t\r\v\f");
      if (begin != std::string_view::npos) {
        const auto end = std::min(line_.find_first_of(" \t\r\v\f", begin), line_.size());
        word = line_.substr(begin, end - begin);
        line_.remove_prefix(end);
        return true;
      }
      line_begin_ = file_.offset();
      ++line_number_;
      if (file_.Line(line_)) continue;
      line_ = {};
      if (file_.too_long()) RefuseHere("a line of more than 64 KiB", "is this a VCD file?");
      return false;
    }
  }

  bool RefuseHere(const std::string& what, const std::string& remedy) {
    return RefuseLine(line_number_, line_begin_, what, remedy);
  }

  // Digits of a time or of a code may be gone, and all that came later.
  bool RefuseCut() {
    line_number_ = std::max(line_number_ - 1, 1);
    return RefuseHere("the file ends in a line, without a line feed: it was cut off", kAgain);
  }

  bool SkipToEnd() {
    std::string_view word;
    while (Word(word)) {
      if (word == "$end") return true;
    }
    return problem_ ? false : RefuseHere("'$end' is missing", kAgain);
  }

  bool Section(std::string_view word) {
    if (word == "$timescale") return Timescale();
    if (word == "$var") return Variable();
    if (word == "$scope") return Scope();
    if (word == "$upscope" && !scopes_.empty()) scopes_.pop_back();
    if (word.front() == '$') return SkipToEnd();
    return RefuseHere(fmt::format("'{}' where a section begins with $", Shown(word)), kAgain);
  }

  // What may be a stranger's bytes, short and printable.
  static std::string Shown(std::string_view word) {
    std::string shown;
    for (const char c : word.substr(0, 24)) shown += c > ' ' && c < 127 ? c : '?';
    return shown;
  }

  bool Timescale() {
    std::string text;
    std::string_view word;
    while (Word(word) && word != "$end") text += word;
    const auto digits = text.find_first_not_of("0123456789");
    const std::string_view unit =
        digits == std::string::npos ? "" : std::string_view(text).substr(digits);
    static constexpr std::pair<std::string_view, double> kUnits[] = {
        {"s", 1e9}, {"ms", 1e6}, {"us", 1e3}, {"ns", 1}, {"ps", 1e-3}, {"fs", 1e-6}};
    double number = 0;
    for (const auto& [name, ns] : kUnits) {
      if (unit == name && Parse(std::string_view(text).substr(0, digits), &number) &&
          number <= kLongestTick)
        tick_ns_ = number * ns;
    }
    return tick_ns_ > 0 || RefuseHere(fmt::format("a time scale of '{}'", Shown(text)), "as 1 ns");
  }

  bool Scope() {
    std::string_view word;
    std::string last;
    while (Word(word) && word != "$end") last = word;
    scopes_.push_back(last);
    return scopes_.size() < 64 || RefuseHere("scopes in each other, 64 deep", kAgain);
  }

  bool Variable() {
    std::vector<std::string> words;
    std::string_view word;
    while (Word(word) && word != "$end" && words.size() < 8) words.emplace_back(word);
    int bits = 0;
    if (words.size() < 4 || !Parse<int>(words[1], &bits) || bits < 1) {
      return RefuseHere("a variable without kind, size, code and name",
                        "as $var wire 1 ! cam $end");
    }
    if (bits > 64 || words[0] == "string") {  // no number
      of_code_.try_emplace(words[2]);
      return true;
    }
    if (info_.channels.size() == kMostChannels) {
      return RefuseHere(fmt::format("more than {} variables", kMostChannels), "export fewer");
    }
    std::string name = words[3];
    for (const TraceChannel& other : info_.channels) {
      if (other.name == name && !scopes_.empty()) name = scopes_.back() + "." + name;
    }
    of_code_[words[2]].push_back(info_.channels.size());
    info_.channels.push_back({name, bits == 1 && words[0] != "real", ""});
    return true;
  }

  bool HasChannels() {
    levels_.assign(info_.channels.size(), kNotKnown);
    if (tick_ns_ == 0) tick_ns_ = 1;  // clause 18.2.3.8 has no default; a second would be none
    return !info_.channels.empty() || RefuseHere("no variables", "export at least one channel");
  }

  void EndRow(TraceBlock& block) {
    if (!has_changed_) return;
    block.t_ns.push_back(static_cast<double>(tick_) * tick_ns_);
    block.values.insert(block.values.end(), levels_.begin(), levels_.end());
    has_changed_ = false;
  }

  bool Change(std::string_view word, TraceBlock& block) {
    const char kind = word.front();
    if (kind == '#') return Time(word.substr(1), block);
    if (kind == '$') return word == "$end" || word.starts_with("$dump") || SkipToEnd();
    if (kind == 'b' || kind == 'B' || kind == 'r' || kind == 'R') return Number(word);
    if (std::string_view("01xXzZ").find(kind) == std::string_view::npos) {
      return RefuseHere(fmt::format("'{}' is no change of a value", Shown(word)), kAgain);
    }
    return Put(word.substr(1), kind == '0' ? 0 : kind == '1' ? 1 : kNotKnown);
  }

  bool Time(std::string_view digits, TraceBlock& block) {
    std::uint64_t tick = 0;
    if (!Parse(digits, &tick) || tick > kLatest) {
      return RefuseHere(fmt::format("a time of '#{}'", Shown(digits)), "a whole number");
    }
    if (tick < tick_) {
      return RefuseHere(fmt::format("time goes back from {} to {}", tick_, tick), kAgain);
    }
    if (tick > tick_) EndRow(block);
    tick_ = tick;
    has_changed_ = true;  // the last time of a file is its end
    return true;
  }

  bool Number(std::string_view word) {
    const std::string text(word.substr(1));
    const bool is_real = word.front() == 'r' || word.front() == 'R';
    std::string_view code;
    if (!Word(code)) return problem_ ? false : RefuseHere("a value of nothing", kAgain);
    double value = 0;
    if (is_real) {
      if (!Parse(std::string_view(text), &value)) {
        return RefuseHere(fmt::format("'{}' is no number", Shown(text)), kAgain);
      }
      return Put(code, static_cast<float>(value));
    }
    for (const char bit : text) {
      if (bit != '0' && bit != '1') return Put(code, kNotKnown);
      value = 2 * value + (bit - '0');
    }
    return Put(code, static_cast<float>(value));
  }

  bool Put(std::string_view code, float level) {
    const auto at = of_code_.find(std::string(code));
    if (at == of_code_.end()) {
      return RefuseHere(
          fmt::format("a value of '{}', which none of its variables is called by", Shown(code)),
          kAgain);
    }
    for (const std::size_t channel : at->second) levels_[channel] = level;
    has_changed_ = true;
    return true;
  }

  ByteFile file_;
  std::string_view line_;
  std::uint64_t line_begin_ = 0;
  int line_number_ = 0;
  std::vector<std::string> scopes_;
  std::unordered_map<std::string, std::vector<std::size_t>> of_code_;
  double tick_ns_ = 0;
  std::uint64_t tick_ = 0;
  std::vector<float> levels_;
  bool has_changed_ = false;
};

}  // namespace

OpenedTrace OpenVcd(const std::string& path) {
  auto trace = std::make_unique<VcdTrace>(path);
  if (!trace->Open()) return {nullptr, trace->problem()};
  return {std::move(trace), {}};
}

}  // namespace drycrank::capture
