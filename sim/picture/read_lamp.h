// SPDX-License-Identifier: Apache-2.0
//
// Whether a lamp is lit: its colour now beside its colour in a picture in which it is dark. Colour
// is the share of red and green in all light, which a camera's exposure leaves alone; brightness is
// told against the ground beside the lamp and the page's own. What lies between dark and lit is
// doubtful, so is a colour that chance could have made of a dark lamp: in little light, noise alone
// moves the shares, and a lamp that shines in another colour than its name says is too.
#ifndef DRYCRANK_PICTURE_READ_LAMP_H_
#define DRYCRANK_PICTURE_READ_LAMP_H_

#include <string>

#include "picture/raster.h"

namespace drycrank::picture {

// A page in a picture, and how bright its brightest parts are: its text, or its paper.
struct SeenPage {
  View view;
  double brightness = 0;
};
SeenPage SeePage(const Raster& raster, const Corners& corners, double width, double height);

struct LampReading {
  bool is_lit = false;
  std::string doubt;  // empty: it is believed
  // It is darker and paler than where it must be dark: that picture shows it lit, and tells nothing
  // of it in any other.
  bool is_lit_where_dark = false;
};
LampReading ReadLamp(const SeenPage& now, const SeenPage& dark, const Box& lamp,
                     const std::string& name);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_READ_LAMP_H_
