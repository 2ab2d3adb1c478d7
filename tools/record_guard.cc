// SPDX-License-Identifier: Apache-2.0
#include "tools/record_guard.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kLookEveryNs = kNsPerS / 2;
constexpr double kLeastBytes = 1000, kMostBytes = 1e18;

// Decimal, as SizeInWords writes them; KiB and so on are those of 1024.
constexpr std::pair<const char*, double> kUnits[] = {{"", 1},
                                                     {"b", 1},
                                                     {"kb", 1e3},
                                                     {"mb", 1e6},
                                                     {"gb", 1e9},
                                                     {"tb", 1e12},
                                                     {"kib", 1024.0},
                                                     {"mib", 1048576.0},
                                                     {"gib", 1073741824.0},
                                                     {"tib", 1099511627776.0}};

// "2 GB" to its bytes, as text; what is wrong with it otherwise.
std::string ReadSize(std::string& text) {
  const auto wrong = [&](const char* what) {
    return fmt::format("'{}' {}; write a size as 2GB or 500MB, at least 1kB", OneLine(text), what);
  };
  const auto number = ParseNumberWithUnit(text);
  if (!number || !std::isfinite(number->value)) return wrong("is no size");
  std::string unit = number->unit;
  for (char& c : unit) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  const auto* known =
      std::ranges::find(kUnits, unit, [](const auto& u) { return std::string(u.first); });
  if (known == std::end(kUnits)) return wrong("has no unit that is known");
  const double bytes = number->value * known->second;
  if (!(bytes >= kLeastBytes)) return wrong("holds no record");
  if (bytes > kMostBytes) return wrong("is more than any disk holds");
  text = fmt::format("{:.0f}", bytes);
  return "";
}

}  // namespace

void AddOutMost(CLI::App& app, std::uint64_t& most_bytes) {
  app.add_option(
         "--out-most", most_bytes,
         "Where the record in --out ends, whole and with this reason, though the run goes on: "
         "2GB, 500MB")
      ->transform(CLI::Validator(ReadSize, ""))
      ->type_name("SIZE");
}

RecordGuard::RecordGuard(std::string folder, std::string path, std::uint64_t most_bytes, Say say)
    : most_bytes_(most_bytes), say_(std::move(say)) {
  std::vector<std::string> places;
  if (!folder.empty()) places.push_back(std::move(folder));
  if (!path.empty()) places.push_back(std::move(path));
  if (!places.empty()) room_.emplace(std::move(places));
}

std::string RecordGuard::trouble() const {
  std::string trouble = record_ != nullptr ? record_->trouble() : "";
  if (trouble.empty() && recorder_ != nullptr) trouble = recorder_->trouble();
  return trouble;
}

std::optional<io::DiskRoomFacts> RecordGuard::room() const {
  if (!room_) return std::nullopt;
  return room_->facts();
}

void RecordGuard::OnSample(TimeNs t_ns) {
  if (!room_ || t_ns < next_ns_) return;
  next_ns_ = t_ns + kLookEveryNs;
  Look(t_ns);
}

void RecordGuard::Once(bool holds, bool& said, const std::string& text, TimeNs t_ns) {
  if (holds && !said) say_(text, t_ns);
  said = said || holds;
}

void RecordGuard::Look(TimeNs t_ns) {
  const std::string trouble = this->trouble();
  Once(!trouble.empty(), said_trouble_, "not recorded any more: " + trouble, t_ns);
  const io::DiskRoomFacts facts = room_->facts();
  Once(facts.IsLow(), said_low_, "the disk is nearly full: " + facts.Words(), t_ns);
  if (most_bytes_ == 0 || record_ == nullptr || !why_ended_.empty()) return;
  if (record_->bytes() < most_bytes_) return;  // the disk is asked once a second alone
  why_ended_ = "the record has reached " + io::SizeInWords(most_bytes_) + " (--out-most)";
  record_->EndEarly(why_ended_);
  say_(why_ended_ + " and ends here; the run goes on", t_ns);
}

}  // namespace drycrank::tools
