// SPDX-License-Identifier: Apache-2.0
#include "record/armed_words.h"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "io/whole_file.h"
#include "record/record.h"

namespace drycrank::record {
namespace {

using Json = nlohmann::ordered_json;

Json WordsOf(const Armed& armed) {
  Json what = Json::array();
  for (const bus::Driven& driven : armed.what) {
    what.push_back({{"name", driven.name},
                    {"kind", driven.kind},
                    {"index", driven.index},
                    {"way", driven.way}});
  }
  return {{"what", what}, {"by", armed.by}, {"at", armed.at}};
}

}  // namespace

void AddArmed(const Armed& armed, Json& head) {
  if (head.contains("armed")) {
    head["armed_again"].push_back(WordsOf(armed));
  } else {
    head["armed"] = WordsOf(armed);
  }
}

std::string AddArmed(const std::string& folder, const Armed& armed) {
  const std::string path = (std::filesystem::path(folder) / "record.json").string();
  std::ifstream file(path);
  Json head = Json::parse(file, nullptr, false);
  if (!head.is_object()) {
    return fmt::format("{}: it cannot be read, and does not say that {} armed {}", path, armed.by,
                       bus::NamesOf(armed.what));
  }
  AddArmed(armed, head);
  return io::WriteWholeFile(path, head.dump(2, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace drycrank::record
