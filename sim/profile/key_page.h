// SPDX-License-Identifier: Apache-2.0
//
// The tables of keys in words, for people: the page hw-notes/keys.md.
#ifndef DRYCRANK_PROFILE_KEY_PAGE_H_
#define DRYCRANK_PROFILE_KEY_PAGE_H_

#include <string>

namespace drycrank::profile {

// The whole page, as Markdown.
std::string KeyPage();

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEY_PAGE_H_
