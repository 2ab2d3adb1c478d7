# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest: first without CAN in the kernel, then with vcan0 and two controllers can0 and can1
# on one bus. Programs of iproute2 by path: the shell would take its own of the same name.
socketcan_guest_test --gtest_color=no --gtest_filter='NoCan.*' || exit 1

while read -r module; do
  /bin/busybox insmod "/modules/$module" || exit 1
done </modules/order

/usr/bin/ip link add vcan0 type vcan && /usr/bin/ip link set vcan0 up || exit 1
for can in can0 can1; do
  /usr/bin/ip link set "$can" up type can bitrate 500000 || exit 1
done
socketcan_guest_test --gtest_color=no --gtest_filter='-NoCan.*' || exit 1
protocol_guest_test --gtest_color=no || exit 1
sh /files/kernel/programs_guest.sh
