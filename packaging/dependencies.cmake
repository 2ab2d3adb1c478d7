# SPDX-License-Identifier: Apache-2.0
#
# What the libraries of drycrank are made with, for the build and for whoever uses them installed
# (drycrankConfig.cmake).
find_package(Boost 1.81 REQUIRED)
find_package(Eigen3 3.4 REQUIRED)
find_package(Threads REQUIRED)
find_package(fmt REQUIRED)
find_package(nlohmann_json REQUIRED)
find_package(yaml-cpp REQUIRED)
find_package(PkgConfig REQUIRED)
pkg_check_modules(alsa REQUIRED IMPORTED_TARGET alsa>=1.2)
pkg_check_modules(sndfile REQUIRED IMPORTED_TARGET sndfile)
pkg_check_modules(libcrypto REQUIRED IMPORTED_TARGET libcrypto)
pkg_check_modules(libzip REQUIRED IMPORTED_TARGET libzip)
# Pictures of a display's pages: drawn by Cairo, read by Tesseract. drycrank is built without either where it
# is not there. What Tesseract itself is linked with (it names archive and curl) is its own affair.
if(DRYCRANK_PICTURES)
  pkg_check_modules(cairo IMPORTED_TARGET cairo>=1.16)
  pkg_check_modules(tesseract IMPORTED_TARGET tesseract>=5 lept)
  if(tesseract_FOUND)
    list(FILTER tesseract_LINK_LIBRARIES INCLUDE REGEX "tesseract|lept")
    set_target_properties(PkgConfig::tesseract PROPERTIES INTERFACE_LINK_LIBRARIES
                                                          "${tesseract_LINK_LIBRARIES}")
  endif()
endif()
# Debian's SuiteSparse says nothing of itself to CMake or pkg-config.
find_path(klu_include klu.h PATH_SUFFIXES suitesparse REQUIRED)
find_library(klu_library klu REQUIRED)
set(klu_VERSION)
foreach(part MAIN SUB SUBSUB)
  file(STRINGS ${klu_include}/klu.h line REGEX "^#define KLU_${part}_VERSION ")
  string(REGEX MATCH "[0-9]+$" number "${line}")
  list(APPEND klu_VERSION ${number})
endforeach()
string(JOIN . klu_VERSION ${klu_VERSION})
if(NOT TARGET drycrank::klu)
  add_library(drycrank::klu INTERFACE IMPORTED GLOBAL)
  target_include_directories(drycrank::klu SYSTEM INTERFACE ${klu_include})
  target_link_libraries(drycrank::klu INTERFACE ${klu_library})
endif()
