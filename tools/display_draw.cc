// SPDX-License-Identifier: Apache-2.0
#include "tools/display_draw.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "bus/layout.h"
#include "io/folder_lock.h"
#include "picture/marks.h"
#include "picture/paint.h"
#include "profile/load.h"
#include "sweep/lamps_asked.h"
#include "sweep/person.h"
#include "sweep/sent_range.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "tools/result_files.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

namespace fs = std::filesystem;

struct Options {
  std::string bench, out;
  std::optional<int> page;
  std::uint64_t seed = 1;
  std::vector<std::string> set, silent;
  bool questions = false;
};

int Fail(const std::string& problem, int exit_code) {
  fmt::print(stderr, "drycrank display draw: {}\n", problem);
  return exit_code;
}

// ---- files --------------------------------------------------------------------------------------

struct Drawing {
  std::string name;  // "page1_question3"
  picture::Page page;
  bool is_dark = false;  // it is its page's picture without a lamp
};

constexpr io::ResultMark kPngMark{"\x89PNG", picture::kPngNote};
constexpr io::ResultMark kSvgMark{"<?xml", picture::kSvgNote};
constexpr io::ResultMark kMarksMark{picture::kMarksTitle};
constexpr char kMarksFile[] = "marks.yaml";

std::string WriteDrawing(const std::string& folder, const Drawing& drawing) {
  const picture::Sheet sheet = picture::LayOut(drawing.page);
  const std::string path = (fs::path(folder) / drawing.name).string();
  const std::string problem = WriteFile(path + ".png", picture::PngOf(sheet));
  return problem.empty() ? WriteFile(path + ".svg", picture::SvgOf(sheet)) : problem;
}

// Where the readouts stand, for who reads the pictures back (drycrank display sweep --picture), and
// the picture of each page in which every lamp must be dark.
std::string MarksOf(const std::vector<Drawing>& drawings) {
  std::vector<picture::DrawnPage> pages;
  for (const Drawing& drawing : drawings) {
    const auto same = [&](const picture::DrawnPage& p) { return p.number == drawing.page.number; };
    const auto known = std::ranges::find_if(pages, same);
    if (known == pages.end()) {
      pages.push_back({drawing.page.number, drawing.name + ".png", picture::LayOut(drawing.page)});
    } else if (drawing.is_dark) {
      known->dark = drawing.name + ".png";
    }
  }
  return picture::MarksText(pages, picture::kPngScale);
}

std::string WriteDrawings(const std::string& folder, const std::vector<Drawing>& drawings) {
  for (const Drawing& drawing : drawings) {
    if (std::string why = WriteDrawing(folder, drawing); !why.empty()) return why;
  }
  return WriteFile((fs::path(folder) / kMarksFile).string(), MarksOf(drawings));
}

std::vector<io::ResultFile> FilesOf(const std::vector<Drawing>& drawings) {
  std::vector<io::ResultFile> files{{"", kMarksFile, kMarksMark}};
  for (const Drawing& drawing : drawings) {
    files.push_back({"", drawing.name + ".png", kPngMark});
    files.push_back({"", drawing.name + ".svg", kSvgMark});
  }
  return files;
}

// ---- what is sent -------------------------------------------------------------------------------

struct SetValue {
  profile::SignalRef at;
  double physical = 0;
};

bool IsOf(const profile::SignalRef& at) { return at.bus >= 0 && at.message >= 0 && at.signal >= 0; }

constexpr std::string_view kNoValue = "not available";

// Empty, or that the bits or the ends of the signal do not reach there.
std::string WhyNotSayable(const profile::Signal& signal, const std::string& word, double value) {
  if (signal.is_float && signal.min >= signal.max) return {};
  const sweep::SentRange range = sweep::SentRangeOf(signal, {});
  const double a = range.At(range.low), b = range.At(range.high);
  const double low = signal.is_float ? signal.min : std::min(a, b),
               high = signal.is_float ? signal.max : std::max(a, b);
  const double slack = std::abs(signal.scale) / 2;
  if (value >= low - slack && value <= high + slack) return {};
  return fmt::format("--set {}: {} can say {:g} to {:g} only", word, signal.name, low, high);
}

// "engine_temps.coolant=95 degC", "engine_temps.coolant=not available".
std::string ReadSet(const profile::Bench& bench, const std::string& word, SetValue& out) {
  const auto equals = word.find('=');
  if (equals == std::string::npos) {
    return fmt::format("--set {}: write MESSAGE.SIGNAL=VALUE, as engine_temps.coolant=95", word);
  }
  const std::string name = word.substr(0, equals);
  out.at = profile::FindSignal(bench, name);
  if (!IsOf(out.at)) {
    return fmt::format("--set {}: no message of the bench carries {}; name one as MESSAGE.SIGNAL",
                       word, name);
  }
  if (std::string_view(word).substr(equals + 1) == kNoValue) {
    out.physical = std::nan("");
    return bus::CanSayNotAvailable(SignalAt(bench, out.at))
               ? ""
               : fmt::format(
                     "--set {}: {} cannot say that it has no value; give the signal its "
                     "not_available code",
                     word, name);
  }
  const std::string& unit = SignalAt(bench, out.at).unit;
  const auto number = ParseNumberWithUnit(std::string_view(word).substr(equals + 1));
  if (!number) {
    return fmt::format("--set {}: {} is no number; write one, with a unit or without", word,
                       word.substr(equals + 1));
  }
  const auto value =
      number->unit.empty() ? number->value : Convert(number->value, number->unit, unit);
  if (!value) {
    return fmt::format("--set {}: {} cannot be had in {}; leave the unit out, or convert", word,
                       number->unit, unit.empty() ? "a signal without unit" : unit);
  }
  out.physical = *value;
  return WhyNotSayable(SignalAt(bench, out.at), word, *value);
}

std::string SendWishes(const profile::Bench& bench, const Options& options,
                       sweep::StandinScreen& screen) {
  SendRest(bench, options.seed, screen);
  for (const std::string& word : options.set) {
    SetValue set;
    if (std::string why = ReadSet(bench, word, set); !why.empty()) return why;
    screen.Send(set.at, set.physical);
  }
  for (const std::string& name : options.silent) {
    const profile::MessageRef message = profile::FindMessage(bench, name);
    if (message.message < 0) {
      return fmt::format(
          "--silent {}: the bench has no message of that name; drycrank explain "
          "message",
          name);
    }
    screen.Silence(message, true);
  }
  return {};
}

// ---- drawing ------------------------------------------------------------------------------------

bool IsWanted(const picture::Page& page, std::optional<int> only_page) {
  return !only_page || page.number == *only_page;
}

// Pages at no question of which all lamps are dark, before anything was sent.
std::vector<Drawing> DarkDrawings(const profile::Bench& bench, const sweep::LampsLit& lit,
                                  std::optional<int> only_page) {
  std::vector<Drawing> drawings;
  sweep::StandinScreen screen(bench);
  for (int b = 0; b < static_cast<int>(bench.buses.size()); ++b) {
    const auto& messages = Nth(bench.buses, b).messages;
    for (int m = 0; m < static_cast<int>(messages.size()); ++m) screen.Silence({b, m}, true);
  }
  for (picture::Page& page : picture::PagesOf(bench, screen.LookAtAll())) {
    const bool is_asked = lit.contains({page.number, 1});
    if (!is_asked || sweep::DarkQuestion(lit, page.number) || !IsWanted(page, only_page)) continue;
    std::string name = fmt::format("page{}_dark", page.number);
    drawings.push_back({std::move(name), std::move(page), true});
  }
  return drawings;
}

std::vector<Drawing> QuestionDrawings(const profile::Bench& bench, std::optional<int> only_page) {
  const sweep::LampsLit lit = sweep::LampsLitAt(bench);
  std::vector<Drawing> drawings = DarkDrawings(bench, lit, only_page);
  sweep::StandinScreen screen(bench);
  const std::vector<profile::Readout> readouts = RequiredReadouts(bench);
  for (const sweep::Question& question : sweep::QuestionsOf(readouts)) {
    sweep::SendQuestion(bench, question, screen);
    for (picture::Page& page : picture::PagesOf(bench, screen.LookAtAll())) {
      if (page.number != question.page || !IsWanted(page, only_page)) continue;
      std::string name = fmt::format("page{}_question{}", page.number, question.question);
      const bool is_dark = sweep::DarkQuestion(lit, page.number) == question.question;
      drawings.push_back({std::move(name), std::move(page), is_dark});
    }
  }
  return drawings;
}

std::vector<Drawing> PageDrawings(const profile::Bench& bench, std::optional<int> only_page,
                                  sweep::StandinScreen& screen) {
  std::vector<Drawing> drawings;
  for (picture::Page& page : picture::PagesOf(bench, screen.LookAtAll())) {
    if (!IsWanted(page, only_page)) continue;
    std::string name = fmt::format("page{}", page.number);
    drawings.push_back({std::move(name), std::move(page), false});
  }
  return drawings;
}

int Write(const Options& options, const std::vector<Drawing>& drawings,
          const std::vector<std::string>& inputs) {
  if (const std::string why = WhyNotInto(options.out, FilesOf(drawings), inputs); !why.empty()) {
    return Fail(why, kBadInput);
  }
  io::FolderLock folder;
  if (const std::string taken = folder.Take(options.out); !taken.empty()) {
    return Fail(taken, kBadInput);
  }
  if (const std::string why = WriteDrawings(options.out, drawings); !why.empty()) {
    return Fail(why, kBenchFailed);
  }
  for (const Drawing& drawing : drawings) {
    fmt::print("{}/{}.png and .svg: {} readouts\n", options.out, drawing.name,
               drawing.page.fields.size());
  }
  return kAllMet;
}

int Draw(const Options& options) {
  if (!picture::CanPaint()) return Fail(picture::kHowToPaint, kBadInput);
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems) || !loaded.bench) return kBadInput;
  const profile::Bench& bench = *loaded.bench;
  if (!bench.display || bench.display->gauges.empty()) {
    return Fail(fmt::format("{} has no display with gauges that could be played; write a section "
                            "display: drycrank explain display",
                            options.bench),
                kBadInput);
  }
  if (options.questions && !(options.set.empty() && options.silent.empty())) {
    return Fail("what is sent comes from the questions; leave out --set and --silent", kBadInput);
  }
  sweep::StandinScreen screen(bench);
  if (const std::string why = SendWishes(bench, options, screen); !why.empty()) {
    return Fail(why, kBadInput);
  }
  const std::vector<Drawing> drawings = options.questions
                                            ? QuestionDrawings(bench, options.page)
                                            : PageDrawings(bench, options.page, screen);
  if (drawings.empty()) {
    return Fail(fmt::format("the display has no page {}", options.page.value_or(1)), kBadInput);
  }
  return Write(options, drawings, loaded.files);
}

}  // namespace

void AddDisplayDraw(CLI::App& display, int& exit_code) {
  auto o = std::make_shared<Options>();
  CLI::App* command = display.add_subcommand(
      "draw", "Draw the pages of the stand-in as they stand with given values, as PNG and SVG");
  command->add_option("bench", o->bench, "Bench")->required()->type_name("BENCH");
  command->add_option("--out", o->out, "Folder for page1.png, page1.svg ...")
      ->required()
      ->check(HasName())
      ->type_name("DIR");
  command->add_option("--page", o->page, "That page alone")->type_name("N");
  command
      ->add_option("--set", o->set,
                   "The value of a signal, without a unit in its own; or \"not available\"")
      ->type_name("MESSAGE.SIGNAL=VALUE");
  command->add_option("--silent", o->silent, "That message does not come any more")
      ->type_name("MESSAGE");
  command->add_option("--seed", o->seed, "Chooses where all other values rest")->type_name("N");
  command->add_flag("--questions", o->questions,
                    "As they stand at each question that drycrank display sweep --person asks");
  command->footer(
      "The pages are drawn from what the stand-in shows, in a plain look of their own: what a "
      "real\n"
      "display looks like is not known here. The same values give the same bytes.\n\n"
      "Examples:\n"
      "  drycrank display draw profiles/benches/hill_climb.yaml --out out/pages\n"
      "  drycrank display draw profiles/benches/hill_climb.yaml --page 1 --set "
      "engine_temps.coolant=113 --out out/hot");
  command->callback([o, &exit_code] { exit_code = Draw(*o); });
}

}  // namespace drycrank::tools
