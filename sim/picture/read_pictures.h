// SPDX-License-Identifier: Apache-2.0
//
// Pictures of a display as a witness: one for each question that a person would be asked (sweep/person.h),
// page1_question3.png or .jpg in one folder, read by its marks. What is doubtful is listed with the
// reason, and is no reading.
#ifndef DRYCRANK_PICTURE_READ_PICTURES_H_
#define DRYCRANK_PICTURE_READ_PICTURES_H_

#include <string>
#include <vector>

#include "picture/marks.h"
#include "sweep/person.h"

namespace drycrank::picture {

struct PictureReading {
  sweep::Reading reading;  // its text is empty when nothing could be read
  double confidence = 0;   // [0, 1]
  std::string doubt;       // empty: it is believed
};

inline constexpr char kNoPicture[] = "there is no picture of it";
struct MissingPicture {
  int question = 0, page = 0;
  std::string name;  // "page1_question4.png": with the ending that the others have
};

struct PicturesRead {
  std::vector<PictureReading> readings;
  std::vector<std::string> problems;  // nothing was read; each with its remedy
  std::vector<MissingPicture> missing = {};  // of pages that are marked
};
PicturesRead ReadPictures(const profile::Bench& bench, const Marks& marks,
                          const std::string& folder);

// Those that are believed.
std::vector<sweep::Reading> Believed(const PicturesRead& read);
// "question,page,readout,reading,lamp,confidence,doubt", a line each.
inline constexpr char kReadTitle[] = "# drycrank: what was read from pictures";
std::string TextOf(const PicturesRead& read);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_READ_PICTURES_H_
