// SPDX-License-Identifier: Apache-2.0
#include "io/disk_room.h"

#include <fmt/format.h>
#include <sys/statvfs.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <utility>

namespace drycrank::io {
namespace fs = std::filesystem;
namespace {

constexpr std::chrono::seconds kLookEvery(1);
constexpr std::chrono::seconds kRateOver(60);
constexpr std::chrono::seconds kRateAfter(3);
constexpr std::uint64_t kFewBytes = 100'000'000;
constexpr double kShortHours = 0.25;

std::uint64_t SizeOf(const fs::path& folder, const std::string& prefix) {
  std::uint64_t bytes = 0;
  std::error_code gone;  // files come and go meanwhile
  for (fs::directory_iterator entry(folder, gone), end; !gone && entry != end;
       entry.increment(gone)) {
    if (!entry->path().filename().string().starts_with(prefix)) continue;
    std::error_code none;
    const auto size = entry->is_regular_file(none) ? entry->file_size(none) : 0;
    if (!none) bytes += size;
  }
  return bytes;
}

fs::path FolderOf(const fs::path& place) {
  std::error_code none;
  if (fs::is_directory(place, none)) return place;
  return place.has_parent_path() ? place.parent_path() : fs::path(".");
}

}  // namespace

bool DiskRoomFacts::IsLow() const {
  return left_bytes < kFewBytes ||
         static_cast<double>(left_bytes) < kShortHours * static_cast<double>(bytes_per_hour);
}

std::string SizeInWords(std::uint64_t bytes) {
  constexpr std::array<const char*, 5> kUnits = {"B", "kB", "MB", "GB", "TB"};
  auto size = static_cast<double>(bytes);
  std::size_t unit = 0;
  while (size >= 1000 && unit + 1 < kUnits.size()) {
    size /= 1000;
    ++unit;
  }
  return fmt::format("{:.{}f} {}", size, unit > 0 && size < 100 ? 1 : 0, kUnits[unit]);
}

std::string DiskRoomFacts::Words() const {
  std::string words = SizeInWords(left_bytes) + " left";
  if (bytes_per_hour == 0) return words;
  const double hours = static_cast<double>(left_bytes) / static_cast<double>(bytes_per_hour);
  words += fmt::format(", at {} an hour that is ", SizeInWords(bytes_per_hour));
  if (hours > 100) return words + fmt::format("{:.0f} days", hours / 24);
  return words + (hours > 2 ? fmt::format("{:.0f} hours", hours)
                            : fmt::format("{:.0f} minutes", hours * 60));
}

DiskRoom::DiskRoom(std::vector<std::string> places) : places_(std::move(places)) {
  Look();
  background_.emplace(std::vector<Backlog*>{this}, kLookEvery);
}

DiskRoomFacts DiskRoom::facts() const {
  return {bytes_.load(), bytes_per_hour_.load(), left_bytes_.load()};
}

bool DiskRoom::WriteWaiting() {
  Look();
  return false;  // and then it waits
}

void DiskRoom::Look() {
  std::uint64_t bytes = 0, left = ~std::uint64_t{0};
  for (const std::string& place : places_) {
    const fs::path folder = FolderOf(place);
    bytes += SizeOf(folder, folder == fs::path(place) ? "" : fs::path(place).stem().string());
    struct statvfs disk {};
    if (::statvfs(folder.c_str(), &disk) == 0) left = std::min(left, disk.f_bavail * disk.f_frsize);
  }
  const Clock::time_point now = Clock::now();
  samples_.push_back({now, bytes});
  while (now - samples_.front().at > kRateOver) samples_.pop_front();
  const Sample& first = samples_.front();
  const std::chrono::duration<double> over = now - first.at;
  // Files that were taken away make it no negative rate.
  const double grown = bytes > first.bytes ? static_cast<double>(bytes - first.bytes) : 0;
  const double per_hour = over < kRateAfter ? 0 : 3600 * grown / over.count();
  bytes_ = bytes;
  bytes_per_hour_ = static_cast<std::uint64_t>(per_hour);
  left_bytes_ = left;
}

}  // namespace drycrank::io
