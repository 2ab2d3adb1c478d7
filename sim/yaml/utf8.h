// SPDX-License-Identifier: Apache-2.0
//
// Whether a file is text: well-formed UTF-8 (RFC 3629), no control characters but tab and line
// ends (LF or CR LF; with CR alone the whole file would be one line, and a remark at its top all of it).
#ifndef DRYCRANK_YAML_UTF8_H_
#define DRYCRANK_YAML_UTF8_H_

#include <optional>
#include <string>
#include <string_view>

namespace drycrank::yaml {

struct NotText {
  int line = 1, column = 1;  // column in bytes
  std::string what;
  std::string remedy = "save the file as UTF-8 text";
};
std::optional<NotText> FindNotText(std::string_view text);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_UTF8_H_
