// SPDX-License-Identifier: Apache-2.0
#include "profile/key.h"

#include "profile/load_bench.h"
#include "types/nth.h"

namespace drycrank::profile {

bool Put(const Reading& at, double* out) { return at.r.Get(at.key, out, at.range); }

bool Put(const Reading& at, std::optional<double>* out) { return at.r.Get(at.key, out, at.range); }

bool Put(const Reading& at, bool* out) { return at.r.Get(at.key, out); }

bool Put(const Reading& at, Points* out) { return at.r.GetPoints(at.key, out, at.range, at.y); }

bool Put(const Reading& at, std::string* out) {
  switch (at.value.kind) {
    case ValueKind::kUnit:
      return at.r.GetUnit(at.key, out);
    case ValueKind::kName:
      return at.r.GetName(at.key, out);
    case ValueKind::kTerminal: {
      const auto ref = at.r.GetRef(at.key);
      if (!ref) return false;
      TakeTerminal(*at.c, *ref, at.r.title());
      *out = ref->text;
      return true;
    }
    case ValueKind::kWord: {
      const int index = GetWordIndex(at);
      if (index >= 0) *out = Nth(at.value.words, index);
      return index >= 0;
    }
    default:
      return at.r.GetText(at.key, out);
  }
}

std::optional<std::int64_t> GetWhole(const Reading& at) {
  std::int64_t value = 0;
  if (!at.r.GetInt64(at.key, &value, at.value.low, at.value.high)) return std::nullopt;
  return value;
}

int GetWordIndex(const Reading& at) {
  return at.r.WordIndex(at.key, {at.value.words.begin(), at.value.words.end()});
}

}  // namespace drycrank::profile
