// SPDX-License-Identifier: Apache-2.0
//
// A text out of JSON that somebody may have changed by hand: what is not there, or is no text, is empty.
#ifndef DRYCRANK_TYPES_JSON_TEXT_H_
#define DRYCRANK_TYPES_JSON_TEXT_H_

#include <nlohmann/json.hpp>
#include <string>

namespace drycrank {

template <class Json>
std::string TextIn(const Json& object, const char* key) {
  if (!object.is_object()) return "";
  const auto at = object.find(key);
  return at != object.end() && at->is_string() ? at->template get<std::string>() : "";
}

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_JSON_TEXT_H_
