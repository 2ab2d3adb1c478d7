// SPDX-License-Identifier: Apache-2.0
//
// Pictures of a display by a camera, one for each question of a person's sweep, while the values go out
// on the bus: page1_question1.jpg and so on, as drycrank display sweep --picture reads them.
#ifndef DRYCRANK_TOOLS_DISPLAY_CAMERA_H_
#define DRYCRANK_TOOLS_DISPLAY_CAMERA_H_

#include <string>
#include <vector>

#include "sweep/person.h"
#include "tools/echo_screen.h"

namespace drycrank::tools {

// Those that are there already are kept. Empty, or what failed.
[[nodiscard]] std::string TakePictures(const profile::Bench& bench,
                                       const std::vector<profile::Readout>& readouts,
                                       const std::string& camera, const std::string& folder,
                                       EchoScreen& screen);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_CAMERA_H_
