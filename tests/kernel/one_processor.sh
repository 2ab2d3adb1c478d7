# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest: a program with the other processors taken away, and given back after it.
#
#   sh one_processor.sh PROGRAM ARGUMENT...
for online in /sys/devices/system/cpu/cpu[1-9]*/online; do
  echo 0 >"$online" || exit 1
done
"$@"
code=$?
for online in /sys/devices/system/cpu/cpu[1-9]*/online; do
  echo 1 >"$online" || exit 1
done
exit "$code"
