// SPDX-License-Identifier: Apache-2.0
//
// Parts drawn by a seed into a bench as text (random_bench.h):
//
//   in-line plugs   a wire cut in two at a pin of a bulkhead plug, both halves of one circuit
//   fuses           a wire of the feed cut in two at a fuse box, one pin in and one out
//   relays          a wire of the feed cut in two at its contact; its coil between splices at the
//                   battery's poles, with a diode or resistor across it or neither. Some rest: their
//                   coil hangs at minus with both ends, and the wire goes through the contact that is
//                   closed while they rest
//   diodes          from the battery to a coil
//
// Quantities lie between round numbers. The same seed gives the same text.
#ifndef DRYCRANK_TESTS_SUPPORT_DRAWN_PARTS_H_
#define DRYCRANK_TESTS_SUPPORT_DRAWN_PARTS_H_

#include <cstdint>
#include <string>

namespace drycrank::support {

// `yaml` as DrawBench writes it.
std::string WithParts(const std::string& yaml, std::uint64_t seed);

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_DRAWN_PARTS_H_
