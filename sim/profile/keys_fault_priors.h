// SPDX-License-Identifier: Apache-2.0
//
// Keys of the fault priors, one for each kind of single fault (fault_priors.h), with the usual
// weight of each.
#ifndef DRYCRANK_PROFILE_KEYS_FAULT_PRIORS_H_
#define DRYCRANK_PROFILE_KEYS_FAULT_PRIORS_H_

#include <string_view>

namespace drycrank::profile {

struct FaultPriorKey {
  std::string_view kind;
  double weight;
  std::string_view meaning;
};

inline constexpr double kMinFaultPrior = 1e-6, kMaxFaultPrior = 1e6;

inline constexpr FaultPriorKey kFaultPriorKeys[] = {
    {"wire_open", 1, "A wire broken."},
    {"contact_open", 1, "A contact that does not touch: pushed back, not crimped."},
    {"series_resistance", 0.5, "Extra resistance in a contact or wire."},
    {"short_to_ground", 0.3, "A terminal touches ground."},
    {"short_to_supply", 0.15, "A terminal touches the supply."},
    {"splice_broken_open", 0.2, "A splice broken open."},
    {"terminals_swapped", 0.5,
     "Two wires in each other's place in a small plug, where all pins were crimped at once."},
    {"terminals_of_large_connector_swapped", 0.1, "The same in a large plug."},
    {"neighbours_shorted", 0.2, "Two pins side by side touch."},
    {"connectors_swapped", 0.4, "Two plugs of one family in each other's place."},
    {"not_fitted", 0.4, "A device that was never plugged in."},
    {"plug_off", 0.4, "A plug between two pieces of harness, or of a box, that is not in its place."},
    {"fuse_blown", 3, "A fuse blown or missing."},
    {"relay_stays", 0.5, "A relay that does not pull in, or does not let go; each."},
    {"termination_missing", 0.2, "A termination of a bus missing."},
    {"terminations_all_missing", 0.1, "All terminations of a bus missing."},
    {"termination_too_many", 0.1, "A termination at a node that should have none."},
    {"termination_wrong", 0.05, "A termination of another value."},
    {"pickup_inverted", 0.05, "A Hall sensor whose output is the other way round."},
    {"pickup_weak", 0.1, "A coil too far from its wheel: a fifth of its voltage is left."},
    {"cam_stuck", 0.1, "A cam phaser that stays where it rests."},
    {"cam_slow", 0.05, "A cam phaser that turns slowly: by the step before and the step itself."},
    {"electrical_noise", 0.1, "Edges that no tooth makes, at the signal of a trigger."},
    {"wheel_runout", 0.05, "A wheel off its centre: by the edges that its sensor gave."},
    {"tooth_missing", 0.2, "A tooth of a wheel gone."},
    {"wheel_mounted_wrong", 0.2, "A wheel mounted at another angle."},
    {"wheel_half_a_turn_off", 0.2, "A cam wheel half a turn off: a whole turn of the crank."},
    {"wrong_calibration", 0.3, "The table of another sensor set in the controller."},
    {"controller_told_wrong", 0.8,
     "A setting of the controller: firing order, advance, offset, edge or wheel; each."},
    {"display_byte_order", 0.5, "The display decodes a signal in the other byte order."},
    {"display_scale", 0.4, "The display decodes a signal with another scale."},
    {"display_offset", 0.3, "The display decodes a signal with another offset."},
    {"message_missing", 0.2, "A message is not sent."},
    {"chafe", 0.1, "Two wires that lie together have chafed through; for each wire."},
    {"wires_of_two_plugs_swapped", 0.1, "Two wires in each other's plug, of one family."},
    {"ground_offset", 0.1, "A ground contact loses voltage."},
    {"supply_off", 0.3, "The supply, or a 5 V output, gives more, or less, than the bench says."},
    {"sensor_off", 0.3, "A sensor that reads too high or too low."},
    {"sensor_of_another_curve", 0.2, "A part of another curve in a sensor's place."},
    {"sensor_stuck", 0.2, "A sensor that reads one value whatever it measures."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_FAULT_PRIORS_H_
