#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Slow outputs in a kernel that has their drivers: see output_guest_test.cc for what is checked.
#
#   output_test.sh OUTPUT_GUEST_TEST DRYCRANK_GUARD
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
GUEST_LIMIT_S=${GUEST_LIMIT_S:-240} "$here/boot_guest.sh" "$here/output_guest.sh" \
  "uhid hid-cp2112 i2c-dev i2c-stub ds4424" "$1" "$2"
