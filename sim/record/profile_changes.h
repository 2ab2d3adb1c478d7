// SPDX-License-Identifier: Apache-2.0
//
// A record holds the profile files as they were read. Judged against others it may say something else
// than the day's report: so each difference is said.
#ifndef DRYCRANK_RECORD_PROFILE_CHANGES_H_
#define DRYCRANK_RECORD_PROFILE_CHANGES_H_

#include <string>
#include <vector>

namespace drycrank::record {

// "hill_climb.yaml is not as it was at that run, from line 305 on"; of files that only one of the two read; of another
// version of the program. `files`: those read now. `is_live`: a bench run live read no scenario, so that what
// it did not read is no difference. Nothing for a record without a list of its files.
std::vector<std::string> ProfileChanges(const std::string& folder,
                                        const std::vector<std::string>& files,
                                        const std::string& version, bool is_live);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_PROFILE_CHANGES_H_
