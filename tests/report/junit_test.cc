// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/report.h"
#include "tests/report/demo_report.h"
#include "tests/report/markup_check.h"

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Junit, IsWhatAParserOfItsSchemaReads) {
  DemoReport demo;
  EXPECT_TRUE(MarkupIsSound("junit", "junit.xml", JunitXml(demo.report)));
}

// Twins: the check can fail.
TEST(Junit, CheckRefusesBrokenMarkup) {
  EXPECT_FALSE(MarkupIsSound("junit", "junit_broken.xml", "<testsuites><testsuite>"));
  EXPECT_FALSE(MarkupIsSound("junit", "junit_count.xml",
                             "<testsuites><testsuite name='a' tests='2' failures='0' errors='0' "
                             "time='1'/></testsuites>"));
}

TEST(Junit, FailureCarriesWhatItMeans) {
  DemoReport demo;
  const std::string xml = JunitXml(demo.report);
  EXPECT_THAT(xml, HasSubstr("failure message=\"The controller takes the coolant for far hotter"));
  EXPECT_THAT(xml, HasSubstr("type=\"not_observed\">the display sent nothing"));
  EXPECT_THAT(xml, HasSubstr("circuit: cam_return, CMP.2 to ECU.31, grey"));
  EXPECT_THAT(xml, HasSubstr("tests=\"9\" failures=\"5\" errors=\"0\" time=\"20.000\""));
  MakeHealthy(demo);
  EXPECT_THAT(JunitXml(demo.report), Not(HasSubstr("<failure")));
}

TEST(Junit, WhatCouldNotBeObservedIsAnError) {
  DemoReport demo;
  MakeHealthy(demo);
  demo.report.verdicts[0].outcome = check::Outcome::kNotObservable;
  demo.report.verdicts[0].detail = "not received; not observable from 1.000 s to 2.000 s";
  const std::string xml = JunitXml(demo.report);
  EXPECT_TRUE(MarkupIsSound("junit", "junit_unseen.xml", xml));
  EXPECT_THAT(xml, HasSubstr("failures=\"0\" errors=\"1\""));
  EXPECT_THAT(xml, HasSubstr("<error message=\"not received; not observable from 1.000 s"));
}

// idle lasts from 2 s to 20 s.
TEST(Junit, CaseLastsAsLongAsItsSteps) {
  DemoReport demo;
  demo.scenario.expectations[4].during = {"idle"};
  EXPECT_THAT(JunitXml(demo.report), HasSubstr("name=\"temps_period\" time=\"18.000\""));
  EXPECT_THAT(JunitXml(demo.report), HasSubstr("name=\"temps_counter\" time=\"20.000\""));
}

TEST(Junit, NamesAreEscaped) {
  DemoReport demo;
  demo.scenario.name = "a<\"b'>&\x02";
  demo.scenario.expectations[0].name = "</testcase>";
  demo.scenario.expectations[0].means = "\"<&\xFF";
  demo.report.verdicts[0].detail = "]]>";
  const std::string xml = JunitXml(demo.report);
  EXPECT_TRUE(MarkupIsSound("junit", "junit_escaped.xml", xml));
  EXPECT_THAT(xml, HasSubstr("name=\"&lt;/testcase&gt;\""));
}

}  // namespace
}  // namespace drycrank::report
