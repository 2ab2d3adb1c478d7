// SPDX-License-Identifier: Apache-2.0
//
// A law is a function that draws its own inputs (RapidCheck) and asserts with RC_ASSERT. Each is tried as
// it is, and once more with something put wrong, which must refute it: a law that cannot fail says nothing.
// The seed is fixed: a test is the same each time.
#ifndef DRYCRANK_TESTS_PROPERTIES_LAW_H_
#define DRYCRANK_TESTS_PROPERTIES_LAW_H_

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <sstream>

namespace drycrank {

template <class Law>
testing::AssertionResult Holds(Law law) {
  rc::detail::TestParams params;
  params.seed = 11;
  params.maxSuccess = 200;
  const auto result = rc::detail::checkTestable(law, rc::detail::TestMetadata{}, params);
  if (result.template is<rc::detail::SuccessResult>()) return testing::AssertionSuccess();
  std::ostringstream text;
  rc::detail::printResultMessage(result, text);
  return testing::AssertionFailure() << text.str();
}

// An input was found that breaks it; not that too few inputs could be drawn.
template <class Law>
testing::AssertionResult IsRefuted(Law law) {
  const testing::AssertionResult held = Holds(law);
  if (held) return testing::AssertionFailure() << "no input breaks it";
  const bool found = std::string(held.message()).find("Falsifiable") != std::string::npos;
  return (found ? testing::AssertionSuccess() : testing::AssertionFailure()) << held.message();
}

}  // namespace drycrank

#endif  // DRYCRANK_TESTS_PROPERTIES_LAW_H_
