#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Cyclic frames of a run beside the kernel's broadcast manager: see timing_guest_test.cc.
#
#   timing_test.sh TIMING_GUEST_TEST
set -euo pipefail
PATH=$PATH:/usr/sbin:/sbin
here=$(dirname "$(readlink -f "$0")")
for tool in ip canbusload; do
  command -v "$tool" >/dev/null || {
    echo "timing_test.sh: no $tool; apt-get install iproute2 can-utils" >&2
    exit 3
  }
done
exec "$here/boot_guest.sh" "$here/timing_guest.sh" "vcan can-raw can-bcm" "$1" ip canbusload
