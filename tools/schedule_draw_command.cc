// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "profile/load.h"
#include "report/text.h"
#include "schedule/draw.h"
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

// One page with all drawings, for paper.
std::string Page(const profile::Bench& bench, const std::vector<std::string>& drawings) {
  std::string page = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>{}</title>\n"
      "<style>body{{margin:1rem;font-family:sans-serif}}svg{{max-width:100%;height:auto;"
      "display:block;margin:0 0 2rem}}@media print{{svg{{break-inside:avoid}}}}</style>\n"
      "</head>\n<body>\n",
      report::Escape(bench.title));
  for (const std::string& drawing : drawings) page += drawing;
  return page + "</body>\n</html>\n";
}

int Draw(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const profile::Bench& bench = *loaded.bench;
  schedule::Marks marks;
  for (const std::string& word : options.marks) {
    if (!Mark(bench, word, marks)) return kBadInput;
  }
  std::error_code error;
  fs::create_directories(options.out, error);
  std::vector<std::string> drawings{schedule::HarnessSvg(bench, marks)};
  std::vector<std::pair<std::string, std::string>> files{{"harness.svg", drawings[0]}};
  for (const profile::Connector& connector : bench.connectors) {
    drawings.push_back(schedule::FaceSvg(bench, connector, marks));
    files.emplace_back("face-" + connector.name + ".svg", drawings.back());
  }
  files.emplace_back("index.html", Page(bench, drawings));
  for (const auto& [name, text] : files) {
    const std::string trouble = WriteFile((fs::path(options.out) / name).string(), text);
    if (trouble.empty()) continue;
    fmt::print(stderr, "{}\n", trouble);
    return kBadInput;
  }
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
