// SPDX-License-Identifier: Apache-2.0
#include "types/markup.h"

#include <charconv>

#include "types/code_point.h"

namespace drycrank {
namespace {

// "<name a="1" b="2"", still open.
std::string Head(std::string_view name, Attributes attributes) {
  std::string head = "<" + std::string(name);
  for (const Attribute& attribute : attributes) {
    if (attribute.left_out) continue;
    head.append(" ").append(attribute.name).append("=\"");
    head.append(Escape(attribute.value)).append("\"");
  }
  return head;
}

}  // namespace

std::string Escape(std::string_view text) {
  std::string out;
  out.reserve(text.size() + 8);
  for (std::size_t pos = 0; pos < text.size();) {
    const char32_t c = NextCodePoint(text, pos);
    if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else if (c == '"') {
      out += "&quot;";
    } else if (c == '\'') {
      out += "&#39;";
    } else {
      AppendCodePoint(IsControl(c) ? kReplacement : c, out);
    }
  }
  return out;
}

Markup Markup::Raw(std::string_view markup) {
  Markup raw;
  raw.bytes_ = markup;
  return raw;
}

Markup& Markup::operator+=(const Markup& more) {
  bytes_ += more.bytes_;
  return *this;
}

Markup Join(const std::vector<Markup>& parts, std::string_view between) {
  Markup joined;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) joined += between;
    joined += parts[i];
  }
  return joined;
}

Attribute::Attribute(std::string_view key, double number) : name(key) {
  char digits[32];
  const auto [end, error] =
      std::to_chars(std::begin(digits), std::end(digits), number, std::chars_format::general, 6);
  value.assign(digits, end);
}

Attribute IfAny(std::string_view name, std::string_view text) {
  Attribute attribute(name, text);
  attribute.left_out = text.empty();
  return attribute;
}

Markup Element(std::string_view name, Attributes attributes, const Markup& content) {
  std::string bytes = Head(name, attributes);
  bytes.append(">").append(content.text()).append("</").append(name).append(">");
  return Markup::Raw(bytes);
}

Markup Element(std::string_view name, const Markup& content) { return Element(name, {}, content); }

Markup EmptyElement(std::string_view name, Attributes attributes) {
  return Markup::Raw(Head(name, attributes) + "/>");
}

}  // namespace drycrank
