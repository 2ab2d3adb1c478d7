// SPDX-License-Identifier: Apache-2.0
//
// Tells the service manager (io/service_manager.h) how a run in real time is: ready when its clock
// starts, alive with the samples of the controller's inputs, twice within the time that it gives, and
// ending when nothing is driven any more. What hangs takes no samples, and is ended by the manager too.
#ifndef DRYCRANK_TOOLS_SERVICE_NOTES_H_
#define DRYCRANK_TOOLS_SERVICE_NOTES_H_

#include <string>

#include "io/service_manager.h"
#include "run/observer.h"

namespace drycrank::tools {

class ServiceNotes : public run::RunObserver {
 public:
  explicit ServiceNotes(const std::string& bench) : bench_(bench) {}

  void OnClockStart(TimeNs origin_ns) override;
  void OnSample(TimeNs t_ns) override;
  void OnEnd(const std::string& why, TimeNs t_ns) override;

 private:
  const std::string bench_;
  const io::ServiceManager manager_;
  TimeNs next_ns_ = kNever;  // when it is told again; first when the clock has started
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SERVICE_NOTES_H_
