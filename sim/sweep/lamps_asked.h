// SPDX-License-Identifier: Apache-2.0
//
// Which lamps are lit at the six questions of a person or of pictures, by what must be shown and in
// the order in which they are asked: one that latches stays lit in the questions that follow. A
// lamp that blinks is left out: one picture does not tell it.
#ifndef DRYCRANK_SWEEP_LAMPS_ASKED_H_
#define DRYCRANK_SWEEP_LAMPS_ASKED_H_

#include <compare>
#include <map>
#include <optional>
#include <set>
#include <string>

#include "profile/bench.h"

namespace drycrank::sweep {

struct AskedPage {
  int page = 1, question = 1;
  friend auto operator<=>(const AskedPage&, const AskedPage&) = default;
};
// The readouts of each page and question whose lamp must be lit there; each one asked has an entry.
using LampsLit = std::map<AskedPage, std::set<std::string>>;
LampsLit LampsLitAt(const profile::Bench& bench);

// The last question of the page at which none of its lamps is lit; nothing: there is none.
std::optional<int> DarkQuestion(const LampsLit& lit, int page);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_LAMPS_ASKED_H_
