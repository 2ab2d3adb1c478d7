# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest: GPIO lines by a played USB bridge, and a DAC on an I2C bus that is memory.
while read -r module; do
  case $module in
    i2c-stub.ko) /bin/busybox insmod "/modules/$module" chip_addr=0x10 || exit 1 ;;
    *) /bin/busybox insmod "/modules/$module" || exit 1 ;;
  esac
done </modules/order
output_guest_test --gtest_color=no
