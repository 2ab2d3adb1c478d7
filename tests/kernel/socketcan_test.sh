#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Our SocketCAN bus in a kernel that has CAN: see socketcan_guest_test.cc for what is checked.
#
#   socketcan_test.sh SOCKETCAN_GUEST_TEST PROTOCOL_GUEST_TEST DRYCRANK DRYCRANKD
set -euo pipefail
PATH=$PATH:/usr/sbin:/sbin
here=$(dirname "$(readlink -f "$0")")
for tool in ip tc candump cansend canplayer cangw; do
  command -v "$tool" >/dev/null || {
    echo "socketcan_test.sh: no $tool; apt-get install iproute2 can-utils" >&2
    exit 3
  }
done
files=$(mktemp -d)
trap 'rm -rf "$files"' EXIT
cp -r "$here/../../profiles" "$files/profiles"
mkdir "$files/kernel" && cp "$here"/{programs_guest,replaced_guest,recordings_guest}.sh "$files/kernel/"
GUEST_LIMIT_S=${GUEST_LIMIT_S:-780} GUEST_FILES=$files "$here/boot_guest.sh" "$here/socketcan_guest.sh" \
  "vcan vxcan can-gw can-raw can-isotp can-j1939 kvaser_pci sch_tbf sch_netem" \
  "$1" "$2" "$3" "$4" ip tc candump cansend canplayer cangw
