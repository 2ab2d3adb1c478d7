// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_SWEEP_CSV_FIELDS_H_
#define DRYCRANK_SWEEP_CSV_FIELDS_H_

#include <string>
#include <vector>

namespace drycrank::sweep {

// The fields of one line; a quoted one may hold commas (RFC 4180).
std::vector<std::string> FieldsOf(const std::string& line);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_CSV_FIELDS_H_
