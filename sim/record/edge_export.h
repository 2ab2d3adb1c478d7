// SPDX-License-Identifier: Apache-2.0
//
// The edges of a record (edge_file.h) in forms that general tools open, for a window of its time:
//   edges.csv    T,CHANNEL,0|1                      triggers
//   outputs.csv  T,coil|injector,CYLINDER,on|off
//   edges.vcd    both, as a value change dump (vcd.h) that begins with the levels at the window's begin
// T: ns since the start of the run. The CSV files have no header.
#ifndef DRYCRANK_RECORD_EDGE_EXPORT_H_
#define DRYCRANK_RECORD_EDGE_EXPORT_H_

#include <cstdint>
#include <string>
#include <vector>

#include "bus/recording.h"
#include "types/time.h"

namespace drycrank::record {

struct EdgeWindow {
  TimeNs from_ns = 0;
  TimeNs to_ns = kNever;  // not in it any more
};

struct [[nodiscard]] ExportedEdges {
  std::string problem;  // empty on success
  bool is_bad_input = false;
  std::uint64_t edges = 0, outputs = 0;
  std::vector<bus::Damage> damage;  // the first of it; what is good was written
};

ExportedEdges ExportEdges(const std::string& record, const EdgeWindow& window,
                          const std::string& folder);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_EDGE_EXPORT_H_
