// SPDX-License-Identifier: Apache-2.0
//
// HTML, SVG and XML from values. A Markup is always whole: each element that is opened is closed,
// each text and each attribute's value is escaped, so that no name from a profile can break a page:
//   & < > " '                              as &amp; &lt; &gt; &quot; &#39;
//   bytes that are not UTF-8, and what IsControl (code_point.h) calls so      as U+FFFD
//
//   Element("td", {{"class", "num"}}, "3 < 4")      <td class="num">3 &lt; 4</td>
//   EmptyElement("circle", {{"r", 4.5}})            <circle r="4.5"/>
//
// A text becomes Markup by itself and is escaped then; text() gives a file's content. A writer that
// opens and closes elements one after the other was rejected: a forgotten close is found at run
// time, where here nothing can be forgotten.
#ifndef DRYCRANK_TYPES_MARKUP_H_
#define DRYCRANK_TYPES_MARKUP_H_

#include <concepts>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank {

// For element content, and for attribute values in either kind of quotes.
std::string Escape(std::string_view text);

class Markup {
 public:
  Markup() = default;
  Markup(std::string_view text) : bytes_(Escape(text)) {}
  Markup(const std::string& text) : Markup(std::string_view(text)) {}
  Markup(const char* text) : Markup(std::string_view(text)) {}
  // REQUIRES: well-formed, and written by ourselves: a style sheet, a fixed sentence.
  static Markup Raw(std::string_view markup);

  Markup& operator+=(const Markup& more);
  friend Markup operator+(Markup first, const Markup& second) {
    first += second;
    return first;
  }

  bool empty() const { return bytes_.empty(); }
  const std::string& text() const { return bytes_; }

 private:
  std::string bytes_;
};

Markup Join(const std::vector<Markup>& parts, std::string_view between);

struct Attribute {
  Attribute(std::string_view key, std::string_view text) : name(key), value(text) {}
  // With six digits at most, as "%g" has it.
  Attribute(std::string_view key, double number);
  Attribute(std::string_view key, std::integral auto number)
      : name(key), value(std::to_string(number)) {}

  std::string_view name;
  std::string value;
  bool left_out = false;
};
// Left out when `text` is empty.
Attribute IfAny(std::string_view name, std::string_view text);

using Attributes = std::initializer_list<Attribute>;

// REQUIRES, of names here: those of HTML, SVG or the XML at hand, never a profile's.
Markup Element(std::string_view name, Attributes attributes, const Markup& content);
Markup Element(std::string_view name, const Markup& content);
// Without content and in one tag, "<meta/>": in HTML for elements that never have any, and in SVG.
Markup EmptyElement(std::string_view name, Attributes attributes);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_MARKUP_H_
