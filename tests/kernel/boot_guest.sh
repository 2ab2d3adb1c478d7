#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Boots Debian's own kernel under QEMU with a small root file system in memory, runs a shell script in
# it and exits with the script's code: for tests of what this machine's kernel may lack.
#
#   boot_guest.sh SCRIPT MODULES PROGRAM...    MODULES: "vcan can-raw ..."; found by the script in
#                                              /modules/order, dependencies first. Programs, with their
#                                              libraries, land in /usr/bin. The folder named by
#                                              GUEST_FILES, if it is set, is /files there. It is given
#                                              GUEST_LIMIT_S (540) seconds.
#
# The guest's time is counted in its instructions, 2 ns each, and passes at once while it waits: a machine
# of 500 million instructions a second, however busy this one is.
#
# Needs qemu-system-x86 busybox-static cpio kmod. Two emulated CAN controllers sit on one bus. Software
# emulation is asked for by name: a /dev/kvm that is there but does not work makes QEMU hang.
set -euo pipefail
PATH=$PATH:/usr/sbin:/sbin
here=$(dirname "$(readlink -f "$0")")
script=$1 modules=$2
shift 2

for tool in qemu-system-x86_64 busybox cpio modprobe depmod apt-get; do
  command -v "$tool" >/dev/null || {
    echo "boot_guest.sh: no $tool; apt-get install qemu-system-x86 busybox-static cpio kmod" >&2
    exit 3
  }
done
kernel=$("$here/guest_kernel.sh")
version=$(basename "$kernel"/boot/vmlinuz-*)
version=${version#vmlinuz-}

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
root=$work/root
mkdir -p "$root"/{bin,usr/bin,proc,sys,dev,tmp,modules}
cp "$(command -v busybox)" "$root/bin/busybox"
ln -s busybox "$root/bin/sh"
cp "$script" "$root/script"
if [ -n "${GUEST_FILES:-}" ]; then cp -r "$GUEST_FILES" "$root/files"; fi
for program in "$@"; do cp -L "$(command -v "$program")" "$root/usr/bin/"; done
for program in "$root"/usr/bin/*; do
  ldd "$program" 2>/dev/null | awk '/=> \// {print $3} /ld-linux/ {print $1}' || true
done | sort -u | while read -r library; do cp -L --parents "$library" "$root/"; done

for module in $modules; do
  modprobe -d "$kernel" -S "$version" --show-depends "$module" | awk '/^insmod/ {print $2}'
done | awk '!seen[$0]++' | while read -r file; do
  cp "$file" "$root/modules/"
  basename "$file" >>"$root/modules/order"
done

cat >"$root/init" <<'INIT'
#!/bin/sh
export PATH=/usr/bin:/bin
/bin/busybox mount -t proc proc /proc
/bin/busybox mount -t sysfs sys /sys
/bin/busybox mount -t devtmpfs dev /dev
sh /script
echo "guest exit code $?"
/bin/busybox poweroff -f
INIT
chmod +x "$root/init"
(cd "$root" && find . | cpio --quiet -o -H newc | gzip -1 >"$work/initrd.gz")

timeout "${GUEST_LIMIT_S:-540}" qemu-system-x86_64 -accel tcg,thread=single -icount shift=1,sleep=off \
  -cpu max -smp 1 -m 512 \
  -display none -monitor none -serial stdio -no-reboot -nic none \
  -kernel "$kernel/boot/vmlinuz-$version" -initrd "$work/initrd.gz" \
  -append "console=ttyS0 quiet panic=-1" \
  -object can-bus,id=bus0 -device kvaser_pci,canbus=bus0 -device kvaser_pci,canbus=bus0 \
  </dev/null | stdbuf -oL tr -d '\r' | tee "$work/console"

code=$(sed -n 's/^guest exit code //p' "$work/console" | tail -n 1)
if [ -z "$code" ]; then
  echo "boot_guest.sh: the guest did not come to its end" >&2
  exit 3
fi
exit "$code"
