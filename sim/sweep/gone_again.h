// SPDX-License-Identifier: Apache-2.0
//
// After how long a value is gone, measured on a computer that does other things as well: what was
// sent or heard late makes one measurement wrong, and seldom the next.
#ifndef DRYCRANK_SWEEP_GONE_AGAIN_H_
#define DRYCRANK_SWEEP_GONE_AGAIN_H_

#include <functional>
#include <optional>

namespace drycrank::sweep {

using MeasureGone = std::function<std::optional<double>()>;  // s; nothing: never
// Where it is not `must_s`, three times at most (ours, no source): the first that is, or the middle
// one of the three. `again`: the value stands there as before; false: it cannot be measured again.
// What is never gone is not waited for again.
std::optional<double> GoneMeasured(double must_s, const MeasureGone& measure,
                                   const std::function<bool()>& again);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_GONE_AGAIN_H_
