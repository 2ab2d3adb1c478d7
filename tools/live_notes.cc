// SPDX-License-Identifier: Apache-2.0
#include "tools/live_notes.h"

#include <unistd.h>

#include <cstdio>

#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::tools {

LiveNotes::LiveNotes(const profile::Bench& bench)
    : bench_(bench),
      terminal_("standard output", fdopen(dup(STDOUT_FILENO), "w")),
      background_({&terminal_}, std::chrono::milliseconds(20)) {}

void LiveNotes::OnSample(TimeNs /*t_ns*/) { terminal_.Flush(); }

void LiveNotes::OnFault(const std::string& name, bool in_force, TimeNs t_ns) {
  terminal_.Line("{:.3f} s: fault {} {}", ToSeconds(t_ns), OneLine(name),
                 in_force ? "put in" : "taken out");
}

void LiveNotes::OnNote(const std::string& note, TimeNs t_ns) {
  terminal_.Line("{:.3f} s: {}", ToSeconds(t_ns), OneLine(note));
}

void LiveNotes::OnUnobservable(int bus, const std::string& why, TimeNs t_ns) {
  terminal_.Line("{:.3f} s: bus {} cannot be observed: {}", ToSeconds(t_ns),
                 Nth(bench_.buses, bus).name, OneLine(why));
}

void LiveNotes::OnObservable(int bus, TimeNs t_ns) {
  terminal_.Line("{:.3f} s: bus {} can be observed again", ToSeconds(t_ns),
                 Nth(bench_.buses, bus).name);
}

}  // namespace drycrank::tools
