// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "profile/explain.h"
#include "profile/key_page.h"
#include "profile/schema.h"
#include "report/text.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

int ExplainWord(const std::string& word) {
  const std::string text = profile::Explain(word);
  fmt::print("{}", text);
  if (!text.empty()) return kAllMet;
  const auto near = profile::NearKeys(word);
  fmt::print(stderr, "no file has a key or kind '{}'; {}\n", report::PlainLine(word),
             near.empty() ? "`drycrank explain` lists the sections"
                          : fmt::format("near it: {}", fmt::join(near, ", ")));
  return kBadInput;
}

}  // namespace

void AddExplain(CLI::App& app, int& exit_code);
void AddExplain(CLI::App& app, int& exit_code) {
  struct Options {
    std::string word, schema;
    bool page = false;
  };
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("explain", "Say what a key of a bench or scenario file means");
  auto* word = command
                   ->add_option("key", options->word,
                                "A key (stale_ms), one of a section (gauge.stale_ms), a kind "
                                "(wheel_offset), or a section (gauge); without it, the sections")
                   ->type_name("KEY");
  auto* schema = command->add_option("--schema", options->schema, "Print a file's JSON Schema")
                     ->check(CLI::IsMember({"bench", "scenario"}))
                     ->type_name("bench|scenario")
                     ->excludes(word);
  command->add_flag("--page", options->page, "Print all keys as one page of Markdown")
      ->excludes(word)
      ->excludes(schema);
  command->footer(
      "The same as a page: hw-notes/keys.md.\n\n"
      "Examples:\n"
      "  drycrank explain gauge.stale_ms\n"
      "  drycrank explain sensor\n"
      "  drycrank explain --schema bench > bench.schema.json");
  command->callback([options, &exit_code] {
    if (!options->word.empty()) {
      exit_code = ExplainWord(options->word);
      return;
    }
    exit_code = kAllMet;
    fmt::print("{}", !options->schema.empty() ? profile::SchemaOf(options->schema)
                     : options->page          ? profile::KeyPage()
                                              : profile::ExplainSections());
  });
}

}  // namespace drycrank::tools
