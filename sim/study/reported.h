// SPDX-License-Identifier: Apache-2.0
//
// What controller and display reported over a run, as bands: of every value, the least and the
// greatest that was received in each tenth of a second of each step. Two runs of one scenario are
// compared step by step, so that a wait that took longer does no harm:
//
//   healthy band around a moment:  least .. greatest from 0.3 s before to 0.3 s after it
//   deviation at a moment:         how far the other run's band reaches out of that
//   deviation that counts:         what it reached at least throughout half a second, at its
//                                  largest
//
// so that an edge that comes a message later is none, and a single odd frame is none.
#ifndef DRYCRANK_STUDY_REPORTED_H_
#define DRYCRANK_STUDY_REPORTED_H_

#include <string>
#include <vector>

#include "diagnose/reading.h"
#include "profile/scenario_file.h"
#include "report/campaign.h"
#include "run/observer.h"

namespace drycrank::study {

struct Band {
  double low = 0, high = 0;
  bool missing = true;  // nothing came for three periods, at least half a second

  friend bool operator==(const Band&, const Band&) = default;
};

class Reported : public run::RunObserver {
 public:
  // What a value is to whoever reads it.
  enum class Role {
    kValue,    // a number
    kState,    // a number that is equal or not
    kFault,    // the controller says something of itself: more is worse
    kSync,     // less is worse
    kWarning,  // the display's state of a gauge: more is worse
  };
  struct Watched {
    diagnose::Reading reading;
    Role role = Role::kValue;
    double period_ms = 0;
  };

  // Both must outlive it.
  Reported(const profile::Bench& bench, const profile::Scenario& scenario);
  // For another run of the same scenario, in which only these values differ: the others stay.
  void Again(std::vector<bool> anew);

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  void OnFinish(TimeNs t_ns) override;

  const std::vector<Watched>& watched() const { return watched_; }
  // One per tenth of a second of all steps, for a value.
  const std::vector<Band>& bands(std::size_t value) const { return bands_[value]; }
  // Index into these of each step's first; one more at the end.
  const std::vector<std::size_t>& step_begins() const { return begins_; }

 private:
  void CloseBands(TimeNs t_ns);
  void EndStep(TimeNs t_ns);

  // The values of one message.
  struct Heard {
    int bus = 0;
    const profile::Message* message = nullptr;
    std::vector<std::size_t> values;
  };

  std::vector<Heard> heard_;
  std::vector<Watched> watched_;
  std::vector<std::vector<Band>> bands_;
  std::vector<Band> open_;
  std::vector<double> last_;
  std::vector<TimeNs> last_ns_;
  std::vector<TimeNs> most_ns_;  // per value: as old as it may be; kNever: of any age
  std::vector<std::size_t> begins_;
  std::vector<bool> watching_;  // per value
  std::size_t band_count_ = 0;
  TimeNs band_end_ns_ = 0;
  bool on_ = false;
};

struct Differences {
  std::vector<std::string> controller, display;  // what they say that they do not when healthy
  std::vector<report::Effect> effects;           // in the order of the readings
};
// REQUIRES: both of the same bench and the same steps.
Differences Compare(const profile::Scenario& scenario, const Reported& healthy,
                    const Reported& other);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_REPORTED_H_
