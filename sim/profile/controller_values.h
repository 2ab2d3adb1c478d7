// SPDX-License-Identifier: Apache-2.0
//
// The values of a controller, in index order: those that every controller has, one per cam, value and
// fault of each channel. What its messages may carry and what the stand-in gives are this one list.
#ifndef DRYCRANK_PROFILE_CONTROLLER_VALUES_H_
#define DRYCRANK_PROFILE_CONTROLLER_VALUES_H_

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/controller_setup.h"

namespace drycrank::profile {

enum class CarriedKind {
  kMeasured,  // a quantity
  kState,     // one of a few words: equal or not
  kCount,     // only grows: tells how long a run was
};

struct OwnValue {
  std::string_view name;
  std::string_view unit;  // canonical; empty: none
  CarriedKind kind;
};
// Those that every controller has.
std::span<const OwnValue> OwnValues();

struct CarriedValue {
  std::string name;
  std::string unit;  // empty: any
};
std::vector<CarriedValue> ControllerValues(const Controller& controller);

// Of a value of controller or display, by the name that a signal carries.
CarriedKind KindOfValue(std::string_view carries);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONTROLLER_VALUES_H_
