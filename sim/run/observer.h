// SPDX-License-Identifier: Apache-2.0
//
// What a run shows to whoever keeps it: the record, the oscilloscope picture, a progress line. Called
// from the run's own thread; an observer changes nothing. Steps, faults, frames and notes come in
// the order of time, and so do waves, edges, outputs and samples, which may be ahead of them.
#ifndef DRYCRANK_RUN_OBSERVER_H_
#define DRYCRANK_RUN_OBSERVER_H_

#include <cstddef>
#include <string>

#include "bus/frame.h"
#include "standin/controller.h"
#include "types/crank_motion.h"
#include "types/edge.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::run {

class RunObserver {
 public:
  virtual ~RunObserver() = default;
  // The clock runs; `origin_ns`: of time 0, since 1970, and 0 in virtual time. What needs nobody
  // outside may have been played before.
  virtual void OnClockStart(TimeNs /*origin_ns*/) {}
  virtual void OnStep(std::size_t /*step*/, TimeNs /*t_ns*/) {}
  virtual void OnFault(const std::string& /*name*/, bool /*in_force*/, TimeNs /*t_ns*/) {}
  virtual void OnFrame(const bus::TimedFrame& /*frame*/) {}
  virtual void OnWave(int /*input*/, const Wave& /*piece*/) {}
  // A logic edge that the controller stand-in's input circuit made; channel as in its profile.
  virtual void OnEdge(const Edge& /*edge*/) {}
  virtual void OnOutput(const standin::OutputEvent& /*event*/) {}
  // The crank moves so from here on; before the edges and outputs that come of it.
  virtual void OnMotion(const CrankMotion& /*motion*/) {}
  // What a trigger's coil (V) or Hall sensor (1 or 0) gives, how far its cam is advanced: plant/plant.h.
  virtual void OnEmf(int /*trigger*/, const Wave& /*emf*/) {}
  virtual void OnAdvance(int /*trigger*/, double /*deg*/, TimeNs /*t_ns*/) {}
  virtual void OnSample(TimeNs /*t_ns*/) {}
  // A value given by hand, reached over_s after t_ns.
  virtual void OnDrive(int /*stimulus*/, double /*value*/, double /*over_s*/, TimeNs /*t_ns*/) {}
  // By hand: a starter turns the crank from here on, at this mean speed.
  virtual void OnCrank(double /*rpm*/, TimeNs /*t_ns*/) {}
  virtual void OnNote(const std::string& /*note*/, TimeNs /*t_ns*/) {}
  // The bus cannot be observed from here on, until OnObservable; the two alternate for each bus.
  virtual void OnUnobservable(int /*bus*/, const std::string& /*why*/, TimeNs /*t_ns*/) {}
  virtual void OnObservable(int /*bus*/, TimeNs /*t_ns*/) {}
  // Why it ends: "finished", "stopped by INT", "error: ...". OnFinish follows.
  virtual void OnEnd(const std::string& /*why*/, TimeNs /*t_ns*/) {}
  virtual void OnFinish(TimeNs /*t_ns*/) {}
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OBSERVER_H_
