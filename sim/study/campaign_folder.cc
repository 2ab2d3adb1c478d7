// SPDX-License-Identifier: Apache-2.0
#include "study/campaign_folder.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <span>

#include "io/whole_file.h"
#include "study/campaign_run.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

namespace fs = std::filesystem;

constexpr int kTableColumns = 100;

std::string Trouble(const std::string& path) {
  return fmt::format("write {}: {}", path, std::strerror(errno));
}

std::string Write(const fs::path& path, const std::string& text) {
  return io::WriteWholeFile(path.string(), text);
}

// But for what a process that was killed did not get ready.
bool IsEmpty(const fs::path& folder) {
  std::error_code error;
  return std::ranges::all_of(fs::directory_iterator(folder, error), [](const auto& entry) {
    return entry.path().filename().string().find(".being_made") != std::string::npos;
  });
}

std::string ReadAll(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// Whole lines only: the last one may have been cut while it was written.
std::vector<report::FaultResult> ReadLines(const fs::path& path, std::size_t* whole_bytes) {
  std::vector<report::FaultResult> results;
  const std::string text = ReadAll(path);
  std::size_t begin = 0;
  for (std::size_t end; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1) {
    report::FaultResult result;
    if (!report::ReadFaultLine(std::string_view(text).substr(begin, end - begin), result)) break;
    results.push_back(std::move(result));
  }
  *whole_bytes = begin;
  return results;
}

std::string WriteAll(const fs::path& folder, const report::Campaign& campaign) {
  std::string lines;
  for (const report::FaultResult& result : campaign.results) {
    lines += report::FaultLine(result) + "\n";
  }
  std::string problem = Write(folder / "faults.jsonl", lines);
  if (problem.empty()) problem = Write(folder / "summary.json", report::CampaignJson(campaign));
  if (problem.empty()) {
    problem = Write(folder / "table.txt", report::CampaignText(campaign, kTableColumns));
  }
  if (problem.empty()) problem = Write(folder / "report.html", report::CampaignHtml(campaign));
  return problem;
}

void Sort(std::vector<report::FaultResult>& results) {
  std::sort(results.begin(), results.end(),
            [](const auto& a, const auto& b) { return a.index < b.index; });
}

// Why two campaigns cannot be parts of one; empty when they can.
std::string Difference(const report::CampaignHead& a, const report::CampaignHead& b) {
  std::vector<std::string> differ;
  const auto compare = [&](const char* what, const auto& x, const auto& y) {
    if (x != y) differ.push_back(fmt::format("{} {}, not {}", what, x, y));
  };
  compare("bench", a.bench, b.bench);
  if (a.bench == b.bench && a.bench_hash != b.bench_hash) {
    differ.push_back(fmt::format("other contents of bench {}", a.bench));
  }
  compare("scenario", a.scenario, b.scenario);
  if (a.scenario == b.scenario && a.scenario_hash != b.scenario_hash) {
    differ.push_back(fmt::format("other contents of scenario {}", a.scenario));
  }
  compare("seed", a.seed, b.seed);
  compare("version", a.version, b.version);
  if (a.play_all != b.play_all) {
    differ.push_back(a.play_all ? "every fault played, not predicted"
                                : "faults predicted, not all played");
  }
  if (differ.empty()) compare("number of faults", a.faults, b.faults);
  return fmt::format("{}", fmt::join(differ, "; "));
}

std::string PartDifference(const report::CampaignHead& a, const report::CampaignHead& b) {
  if (a.part == b.part && a.parts == b.parts) return "";
  return fmt::format("shard {}/{}, not {}/{}", a.part, a.parts, b.part, b.parts);
}

}  // namespace

CampaignFolder::~CampaignFolder() {
  if (lines_ != nullptr) std::fclose(lines_);
}

std::string CampaignFolder::Open(const std::string& folder, const report::CampaignHead& head,
                                 bool overwrite) {
  folder_ = folder;
  head_ = head;
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return fmt::format("make folder {}: {}", folder, error.message());
  const fs::path head_file = fs::path(folder) / "campaign.json";
  if (overwrite) {
    fs::remove(head_file, error);
    fs::remove(fs::path(folder) / "faults.jsonl", error);
  }
  if (fs::exists(head_file)) {
    const std::string problem = TakeUp();
    if (!problem.empty()) return problem;
  } else if (!IsEmpty(folder) && !overwrite) {
    return fmt::format("{} holds something else; give another --out, or --overwrite", folder);
  } else if (const std::string problem = Write(head_file, report::HeadJson(head));
             !problem.empty()) {
    return problem;
  }
  return OpenLines();
}

std::string CampaignFolder::OpenLines() {
  const std::string lines = (fs::path(folder_) / "faults.jsonl").string();
  lines_ = std::fopen(lines.c_str(), "ab");
  return lines_ == nullptr ? Trouble(lines) : "";
}

void CampaignFolder::Note(const report::FaultResult& result) {
  done_.insert(result.index);
  trusted_ = trusted_ && result.made != report::Made::kDisproven;
}

std::string CampaignFolder::DropPredicted() {
  const fs::path path = fs::path(folder_) / "faults.jsonl";
  if (std::fclose(std::exchange(lines_, nullptr)) != 0) return Trouble(path.string());
  std::size_t whole_bytes = 0;
  std::string kept;
  for (const report::FaultResult& result : ReadLines(path, &whole_bytes)) {
    if (result.made == report::Made::kPredicted) {
      done_.erase(result.index);
    } else {
      kept += report::FaultLine(result) + "\n";
    }
  }
  const std::string problem = Write(path, kept);
  return problem.empty() ? OpenLines() : problem;
}

std::string CampaignFolder::TakeUp() {
  report::CampaignHead there;
  const std::string why = report::ReadHeadJson(ReadAll(fs::path(folder_) / "campaign.json"), there);
  if (!why.empty()) {
    return fmt::format("{}/campaign.json {}; give another --out, or --overwrite", folder_, why);
  }
  std::string difference = Difference(there, head_);
  if (difference.empty()) difference = PartDifference(there, head_);
  if (!difference.empty()) {
    return fmt::format("{} holds another campaign ({}); give another --out, or --overwrite",
                       folder_, difference);
  }
  const fs::path lines = fs::path(folder_) / "faults.jsonl";
  std::size_t whole_bytes = 0;
  for (const report::FaultResult& result : ReadLines(lines, &whole_bytes)) Note(result);
  std::error_code error;
  if (fs::exists(lines)) fs::resize_file(lines, whole_bytes, error);
  return error ? fmt::format("cut {}: {}", lines.string(), error.message()) : "";
}

std::string CampaignFolder::Add(const report::FaultResult& result) {
  const std::string line = report::FaultLine(result) + "\n";
  const std::string path = folder_ + "/faults.jsonl";
  std::error_code error;
  const auto whole = fs::file_size(path, error);
  if (error) return fmt::format("{} was moved or taken away meanwhile", folder_);
  const bool written = std::fwrite(line.data(), 1, line.size(), lines_) == line.size();
  if (!written || std::fflush(lines_) != 0) {
    const std::string problem = Trouble(path);
    std::fclose(std::exchange(lines_, nullptr));
    fs::resize_file(path, whole, error);  // else it is cut when it is taken up
    return problem;
  }
  Note(result);
  return "";
}

std::string CampaignFolder::Finish(report::Campaign& out) {
  if (std::fclose(std::exchange(lines_, nullptr)) != 0) return Trouble(folder_ + "/faults.jsonl");
  const std::string problem = ReadCampaign(folder_, out);
  return problem.empty() ? WriteAll(folder_, out) : problem;
}

std::string ReadCampaign(const std::string& folder, report::Campaign& out) {
  const fs::path head = fs::path(folder) / "campaign.json";
  if (!fs::exists(head)) return fmt::format("{}: there is no campaign in it", folder);
  std::string why = report::ReadHeadJson(ReadAll(head), out.head);
  if (why.empty() && out.head.parts == 0) why = "is of no part of a campaign";
  if (!why.empty()) return fmt::format("{} {}", head.string(), why);
  std::size_t whole_bytes = 0;
  out.results = ReadLines(fs::path(folder) / "faults.jsonl", &whole_bytes);
  Sort(out.results);
  for (std::size_t i = 1; i < out.results.size(); ++i) {
    if (out.results[i].index != out.results[i - 1].index) continue;
    return fmt::format("{}: fault {} is there twice; run that part again with --overwrite", folder,
                       out.results[i].index);
  }
  return "";
}

namespace {

// Does it hold exactly the faults of its part?
std::string Incomplete(const std::string& folder, const report::Campaign& part) {
  const auto wanted = PartOf(part.head.faults, part.head.part, part.head.parts);
  std::size_t there = 0;
  for (const std::size_t index : wanted) {
    there += AsSize(std::ranges::count(part.results, index, &report::FaultResult::index));
  }
  if (part.results.size() > there) {
    return fmt::format("{}: holds faults that do not belong to shard {}/{}", folder, part.head.part,
                       part.head.parts);
  }
  if (there == wanted.size()) return "";
  return fmt::format("{}: not finished, {} of {} faults; run its command again to take it up",
                     folder, there, wanted.size());
}

// "1/9, 2/9 and 7 more".
std::string FirstOf(const std::vector<std::string>& names) {
  constexpr std::size_t kMost = 8;
  if (names.size() <= kMost) return fmt::format("{}", fmt::join(names, ", "));
  const std::span<const std::string> first(names.data(), kMost);
  return fmt::format("{} and {} more", fmt::join(first, ", "), names.size() - kMost);
}

std::vector<std::string> CheckParts(
    std::size_t parts, const std::map<std::size_t, std::vector<std::string>>& folders) {
  std::vector<std::string> problems;
  std::vector<std::string> missing;
  for (std::size_t part = 1; part <= parts; ++part) {
    const auto at = folders.find(part);
    if (at == folders.end()) {
      missing.push_back(fmt::format("{}/{}", part, parts));
    } else if (at->second.size() > 1) {
      problems.push_back(fmt::format("shard {}/{} is there more than once: {}; give one of them",
                                     part, parts, fmt::join(at->second, ", ")));
    }
  }
  if (!missing.empty()) problems.push_back("missing: shard " + FirstOf(missing));
  return problems;
}

}  // namespace

std::vector<std::string> MergeCampaigns(const std::vector<std::string>& folders,
                                        report::Campaign& out) {
  std::vector<std::string> problems;
  std::map<std::size_t, std::vector<std::string>> parts;
  std::string first;
  out = {};
  for (const std::string& folder : folders) {
    report::Campaign part;
    if (std::string problem = ReadCampaign(folder, part); !problem.empty()) {
      problems.push_back(std::move(problem));
      continue;
    }
    if (first.empty()) {
      first = folder;
      out.head = part.head;
    }
    std::string differ = Difference(part.head, out.head);
    if (differ.empty() && part.head.parts != out.head.parts) {
      differ = fmt::format("cut into {} shards, not {}", part.head.parts, out.head.parts);
    }
    if (!differ.empty()) {
      problems.push_back(fmt::format("{} does not fit {}: {}", folder, first, differ));
      continue;
    }
    if (std::string problem = Incomplete(folder, part); !problem.empty()) {
      problems.push_back(std::move(problem));
    }
    parts[part.head.part].push_back(folder);
    std::move(part.results.begin(), part.results.end(), std::back_inserter(out.results));
  }
  const auto wrong = CheckParts(out.head.parts, parts);
  problems.insert(problems.end(), wrong.begin(), wrong.end());
  Sort(out.results);
  out.head.part = out.head.parts = 1;
  return problems;
}

std::string WriteCampaign(const std::string& folder, const report::Campaign& campaign,
                          bool overwrite) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return fmt::format("make folder {}: {}", folder, error.message());
  if (!overwrite && !IsEmpty(folder)) {
    return fmt::format("{} holds something already; give another --out, or --overwrite", folder);
  }
  const std::string problem =
      Write(fs::path(folder) / "campaign.json", report::HeadJson(campaign.head));
  return problem.empty() ? WriteAll(folder, campaign) : problem;
}

}  // namespace drycrank::study
