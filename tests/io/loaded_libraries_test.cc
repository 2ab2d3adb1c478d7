// SPDX-License-Identifier: Apache-2.0
#include "io/loaded_libraries.h"

#include <dlfcn.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace drycrank::io {
namespace {

using testing::Contains;
using testing::Each;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

TEST(LoadedLibraries, HasTheCLibraryAndNoFolders) {
  const auto names = LoadedLibraries();
  EXPECT_THAT(names, Contains(StartsWith("libc.so.")));
  EXPECT_THAT(names, Each(Not(HasSubstr("/"))));
  EXPECT_THAT(names, Not(Contains(HasSubstr("vdso"))));
  EXPECT_TRUE(std::ranges::is_sorted(names));
}

// Part of the C library's package, and nothing here is linked with it.
TEST(LoadedLibraries, WhatIsLoadedLaterIsThere) {
  EXPECT_THAT(LoadedLibraries(), Not(Contains(StartsWith("libBrokenLocale.so"))));
  void* library = dlopen("libBrokenLocale.so.1", RTLD_NOW);
  ASSERT_NE(library, nullptr) << dlerror();
  EXPECT_THAT(LoadedLibraries(), Contains(StartsWith("libBrokenLocale.so")));
  dlclose(library);
}

}  // namespace
}  // namespace drycrank::io
