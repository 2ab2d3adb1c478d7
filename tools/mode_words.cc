// SPDX-License-Identifier: Apache-2.0
#include "tools/mode_words.h"

namespace drycrank::tools {
namespace {

bool Has(std::string_view mode, const std::string& words) {
  const auto at = mode.find(words);
  if (at == std::string_view::npos) return false;
  const auto end = at + words.size();
  return end == mode.size() || mode[end] == ';';
}

}  // namespace

bool WasReal(std::string_view mode, const std::string& part) {
  if (mode.find("; real: " + part) != std::string_view::npos) return true;  // of a bench run live
  const std::string other = part == "controller" ? "display" : "controller";
  return Has(mode, "stand-ins: none") || Has(mode, "stand-ins: " + other + " only");
}

bool WereOutputsDriven(std::string_view mode) { return Has(mode, "outputs: driven"); }

}  // namespace drycrank::tools
