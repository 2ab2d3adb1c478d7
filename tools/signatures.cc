// SPDX-License-Identifier: Apache-2.0
#include "tools/signatures.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "io/journal.h"
#include "types/json_text.h"

namespace drycrank::tools {
namespace {

using Value = nlohmann::ordered_json;

constexpr const char* kFormat = "drycrank signatures";
constexpr int kNumber = 1;

std::string PathIn(const std::string& folder) { return folder + "/signatures"; }

std::string Line(const Value& value) {
  return value.dump(-1, ' ', false, Value::error_handler_t::replace);
}

bool IsHead(const Value& head) {
  return TextIn(head, "format") == kFormat && head.contains("format_version") &&
         head["format_version"] == kNumber;
}

std::string Foreign(const std::string& path) {
  return fmt::format("{} is no file of signatures that is read here ({} {})", path, kFormat,
                     kNumber);
}

void Keep(std::vector<Signature>& all, Signature signature) {
  std::erase_if(all, [&](const Signature& s) { return s.circuit == signature.circuit; });
  if (!signature.revoked) all.push_back(std::move(signature));
}

}  // namespace

LoadedSignatures LoadSignatures(const std::string& folder) {
  LoadedSignatures loaded;
  std::ifstream file(PathIn(folder));
  std::string text;
  for (int number = 1; std::getline(file, text); ++number) {
    if (file.eof()) break;  // cut by a crash while it was written
    const Value line = Value::parse(text, nullptr, false);
    if (number == 1 && !IsHead(line)) return {{}, Foreign(PathIn(folder))};
    if (number == 1) continue;
    const bool has_revoked = line.is_object() && line.contains("revoked");
    if (TextIn(line, "circuit").empty() || (has_revoked && !line["revoked"].is_boolean())) {
      loaded.problem = fmt::format("{}:{}: no signature can be read here", PathIn(folder), number);
      return loaded;
    }
    Keep(loaded.signatures, {TextIn(line, "circuit"), TextIn(line, "why"), TextIn(line, "by"),
                             has_revoked && line["revoked"].get<bool>()});
  }
  return loaded;
}

std::string KeepSignature(const std::string& folder, const Signature& signature) {
  io::Journal journal;
  if (const std::string problem = journal.Open(PathIn(folder)); !problem.empty()) return problem;
  if (journal.lines().empty()) {
    const std::string head = Line({{"format", kFormat}, {"format_version", kNumber}});
    if (const std::string problem = journal.Append(head); !problem.empty()) return problem;
  } else if (!IsHead(Value::parse(journal.lines()[0], nullptr, false))) {
    return Foreign(PathIn(folder));
  }
  return journal.Append(Line({{"circuit", signature.circuit},
                              {"why", signature.why},
                              {"by", signature.by},
                              {"revoked", signature.revoked}}));
}

void SignOver(const std::vector<Signature>& signatures,
              std::vector<check::CircuitCoverage>& circuits) {
  for (const Signature& signature : signatures) {
    const auto at =
        std::ranges::find(circuits, signature.circuit, &check::CircuitCoverage::circuit);
    if (at == circuits.end() || at->state != check::CircuitState::kNotShown) continue;
    at->signed_by = signature.by;
    at->signed_why = signature.why;
  }
}

}  // namespace drycrank::tools
