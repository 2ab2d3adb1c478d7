// SPDX-License-Identifier: Apache-2.0
//
// Two columns of a CSV file (csv_records.h) as a broken line. The first line names the columns;
// fields are separated by commas, numbers have decimal points.
#ifndef DRYCRANK_YAML_CSV_H_
#define DRYCRANK_YAML_CSV_H_

#include <string>

#include "types/points.h"
#include "yaml/problems.h"
#include "yaml/reader.h"

namespace drycrank::yaml {

// `x` and `y` name the columns. Problems name line and column (in bytes) of the CSV file.
Points ReadCsvPoints(Problems& problems, const std::string& file, const std::string& text,
                     const Ref& x, const Ref& y, const Range& x_range, const Range& y_range);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_CSV_H_
