// SPDX-License-Identifier: Apache-2.0
#include "types/changes.h"

#include "types/markup.h"
#include "types/plain_text.h"

namespace drycrank {
namespace {

// One for all changes of the subject: a case fails once.
Markup ElementOf(const char* element, std::span<const Change> changes,
                 const std::string& subject) {
  std::string sentences, kind;
  for (const Change& change : changes) {
    if (change.subject != subject) continue;
    sentences += (kind.empty() ? "" : "; ") + change.sentence;
    if (kind.empty()) kind = change.kind;
  }
  if (kind.empty()) return {};
  return Element(element, {{"message", sentences}, {"type", kind}}, sentences);
}

Markup Case(const std::string& suite, const std::string& subject, const Markup& inside) {
  const Attributes head = {{"classname", suite}, {"name", subject}};
  const Markup element =
      inside.empty() ? EmptyElement("testcase", head) : Element("testcase", head, inside);
  return "    " + element + "\n";
}

}  // namespace

std::string ChangesText(std::span<const Change> changes, const std::string& rest,
                        std::span<const std::string> notes) {
  std::string text;
  for (const Change& change : changes) {
    text += OneLine(change.subject + ": " + change.sentence) + "\n";
  }
  text += rest + "\n";
  for (const std::string& note : notes) text += OneLine("note: " + note) + "\n";
  return text;
}

std::string ChangesJunit(std::span<const Change> changes, std::span<const std::string> subjects,
                         const std::string& suite, std::span<const Change> not_shown) {
  std::size_t failed = 0, in_error = 0;
  Markup cases;
  for (const std::string& subject : subjects) {
    const Markup failures = ElementOf("failure", changes, subject);
    const Markup errors = failures.empty() ? ElementOf("error", not_shown, subject) : Markup();
    failed += !failures.empty();
    in_error += !errors.empty();
    cases += Case(suite, subject, failures + errors);
  }
  const Attribute tests("tests", subjects.size()), failures("failures", failed),
      errors("errors", in_error);
  const Markup inner =
      Element("testsuite", {{"name", suite}, tests, failures, errors}, "\n" + cases + "  ");
  const Markup root =
      Element("testsuites", {{"name", "drycrank"}, tests, failures, errors}, "\n  " + inner + "\n");
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + root.text() + "\n";
}

std::string FirstOf(std::string text, std::size_t most) {
  if (text.size() <= most) return text;
  const auto continues = [&](std::size_t at) {
    return (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80;
  };
  while (most > 0 && continues(most)) --most;
  return text.substr(0, most);
}

}  // namespace drycrank
