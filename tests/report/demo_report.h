// SPDX-License-Identifier: Apache-2.0
//
// An invented run on an invented bench, for tests of the report: four expectations met, two failed,
// one without anything to judge; three circuits, a crank and cam picture.
#ifndef DRYCRANK_TESTS_REPORT_DEMO_REPORT_H_
#define DRYCRANK_TESTS_REPORT_DEMO_REPORT_H_

#include <string>

#include "report/report.h"

namespace drycrank::report {

struct DemoReport {
  profile::Bench bench;
  profile::Scenario scenario;
  Report report;  // points at the two above

  DemoReport();
  DemoReport(const DemoReport&) = delete;
  DemoReport& operator=(const DemoReport&) = delete;

  // Adds an expectation and its verdict; both can be changed further.
  profile::Expectation& Add(const std::string& name, profile::ExpectationKind kind,
                            check::Outcome outcome, double margin, const std::string& unit);
  profile::expect::Follows CoolantFollows() const;
};

// Only expectations that are met, and no fault.
void MakeHealthy(DemoReport& demo);

}  // namespace drycrank::report

#endif  // DRYCRANK_TESTS_REPORT_DEMO_REPORT_H_
