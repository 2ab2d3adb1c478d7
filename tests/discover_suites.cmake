# SPDX-License-Identifier: Apache-2.0
#
# Run after a test program is linked: writes LIST, one ctest entry for each test suite of PROGRAM, or
# for each test of the suites that match EACH. A suite is a process: starting one for each of 1,300
# tests costs more than most of them.
#
#   cmake -D PROGRAM=... -D LIST=... -D EACH=REGEX -D TIMEOUT=S -P discover_suites.cmake
execute_process(COMMAND ${PROGRAM} --gtest_list_tests OUTPUT_VARIABLE listed RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "${PROGRAM} --gtest_list_tests: ${failed}")
endif()
string(REGEX REPLACE "[[;]|]" "_" listed "${listed}")  # parameters are listed with their values
string(REPLACE "\n" ";" lines "${listed}")

set(text "")
function(add_entry name filter)
  string(APPEND text "add_test([=[${name}]=] [=[${PROGRAM}]=] [=[--gtest_filter=${filter}]=])\n"
                     "set_tests_properties([=[${name}]=] PROPERTIES TIMEOUT ${TIMEOUT})\n")
  set(text "${text}" PARENT_SCOPE)
endfunction()

set(suite "")
foreach(line IN LISTS lines)
  if(line MATCHES "^([^ #]+)\\.( |$)")  # "Suite.", "Instance/Suite."
    set(suite "${CMAKE_MATCH_1}")
    if(NOT "${EACH}" STREQUAL "" AND suite MATCHES "${EACH}")
      set(each TRUE)
    else()
      set(each FALSE)
      add_entry("${suite}" "${suite}.*")
    endif()
  elseif(line MATCHES "^  ([^ #]+)" AND each)
    add_entry("${suite}.${CMAKE_MATCH_1}" "${suite}.${CMAKE_MATCH_1}")
  endif()
endforeach()
if(suite STREQUAL "")
  message(FATAL_ERROR "${PROGRAM} lists no test")
endif()
file(WRITE ${LIST} "${text}")
