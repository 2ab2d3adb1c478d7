// SPDX-License-Identifier: Apache-2.0
//
// Where the keys of one section of a file are written, so that what is found later, when the values
// are compared with others, can be said with its line. A key that was left out has no place; one
// that an included part brought has the part's.
#ifndef DRYCRANK_TYPES_WRITTEN_AT_H_
#define DRYCRANK_TYPES_WRITTEN_AT_H_

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank {

struct WrittenAt {
  std::vector<std::pair<std::string, Place>> keys;  // with the place of the value

  bool Has(std::string_view key) const { return Find(key) != keys.end(); }
  // `otherwise` when it was left out.
  Place Of(std::string_view key, const Place& otherwise) const {
    const auto at = Find(key);
    return at == keys.end() ? otherwise : at->second;
  }

 private:
  std::vector<std::pair<std::string, Place>>::const_iterator Find(std::string_view key) const {
    return std::find_if(keys.begin(), keys.end(), [key](const auto& k) { return k.first == key; });
  }
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_WRITTEN_AT_H_
