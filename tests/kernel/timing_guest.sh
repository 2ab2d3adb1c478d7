# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest, with vcan0. Programs of iproute2 by path: the shell would take its own.
while read -r module; do
  /bin/busybox insmod "/modules/$module" || exit 1
done </modules/order
/usr/bin/ip link add vcan0 type vcan && /usr/bin/ip link set vcan0 up || exit 1
timing_guest_test --gtest_color=no
