// SPDX-License-Identifier: Apache-2.0
//
// Expectations to margins to verdicts. Sees what can be seen from outside: frames of the buses, what
// the controller's trigger inputs and outputs do, and the stimuli and the crank's motion, since it
// ordered them. Fed in time order, live, in virtual time or from a record, it
// gives the same verdicts: they are a function of the feed and its order alone. Ours (`sent`) and
// others' frames count alike. What each kind of expectation judges, and how its margin is reckoned,
// stands at the head of follows.cc (wanted.h), conditions.cc, comes_true.cc, line_conditions.cc, messages.cc,
// display_shows.cc, clean_bus.cc, firing.cc,
// firing_order.cc and cam_edges.cc; when it is judged, in judge.h. Frames are read by the bench's
// layouts, never by the display's own.
#ifndef DRYCRANK_CHECK_CHECKER_H_
#define DRYCRANK_CHECK_CHECKER_H_

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "bus/frame.h"
#include "check/quiet.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "scenario/timeline.h"
#include "types/crank_motion.h"
#include "types/edge.h"
#include "types/output_event.h"
#include "types/time.h"

namespace drycrank::check {

enum class Outcome {
  kMet,
  kFailed,
  kNotObserved,    // nothing came that could be judged: counts as failed
  kNotObservable,  // the bus could not be observed when it mattered: neither met nor failed
};
// Something was judged, so that there is a margin and a worst moment.
constexpr bool WasJudged(Outcome outcome) {
  return outcome == Outcome::kMet || outcome == Outcome::kFailed;
}

// A stretch in which a bus could not be observed, or did not carry what was sent: nothing seen in
// it proves or refutes. Begin equal to end: frames were lost at that instant.
struct Stretch {
  TimeNs begin_ns = 0, end_ns = 0;
  std::string bus;  // "vehicle"
  std::string why;  // "interface down"
};
// "from 3.200 s to 4.100 s (bus vehicle: interface down)"
std::string StretchInWords(const Stretch& stretch);

// The stretch of signal around the worst moment, thinned to at most kMaxTracePoints.
struct TracePoint {
  TimeNs t_ns = 0;
  double reported = 0;
  double wanted = 0;
  double tolerance = 0;  // band is wanted +- tolerance; 0: none
};
inline constexpr std::size_t kMaxTracePoints = 600;
struct Evidence {
  std::string quantity;  // "engine_temps.coolant"
  std::string unit;
  std::vector<TracePoint> points;
};

struct Verdict {
  int expectation = 0;
  Outcome outcome = Outcome::kNotObserved;
  // In margin_unit; negative = violated. 0 and failed: a strict limit was touched, or the run ended
  // before something came true whose time was not up.
  double margin = 0;
  std::string margin_unit;
  // What the margin is a share of, in margin_unit: half the band at the worst moment, which a ramp
  // widens (wanted.h), or the longest gap allowed. margin <= allowed. 0: what the expectation says.
  double allowed = 0;
  TimeNs worst_ns = 0;       // when the margin was smallest
  std::uint64_t judged = 0;  // messages received, or moments, that were judged
  std::uint64_t wrong = 0;   // of the cycles judged, where cycles are
  std::string detail;        // "reported 141.0 °C, should be 90.0 °C ± 2.0 °C"
  Evidence evidence;
  // Within its judged time, and left out of it; at most the first kMaxStretches of them.
  std::vector<Stretch> stretches;
  std::size_t stretch_count = 0;
};
inline constexpr std::size_t kMaxStretches = 8;

// What is thought of a message that stays away while an expectation is judged by it (silence.h). Passed
// over: for frames that were picked, as an excerpt is.
enum class Silence { kMeetsNothing, kPassedOver };

class Checker {
 public:
  // All three must outlive it. The timeline is read at the time of what is fed in; the caller moves
  // it.
  Checker(const profile::Bench& bench, const profile::Scenario& scenario,
          const scenario::Timeline& timeline, Silence silence = Silence::kMeetsNothing);
  ~Checker();

  // The timeline has just begun step `step` at t_ns.
  void OnStep(std::size_t step, TimeNs t_ns);
  void OnFrame(const bus::TimedFrame& frame);
  // The crank moves so from motion.begin_ns on. Edges and outputs come in the order of their time, those
  // before a step before that step; they may come later than frames do.
  void OnMotion(const CrankMotion& motion);
  void OnEdge(const Edge& edge);
  void OnOutput(const OutputEvent& event);
  // Does any expectation look at edges, outputs and motion? Else nobody needs to bring them.
  bool WatchesEvents() const;
  // From here on, until OnObservable, nothing is judged by this bus; after it settle_s passes
  // again. The bus's frames may still be fed. REQUIRES: the two alternate for each bus.
  void OnUnobservable(int bus, TimeNs t_ns, const std::string& why);
  void OnObservable(int bus, TimeNs t_ns);
  // The run ends at t_ns: what was still to come did not.
  void Finish(TimeNs t_ns);

  const std::vector<Verdict>& verdicts()
      const;  // one per expectation, in their order; after Finish
  bool AllMet() const;
  // When the controller sent nothing; after Finish.
  const std::vector<QuietStretch>& quiet() const;

 private:
  struct Impl;
  void ShowBus(const bus::TimedFrame& frame);
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_CHECKER_H_
