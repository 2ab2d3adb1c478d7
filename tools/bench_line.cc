// SPDX-License-Identifier: Apache-2.0
#include "tools/bench_line.h"

#include "types/nth.h"

namespace drycrank::tools {
namespace {

struct Braces {
  std::size_t open = 0, close = 0;
};

// Behind `from`, with nothing in them that would need more than a look: no braces, quotes or remarks.
std::optional<Braces> BracesIn(const std::string& line, std::size_t from) {
  const auto colon = line.find(':', from);
  if (colon == std::string::npos) return std::nullopt;
  const auto open = line.find_first_not_of(' ', colon + 1);
  if (open == std::string::npos || line[open] != '{') return std::nullopt;
  const auto close = line.find_first_of("{}\"'#", open + 1);
  if (close == std::string::npos || line[close] != '}') return std::nullopt;
  return Braces{open, close};
}

// Where the value of `key` begins and ends; nothing: it is not there.
std::optional<std::pair<std::size_t, std::size_t>> ValueOf(const std::string& inside,
                                                           const std::string& key) {
  for (std::size_t begin = 0; begin < inside.size();) {
    const std::size_t end = std::min(inside.find(',', begin), inside.size());
    const auto word = inside.find_first_not_of(' ', begin);
    const std::string head = key + ":";
    if (word != std::string::npos && inside.compare(word, head.size(), head) == 0) {
      const auto value = inside.find_first_not_of(' ', word + head.size());
      return std::pair{std::min(value, end), end};
    }
    begin = end + 1;
  }
  return std::nullopt;
}

void Put(std::string& inside, const std::string& key, const std::string& value) {
  if (const auto at = ValueOf(inside, key)) {
    inside.replace(at->first, at->second - at->first, value);
    return;
  }
  inside += (inside.find_first_not_of(' ') == std::string::npos ? "" : ", ") + key + ": " + value;
}

}  // namespace

std::optional<std::string> WithValues(const std::string& line, int column, const KeyValues& values) {
  const auto braces = BracesIn(line, AsSize(column - 1));
  if (!braces) return std::nullopt;
  std::string inside = line.substr(braces->open + 1, braces->close - braces->open - 1);
  for (const auto& [key, value] : values) Put(inside, key, value);
  return line.substr(0, braces->open + 1) + inside + line.substr(braces->close);
}

}  // namespace drycrank::tools
