// SPDX-License-Identifier: Apache-2.0
#include "profile/sections.h"

#include <algorithm>
#include <cassert>
#include <iterator>

#include "profile/answers.h"
#include "profile/keys_bench.h"
#include "profile/keys_fault_priors.h"
#include "profile/make_section.h"

namespace drycrank::profile {
namespace {

Part FaultPriorKeys() {
  Part part;
  for (const FaultPriorKey& prior : kFaultPriorKeys) {
    part.keys.push_back({prior.kind,
                         Number("", kMinFaultPrior, kMaxFaultPrior),
                         prior.meaning,
                         {},
                         Written(prior.weight),
                         true});
  }
  return part;
}

Part AnswerKeys() {
  static const std::string_view words[] = {Name(Answer::kYes), Name(Answer::kNo),
                                           Name(Answer::kSkip), Name(Answer::kNotFitted),
                                           Name(Answer::kDark), Name(Answer::kOnlyDashes)};
  return {.keys = {{"NAME",
                    OneOf(words),
                    "An output of the controller, or a circuit: does it work? The first letter is "
                    "enough; f is not_fitted. Of a bus with nodes: 'display', where it only listens: "
                    "does it show values, or is it dark, or shows nothing but dashes? And "
                    "'termination_BUS': does the meter show the ohms that it should?",
                    {},
                    "asked"}}};
}

}  // namespace

const std::vector<SectionInfo>& Sections() {
  static const std::vector<SectionInfo> all = [] {
    std::vector<SectionInfo> sections = {
        {"bench",
         "a bench file",
         "All that stands on the table. Any mapping may have the key include: a file, or a list of "
         "files, whose keys are merged in; own keys win.",
         {Always(kBenchKeys)}}};
    const auto add = [&](std::vector<SectionInfo> more) {
      std::ranges::move(more, std::back_inserter(sections));
    };
    add(DeviceSections());
    add(BusSections());
    add(ControllerSections());
    sections.push_back({"fault_priors",
                        "the fault priors",
                        "How likely each kind of fault is beside the others. Weights, not shares; "
                        "common practice, no source.",
                        {FaultPriorKeys()}});
    add(ScenarioSections());
    sections.push_back({"answers",
                        "an answers file",
                        "What a person would say on a walk, for one that nobody sits beside; as "
                        "YAML, or as CSV with the first line circuit,answer.",
                        {AnswerKeys()}});
    return sections;
  }();
  return all;
}

const SectionInfo& SectionNamed(std::string_view name) {
  const auto at = std::ranges::find(Sections(), name, &SectionInfo::name);
  assert(at != Sections().end());
  return *at;
}

}  // namespace drycrank::profile
