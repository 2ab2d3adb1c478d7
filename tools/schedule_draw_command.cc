// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "io/folder_lock.h"
#include "profile/load.h"
#include "report/text.h"
#include "schedule/draw.h"
#include "tools/result_files.h"
#include "tools/schedule_command.h"

namespace drycrank::tools {
namespace {

namespace fs = std::filesystem;

struct Options {
  std::string bench, out;
  std::vector<std::string> marks;
};

// A circuit, or a terminal or splice. False, and said, when the bench has none of that name.
bool Mark(const profile::Bench& bench, const std::string& word, schedule::Marks& marks) {
  bool known = false;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit == word) marks.circuits.insert(word);
    if (wire.from == word || wire.to == word) marks.ends.insert(word);
    known = known || wire.circuit == word || wire.from == word || wire.to == word;
  }
  if (!known) {
    fmt::print(stderr, "--mark {}: the bench has no such circuit, and no wire there\n", word);
  }
  return known;
}

constexpr std::string_view kPageStyle =
    "body{margin:1rem;font-family:sans-serif}svg{max-width:100%;height:auto;display:block;"
    "margin:0 0 2rem}@media print{svg{break-inside:avoid}}";

// One page with all drawings, for paper.
std::string Page(const profile::Bench& bench, const Markup& drawings) {
  const Markup head = "\n" + EmptyElement("meta", {{"charset", "utf-8"}}) + "\n" +
                      EmptyElement("meta", {{"name", "generator"}, {"content", "drycrank"}}) +
                      "\n" + Element("title", bench.title) + "\n" +
                      Element("style", Markup::Raw(kPageStyle)) + "\n";
  const Markup page =
      Element("html", {{"lang", "en"}},
              "\n" + Element("head", head) + "\n" + Element("body", "\n" + drawings) + "\n");
  return "<!DOCTYPE html>\n" + page.text() + "\n";
}

using Files = std::vector<std::pair<std::string, std::string>>;  // name and text

int Fail(const std::string& problem, int exit_code) {
  fmt::print(stderr, "drycrank schedule draw: {}\n", problem);
  return exit_code;
}

// The folder is held meanwhile; one that was made for this goes again when nothing gets into it.
int Write(const std::string& out, const Files& files, const std::vector<std::string>& inputs) {
  std::vector<io::ResultFile> results;
  for (const auto& [name, text] : files)
    results.push_back({"", name, name.ends_with(".html") ? kPageMark : kDrawingMark});
  if (const std::string why = WhyNotInto(out, results, inputs); !why.empty())
    return Fail(why, kBadInput);
  io::FolderLock folder;
  if (const std::string taken = folder.Take(out); !taken.empty()) return Fail(taken, kBadInput);
  for (const auto& [name, text] : files) {
    const bool is_page = name.ends_with(".html");
    const std::string mark = is_page ? "" : std::string(kDrawingMark.begins) + "\n";
    const std::string trouble = WriteFile((fs::path(out) / name).string(), mark + text);
    if (!trouble.empty()) return Fail(trouble, kBenchFailed);
  }
  return kAllMet;
}

int Draw(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const profile::Bench& bench = *loaded.bench;
  schedule::Marks marks;
  for (const std::string& word : options.marks) {
    if (!Mark(bench, word, marks)) return kBadInput;
  }
  Markup drawings = schedule::HarnessSvg(bench, marks);
  Files files{{"harness.svg", drawings.text()}};
  for (const profile::Connector& connector : bench.connectors) {
    const Markup face = schedule::FaceSvg(bench, connector, marks);
    files.emplace_back("face-" + connector.name + ".svg", face.text());
    drawings += face;
  }
  files.emplace_back("index.html", Page(bench, drawings));
  if (const int failed = Write(options.out, files, loaded.files); failed != kAllMet) return failed;
  fmt::print(
      "{}/harness.svg, a face for each of {} (face-NAME.svg), and all on one page: index.html\n",
      options.out, report::Counted(bench.connectors.size(), "connector"));
  return kAllMet;
}

}  // namespace

void AddScheduleDraw(CLI::App& schedule, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = schedule.add_subcommand(
      "draw", "Draw a bench's harness, and the face of each connector for who fits it");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command->add_option("--out", options->out, "Folder for the drawings (SVG)")
      ->required()
      ->check(HasName())
      ->type_name("DIR");
  command
      ->add_option("--mark", options->marks,
                   "A circuit, terminal or splice to point at; all else pale")
      ->type_name("NAME");
  command->footer(
      "The faces take `rows` of the bench's connectors; nothing is to scale.\n\n"
      "Examples:\n"
      "  drycrank schedule draw profiles/benches/hill_climb.yaml --out out/drawings\n"
      "  drycrank schedule draw profiles/benches/hill_climb.yaml --mark CMP.3 --out out/suspect");
  command->callback([options, &exit_code] { exit_code = Draw(*options); });
}

}  // namespace drycrank::tools
