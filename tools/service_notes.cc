// SPDX-License-Identifier: Apache-2.0
#include "tools/service_notes.h"

#include "types/plain_text.h"

namespace drycrank::tools {

void ServiceNotes::OnClockStart(TimeNs /*origin_ns*/) {
  manager_.Tell("READY=1\nSTATUS=" + OneLine(bench_) + " is live");
  next_ns_ = 0;
}

void ServiceNotes::OnSample(TimeNs t_ns) {
  if (manager_.watchdog_ns() == kNever || t_ns < next_ns_) return;
  manager_.Tell("WATCHDOG=1");
  next_ns_ = t_ns + manager_.watchdog_ns() / 2;
}

void ServiceNotes::OnEnd(const std::string& why, TimeNs /*t_ns*/) {
  manager_.Tell("STOPPING=1\nSTATUS=" + OneLine(why));
}

}  // namespace drycrank::tools
