// SPDX-License-Identifier: Apache-2.0
//
// Two columns of a CSV file (csv_records.h) as a broken line. The first line names the columns;
// fields are separated by commas, numbers have decimal points.
#ifndef DRYCRANK_PROFILE_CSV_H_
#define DRYCRANK_PROFILE_CSV_H_

#include <string>

#include "profile/bench.h"
#include "profile/problems.h"
#include "profile/yaml_reader.h"

namespace drycrank::profile {

// `x` and `y` name the columns. Problems name line and column (in bytes) of the CSV file.
Points ReadCsvPoints(Problems& problems, const std::string& file, const std::string& text,
                     const Ref& x, const Ref& y, const Range& x_range, const Range& y_range);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CSV_H_
