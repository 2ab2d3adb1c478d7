// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <filesystem>
#include <memory>
#include <mutex>
#include <thread>

#include "io/folder_lock.h"
#include "io/result_place.h"
#include "profile/load.h"
#include "study/campaign_folder.h"
#include "study/campaign_run.h"
#include "study/play.h"
#include "tools/commands.h"
#include "tools/result_files.h"
#include "types/nth.h"
#include "walk/walk.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench, scenario, out, shard = "1/1";
  std::vector<std::string> merge;
  std::uint64_t seed = 1;
  unsigned jobs = std::max(1u, std::thread::hardware_concurrency());
  bool overwrite = false, quiet = false, play_all = false;
};

int Fail(const std::string& problem, int exit_code = kBadInput) {
  fmt::print(stderr, "drycrank campaign: {}\n", problem);
  return exit_code;
}

// "3/8"
bool ReadShard(const std::string& text, std::size_t& part, std::size_t& parts) {
  int used = 0;
  const bool read = std::sscanf(text.c_str(), "%zu/%zu%n", &part, &parts, &used) == 2;
  return read && AsSize(used) == text.size() && part >= 1 && part <= parts &&
         text.find('-') == std::string::npos;
}

struct Played {
  std::optional<profile::Bench> bench;
  profile::Scenario scenario;
  report::CampaignHead head;
};

// A scenario is of a bench by its contents: its own file may lie elsewhere.
std::string Load(const Options& options, Played& out) {
  profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return "nothing was played";
  if (!loaded.bench->controller) return options.bench + " has no controller to try faults on";
  out.bench = std::move(loaded.bench);
  out.head.bench_hash = study::HashOfFiles(loaded.files);
  if (options.scenario.empty()) {
    out.scenario = walk::MakeWalk(*out.bench).scenario;
  } else {
    profile::LoadedScenario chosen = profile::LoadScenario(options.scenario);
    if (PrintProblems(chosen.problems)) return "nothing was played";
    if (study::HashOfFiles(profile::LoadBench(chosen.scenario->bench_file).files) !=
        out.head.bench_hash) {
      return fmt::format("{} is a scenario of another bench, {}", options.scenario,
                         chosen.scenario->bench_file);
    }
    if (!chosen.scenario->faults.empty()) {
      return fmt::format(
          "{} has faults of its own; a campaign puts them in one at a time: give a "
          "healthy scenario",
          options.scenario);
    }
    out.scenario = std::move(*chosen.scenario);
    out.head.scenario_hash = study::HashOfFiles(chosen.files);
  }
  out.head.version = study::Version();
  out.head.bench = out.bench->name;
  out.head.bench_title = out.bench->title;
  out.head.scenario = out.scenario.name;
  out.head.seed = options.seed;
  out.head.play_all = options.play_all;
  return "";
}

// A line on the terminal, twice a second at most.
class Progress {
 public:
  Progress(bool quiet, std::size_t all)
      : on_(!quiet && IsObeyingTerminal(STDERR_FILENO)), all_(all) {}
  ~Progress() {
    if (on_) fmt::print(stderr, "\r\033[K");
  }
  void Show(std::size_t done) {
    const auto now = std::chrono::steady_clock::now();
    if (!on_ || now < next_) return;
    next_ = now + std::chrono::milliseconds(500);
    const double s = std::chrono::duration<double>(now - begin_).count();
    const double left_s = s / static_cast<double>(done) * static_cast<double>(all_ - done);
    fmt::print(stderr, "\r\033[K{} of {} faults, about {:.0f} s left", done, all_, left_s);
  }

 private:
  bool on_;
  std::size_t all_;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now(), next_ = begin_;
};

using Portions = std::vector<std::vector<std::size_t>>;

std::vector<report::FaultResult> PlayEach(const study::CampaignRun& campaign,
                                          const std::vector<std::size_t>& portion) {
  std::vector<report::FaultResult> results;
  for (const std::size_t i : portion) results.push_back(campaign.Try(i));
  return results;
}

// These portions, by as many threads as wanted. Empty, or the file that could not be written.
std::string TryAll(const study::CampaignRun& campaign, const Portions& portions, bool play,
                   const Options& options, study::CampaignFolder& folder) {
  std::size_t faults = 0;
  for (const auto& portion : portions) faults += portion.size();
  std::atomic<std::size_t> next = 0;
  std::mutex mutex;
  std::size_t done = 0;
  std::string problem;
  Progress progress(options.quiet, faults);
  const auto work = [&] {
    for (std::size_t i; (i = next++) < portions.size() && !StopAsked();) {
      const std::vector<report::FaultResult> results =
          play ? PlayEach(campaign, portions[i]) : campaign.TryPortion(portions[i]);
      const std::lock_guard lock(mutex);
      if (!problem.empty()) return;
      for (const report::FaultResult& result : results) {
        if (problem.empty()) problem = folder.Add(result);
      }
      progress.Show(done += results.size());
    }
  };
  std::vector<std::thread> threads;
  for (unsigned i = 1; i < options.jobs; ++i) threads.emplace_back(work);
  work();
  for (std::thread& thread : threads) thread.join();
  return problem;
}

// Of the part, those that are not in the folder yet.
std::vector<std::size_t> LeftIn(const study::CampaignFolder& folder,
                                const report::CampaignHead& head) {
  std::vector<std::size_t> left = study::PartOf(head.faults, head.part, head.parts);
  std::erase_if(left, [&](std::size_t i) { return folder.done().contains(i); });
  return left;
}

// Predictions that do not hold are taken out, and every fault is played.
std::string PlayWhatWasPredicted(const study::CampaignRun& campaign,
                                 const report::CampaignHead& head, const Options& options,
                                 study::CampaignFolder& folder) {
  if (folder.trusts_predictions() || StopAsked()) return "";
  fmt::print(stderr,
             "drycrank campaign: a fault played otherwise than predicted; now every fault is "
             "played\n");
  if (std::string problem = folder.DropPredicted(); !problem.empty()) return problem;
  Portions each;
  for (const std::size_t i : LeftIn(folder, head)) each.push_back({i});
  return TryAll(campaign, each, true, options, folder);
}

int ExitCodeOf(const report::Campaign& campaign) {
  return report::CountMade(campaign).trusted() ? kAllMet : kBenchFailed;
}

int Finish(study::CampaignFolder& folder, const std::string& out) {
  report::Campaign campaign;
  if (const std::string problem = folder.Finish(campaign); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  fmt::print("{}\nResults: {}/report.html, table.txt, summary.json, faults.jsonl\n",
             report::CampaignText(campaign, 100), out);
  return ExitCodeOf(campaign);
}

int Run(const Options& options) {
  Played played;
  if (!ReadShard(options.shard, played.head.part, played.head.parts)) {
    return Fail("--shard " + options.shard +
                ": write which of how many, as 3/8; 1/8 is the first of eight");
  }
  if (const std::string problem = Load(options, played); !problem.empty()) return Fail(problem);
  io::FolderLock owner;  // before hours are spent
  if (const std::string taken = owner.Take(options.out); !taken.empty()) return Fail(taken);
  if (const std::string why = io::WhyNoCampaignThere(options.out); !why.empty()) return Fail(why);
  const study::CampaignRun campaign(*played.bench, played.scenario, options.seed, options.play_all);
  for (const std::string& name : campaign.failed_when_healthy()) {
    fmt::print(stderr,
               "drycrank campaign: {} fails without any fault, so it tells nothing about faults\n",
               name);
  }
  played.head.faults = campaign.faults().size();
  study::CampaignFolder folder;
  if (const std::string problem = folder.Open(options.out, played.head, options.overwrite);
      !problem.empty()) {
    return Fail(problem);
  }
  const std::vector<std::size_t> todo = LeftIn(folder, played.head);
  if (!folder.done().empty()) {
    fmt::print(stderr, "Taken up again: {} faults were done, {} are left.\n", folder.done().size(),
               todo.size());
  }
  CatchStopSignals();
  std::string problem;
  if (folder.trusts_predictions()) {
    problem = TryAll(campaign, campaign.Portions(todo), false, options, folder);
  }
  if (problem.empty()) problem = PlayWhatWasPredicted(campaign, played.head, options, folder);
  if (!problem.empty()) return Fail(problem, kBenchFailed);
  if (StopAsked()) {
    return Fail(fmt::format("stopped; {} faults are done and kept. The same command goes on",
                            folder.done().size()),
                kNotShown);
  }
  return Finish(folder, options.out);
}

int Merge(const Options& options) {
  for (const std::string& part : options.merge) {
    std::error_code error;
    if (std::filesystem::equivalent(part, options.out, error))
      return Fail(
          fmt::format("--out {}: that is one of the parts; give another folder", options.out));
  }
  io::FolderLock owner;
  if (const std::string taken = owner.Take(options.out); !taken.empty()) return Fail(taken);
  if (const std::string why = io::WhyNoCampaignThere(options.out); !why.empty()) return Fail(why);
  report::Campaign campaign;
  const std::vector<std::string> problems = study::MergeCampaigns(options.merge, campaign);
  for (const std::string& problem : problems) Fail(problem);
  if (!problems.empty()) return Fail("nothing was merged");
  if (const std::string problem = study::WriteCampaign(options.out, campaign, options.overwrite);
      !problem.empty()) {
    return Fail(problem);
  }
  fmt::print("{}\nResults: {}/report.html, table.txt, summary.json, faults.jsonl\n",
             report::CampaignText(campaign, 100), options.out);
  return ExitCodeOf(campaign);
}

}  // namespace

void AddCampaign(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "campaign", "Try every single fault of a bench, and say who would notice each");
  CLI::Option* bench =
      command->add_option("bench", options->bench, "Bench file (YAML)")->type_name("BENCH");
  CLI::Option* scenario = command
                              ->add_option("--scenario", options->scenario,
                                           "A healthy scenario of that bench; without it, its walk")
                              ->type_name("FILE");
  command->add_option("--out", options->out, "Folder for the results")
      ->required()
      ->check(HasName())
      ->type_name("DIR");
  CLI::Option* shard =
      command->add_option("--shard", options->shard,
                          "This part of so many: 3/8. Each part goes to a folder of its own");
  shard->type_name("PART/PARTS");
  command->add_option("--jobs", options->jobs, "Faults tried side by side (all processors)")
      ->check(InRange(1, 1024));
  command->add_option("--seed", options->seed, "Seed of the noise")->check(IsSeed());
  command
      ->add_option("--merge", options->merge,
                   "Put the parts in these folders together instead of playing")
      ->type_name("DIR ...")
      ->excludes(bench)
      ->excludes(scenario)
      ->excludes(shard);
  CLI::Option* play_all = command->add_flag(
      "--play-all", options->play_all,
      "Play every fault through the scenario; without it what can be is predicted");
  play_all->excludes("--merge");
  command->add_flag("--overwrite", options->overwrite, "Begin anew in a folder that holds results");
  command->add_flag("--quiet", options->quiet, "No progress line");
  command->footer(
      "An interrupted campaign goes on where it was when the same command is given again.\n"
      "Nothing is driven: stand-ins, virtual time. hw-notes/fault-campaign.md says how to read "
      "the\n"
      "table and how to spread it over machines.\n\n"
      "Examples:\n"
      "  drycrank campaign profiles/benches/kart.yaml --out out/kart\n"
      "  drycrank campaign profiles/benches/kart.yaml --shard 3/8 --out out/kart-3\n"
      "  drycrank campaign --merge out/kart-1 out/kart-2 --out out/kart-all");
  command->callback([options, &exit_code] {
    if (options->merge.empty() && options->bench.empty()) {
      exit_code = Fail("give a bench, or --merge with folders");
      return;
    }
    exit_code = options->merge.empty() ? Run(*options) : Merge(*options);
  });
}

}  // namespace drycrank::tools
