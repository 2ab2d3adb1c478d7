// SPDX-License-Identifier: Apache-2.0
//
// A stand-in for the engine controller. It knows what a controller knows: the voltages at its own
// terminals, its own configuration, its own clock. From edges it finds the gap of the crank wheel,
// the cycle phase from the cam, speed and cam angle; from volts it makes values by its own tables.
//
// Values it has, by name, for messages to carry:
//   engine_speed (rpm)          sync_state 0 stopped, 1 searching, 2 position known, 3 synchronised
//   sync_losses (count)         sync_reason: see SyncReason; stays until synchronised again
//                               A stop (kNoTeeth) or missing supply is not counted as a loss.
//   cam_angle.CHANNEL (deg)     crank degrees by which the cam is earlier than configured
//   supply_voltage (V)          cycles, injections, ignitions, sensor_faults (counts)
//   protection.NAME             1 while it acts, else 0 (protections.h)
//   NAME, NAME.fault            per analogue and frequency channel; fault 0 none, 1 signal low,
//                               2 signal high, 3 no signal
#ifndef DRYCRANK_STANDIN_CONTROLLER_H_
#define DRYCRANK_STANDIN_CONTROLLER_H_

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "types/edge.h"
#include "types/output_event.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::standin {

enum class SyncState { kStopped = 0, kSearching = 1, kPositionKnown = 2, kSynchronised = 3 };

enum class SyncReason {
  kNone = 0,
  kNoTeeth = 1,        // no crank edges for stall_ms
  kGapNotFound = 2,    // more than a turn and a half of teeth, and no gap where one must be
  kToothEarly = 3,     // an interval shorter than the pattern allows: extra edge, noise
  kToothLate = 4,      // an interval longer than the pattern allows: missing tooth or edge
  kCamMissing = 5,     // no cam edge for more than a cycle
  kCamUnexpected = 6,  // cam edges where none should be
  kCamAmbiguous = 7,   // cam edges fit both halves of the cycle
  kNoSupply = 8,       // supply below its minimum
  kNoCamTold = 9,      // only a cam could tell what is missing, and none is told
};
const char* Name(SyncState state);
const char* Name(SyncReason reason);

// What it does at its outputs.
using drycrank::OutputEvent;
using drycrank::OutputKind;

class Controller {
 public:
  // REQUIRES: bench.controller. The bench must outlive it. Only its controller section, its
  // protections and the messages are read.
  explicit Controller(const profile::Bench& bench);
  ~Controller();
  Controller(Controller&&) noexcept;

  // The voltage at input `input` (index into controller.inputs) from piece.begin_ns on. Pieces of
  // one input come in order of their begin. Inputs without edges to find ignore them.
  void OnWave(int input, const Wave& piece);
  // Voltages at all inputs, its own supply and reference outputs, every sample_ms.
  void OnSample(TimeNs t_ns, std::span<const double> input_v, double supply_v,
                std::span<const double> reference_v);
  // From now on samples are converted for analogue channels at these inputs alone.
  void ConvertOnly(std::span<const int> inputs);
  // Everything up to t_ns has been seen: edges that lie before it are worked, time-outs run.
  void Advance(TimeNs t_ns);

  // Index of a value by name, -1 if it has none of that name.
  int ValueIndex(std::string_view name) const;
  double Value(int index) const;
  SyncState sync_state() const;
  SyncReason sync_reason() const;
  // False since a sample said that its supply is below min_supply_v: it does nothing and says
  // nothing on the bus.
  bool powered() const;

  // Output events since the last call, in time order per output.
  std::span<const OutputEvent> TakeOutputs();
  // The logic edges its input circuits made of the waves, since the last call; channel = index into
  // controller.triggers. For the oscilloscope picture.
  std::span<const Edge> TakeEdges();

  // Faults of kind `calibration`: the channel's table is wrong from now on / right again.
  void SetCalibration(const std::string& channel, const profile::fault::Calibration& table,
                      bool in_force);

  // Faults of kind `told`: from now on it is set up with them and without, and starts anew with that.
  void SetTold(const profile::Fault& told, bool in_force);

  // Edges and output events lost because they were not taken in time. Zero in a sound run.
  std::int64_t dropped() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

// The names of all values a controller with this configuration has, in index order, but for those of
// its protections, which come after them. Needs no instance, so that a profile can be checked against
// it.
std::vector<std::string> ControllerValueNames(const profile::Controller& controller);

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_CONTROLLER_H_
