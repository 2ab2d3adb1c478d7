// SPDX-License-Identifier: Apache-2.0
//
// Edges as IEEE 1364 value change dump, 1 ns: trigger inputs as the controller's input circuits see
// them, coil and injector outputs.
#ifndef DRYCRANK_RECORD_VCD_H_
#define DRYCRANK_RECORD_VCD_H_

#include <cstdint>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "record/text_file.h"
#include "run/observer.h"

namespace drycrank::record {

// Output events lie up to one firing interval ahead of the run, so changes wait here until nothing
// earlier can come.
class VcdWriter : public run::RunObserver {
 public:
  // REQUIRES: bench.controller.
  VcdWriter(const profile::Bench& bench, const std::string& path);

  void OnEdge(const Edge& edge) override;
  void OnOutput(const standin::OutputEvent& event) override;
  void OnSample(TimeNs t_ns) override;
  void OnFinish(TimeNs t_ns) override;

  TextFile& file() { return file_; }
  [[nodiscard]] std::string Close() { return file_.Close(); }
  std::uint64_t changes() const { return changes_; }

 private:
  struct Change {
    TimeNs t_ns;
    std::size_t variable;
    bool high;
  };
  void Declare(const std::string& name);
  void Add(TimeNs t_ns, std::size_t variable, bool high);
  void WriteUpTo(TimeNs t_ns);

  const profile::Bench& bench_;
  TextFile file_;
  std::size_t count_ = 0, coils_ = 0, injectors_ = 0;
  std::vector<Change> pending_;
  TimeNs last_ns_ = 0;
  std::uint64_t changes_ = 0;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_VCD_H_
