#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Every ISO-TP message length, 1 to 4095, between ours and the guest kernel's can-isotp, both ways. By
# hand: the test that runs each time (socketcan_test.sh) samples them.
#
#   every_length.sh PROTOCOL_GUEST_TEST
set -euo pipefail
PATH=$PATH:/usr/sbin:/sbin
here=$(dirname "$(readlink -f "$0")")
files=$(mktemp -d)
trap 'rm -rf "$files"' EXIT
script=$files/script
cat >"$script" <<'GUEST'
while read -r module; do
  /bin/busybox insmod "/modules/$module" || exit 1
done </modules/order
/usr/bin/ip link add vcan0 type vcan && /usr/bin/ip link set vcan0 up || exit 1
EVERY_LENGTH=1 protocol_guest_test --gtest_color=no --gtest_filter='Links/*Messages/Bits11'
GUEST
GUEST_FILES=$files GUEST_LIMIT_S=3000 "$here/boot_guest.sh" "$script" "vcan can-raw can-isotp" "$1" ip
