#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# The package on a Debian 12 with nothing on it: installed, used by a user without rights, taken off again.
# By hand: it needs root, debootstrap and Debian's archive.
#
#   tests/e2e/bare_install.sh build/release/packages/drycrank_0.1.0_amd64.deb FOLDER
#
# FOLDER becomes the root of that Debian (kept, for the next time).
set -euo pipefail
package=$(readlink -f "$1") root=$(readlink -f "$2")

[ -d "$root/etc/apt" ] || debootstrap --variant=minbase bookworm "$root"
cp /etc/resolv.conf "$root/etc/"
for d in proc dev; do mountpoint -q "$root/$d" || mount --rbind "/$d" "$root/$d"; done
trap 'for d in proc dev; do umount -l "$root/$d" 2>/dev/null || true; done' EXIT
cp "$package" "$root/tmp/drycrank.deb"
in_root() { chroot "$root" env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin TERM=dumb DEBIAN_FRONTEND=noninteractive "$@"; }
as_user() { in_root su - fitter -c "$1"; }
# Every file, folder and link there is, but what apt and dpkg keep for themselves.
everything() {
  in_root find / -xdev \( -path /proc -o -path /dev -o -path /sys -o -path /tmp -o -path /var/lib/dpkg -o -path /var/lib/apt \
    -o -path /var/cache -o -path /var/log -o -path /home -o -path /etc/ld.so.cache \) -prune -o -print | sort
}

in_root apt-get update -qq
in_root apt-get install -y -qq --no-install-recommends man-db bash-completion >/dev/null
in_root id fitter >/dev/null 2>&1 || in_root useradd -m -s /bin/bash fitter
in_root apt-get purge -y -qq drycrank >/dev/null 2>&1 || true
in_root apt-get autoremove -y -qq --purge >/dev/null
everything >"$root/tmp/before"

in_root apt-get install -y -qq --no-install-recommends /tmp/drycrank.deb >/dev/null
everything >"$root/tmp/between"
echo "installed: $(diff "$root/tmp/before" "$root/tmp/between" | grep -c '^>') paths, with what it depends on"
as_user "drycrank --version && drycrankd --version"
as_user "rm -rf out; drycrank run /usr/share/drycrank/profiles/scenarios/kart/healthy.yaml --out out/healthy | tail -n 3"
as_user "drycrank walk /usr/share/drycrank/profiles/benches/kart.yaml --out out/walk | tail -n 3" || [ $? -eq 4 ]
as_user "man drycrank | head -n 4 && man drycrankd | head -n 4"
as_user 'source /usr/share/bash-completion/bash_completion; _completion_loader drycrank || true; COMP_WORDS=(drycrank wa); COMP_CWORD=1; _drycrank; echo "completed: ${COMPREPLY[*]}"'
for path in share/drycrank/profiles/schema/bench.schema.json share/drycrank/profiles/schema/scenario.schema.json \
            lib/systemd/user/drycrankd@.service share/doc/drycrank/copyright share/doc/drycrank/licences/libcli11-dev \
            share/doc/drycrank/examples/70-drycrank-can.rules share/doc/drycrank/hw-notes/cautions.md; do
  [ -s "$root/usr/$path" ] || { echo "missing: /usr/$path"; exit 1; }
done

in_root apt-get purge -y -qq drycrank >/dev/null
in_root apt-get autoremove -y -qq --purge >/dev/null
everything >"$root/tmp/after"
if ! diff "$root/tmp/before" "$root/tmp/after"; then
  echo "something is left, or gone"
  exit 1
fi
echo "taken off: nothing is left"
