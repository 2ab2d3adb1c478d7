// SPDX-License-Identifier: Apache-2.0
//
// Several lambdas as one callable: what std::visit asks for a variant, one case a kind.
#ifndef DRYCRANK_TYPES_OVERLOADED_H_
#define DRYCRANK_TYPES_OVERLOADED_H_

namespace drycrank {

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};

template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;  // clang guesses it from 17 on

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_OVERLOADED_H_
