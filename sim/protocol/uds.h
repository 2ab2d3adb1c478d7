// SPDX-License-Identifier: Apache-2.0
//
// The services of ISO 14229-1 that SAE J1979-2 uses:
//
//   22 F4 0C         -> 62 F4 0C 1A F8        data by identifier; F4xx is parameter xx of
//                                             service 01, F802 and F190 the vehicle identification
//                                             number
//   19 02 mask       -> 59 02 mask            trouble codes with one of these status bits: three
//                       [code 00 status]...   bytes each (the third, the failure type, 00: not
//                                             said), then the status
//   19 01 mask       -> 59 01 mask 01 count   how many
//   14 FF FF FF      -> 54                    clear them (also FF FF 33, those of emissions)
//   3E 00            -> 7E 00                 tester present
//   refused          -> 7F service code       (obd.h)
#ifndef DRYCRANK_PROTOCOL_UDS_H_
#define DRYCRANK_PROTOCOL_UDS_H_

#include <cstdint>
#include <span>

#include "protocol/answer_source.h"

namespace drycrank::protocol {

// The answer's length in `out`, which has at least 3 bytes; 0: none is given. To a request to all
// controllers, "not supported" and "out of range" are not answered (ISO 14229-1, table 4).
std::size_t AnswerUds(AnswerSource& source, std::span<const std::uint8_t> request, bool functional,
                      std::span<std::uint8_t> out);

// 7F service 78: the answer comes later.
std::size_t WritePending(std::uint8_t service, std::span<std::uint8_t> out);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_UDS_H_
