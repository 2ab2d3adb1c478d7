// SPDX-License-Identifier: Apache-2.0
#include "tools/record_guard.h"

#include <utility>
#include <vector>

namespace drycrank::tools {
namespace {

constexpr TimeNs kLookEveryNs = kNsPerS / 2;

}  // namespace

void AddOutMost(CLI::App& app, std::uint64_t& most_bytes) {
  app.add_option(
         "--out-most", most_bytes,
         "Where the record in --out ends, whole and with this reason, though the run goes on: "
         "2GB, 500MB")
      ->transform(CLI::AsSizeValue(true))
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
