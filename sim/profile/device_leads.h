// SPDX-License-Identifier: Apache-2.0
//
// What is known of a device by its kind alone: what its leads are for, to which terminals they go,
// and what it gives. Stages that ask this need no case for each kind of sensor or pickup.
#ifndef DRYCRANK_PROFILE_DEVICE_LEADS_H_
#define DRYCRANK_PROFILE_DEVICE_LEADS_H_

#include <string>
#include <vector>

#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::profile {

enum class Leads {
  kThree,     // supply, ground, signal
  kTwo,       // signal (plus) and ground (minus), either way round
  kTwoPolar,  // the same, and which is which matters: coil, thermocouple
};

enum class Gives {
  kLevel,   // ohm, volts or a fraction of the supply, that follow the quantity
  kOnOff,   // a contact, open or closed by the quantity
  kPulses,  // a transistor that conducts and does not, in turn
  kCoil,    // an EMF while something passes by
};

struct DeviceLeads {
  Leads leads = Leads::kTwo;
  Gives gives = Gives::kLevel;
  std::string supply;          // kThree
  std::string ground, signal;  // of two leads: minus and plus
  double supply_ohm = 0;       // kThree: current drawn from the supply, as a resistance
  double min_supply_v = 0;     // kThree
  bool ratiometric = false;    // gives a fraction of its supply

  std::vector<std::string> terminals() const {
    if (leads == Leads::kThree) return {supply, ground, signal};
    return {signal, ground};
  }
};

DeviceLeads LeadsOf(const Pickup& pickup);
DeviceLeads LeadsOf(const SensorModel& model);
// The same `gives`, without the rest.
Gives GivenBy(const Pickup& pickup);
Gives GivenBy(const SensorModel& model);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_DEVICE_LEADS_H_
