// SPDX-License-Identifier: Apache-2.0
//
// Edges as IEEE 1364 value change dump, 1 ns: trigger inputs as the controller's input circuits see
// them, coil and injector outputs. `x`: not known yet.
#ifndef DRYCRANK_RECORD_VCD_H_
#define DRYCRANK_RECORD_VCD_H_

#include <cstdint>
#include <string>
#include <vector>

#include "record/edge_channels.h"
#include "record/text_file.h"
#include "run/observer.h"

namespace drycrank::record {

// Output events lie up to one firing interval ahead of the run, so changes wait here until nothing
// earlier can come.
class VcdWriter : public run::RunObserver {
 public:
  VcdWriter(EdgeChannels channels, const std::string& path);

  // Before the first change: the time at which the dump begins, and the level of each channel then.
  void Begin(TimeNs t_ns, const std::vector<Level>& levels);
  void Add(const ChannelEdge& edge);
  // Nothing before `t_ns` will be added any more.
  void WriteUpTo(TimeNs t_ns);
  void End(TimeNs t_ns);

  void OnEdge(const Edge& edge) override;
  void OnOutput(const standin::OutputEvent& event) override;
  void OnSample(TimeNs t_ns) override;
  void OnFinish(TimeNs t_ns) override { End(t_ns); }

  [[nodiscard]] std::string Close() { return file_.Close(); }
  std::uint64_t changes() const { return changes_; }

 private:
  EdgeChannels channels_;
  TextFile file_;
  std::vector<ChannelEdge> pending_;
  TimeNs last_ns_ = 0;
  std::uint64_t changes_ = 0;
};

// How far an output may lie from the triggers beside it.
inline constexpr TimeNs kEdgeHorizonNs = 60 * kNsPerMs;

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_VCD_H_
