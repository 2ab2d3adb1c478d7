#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Prints the folder of an unpacked Debian kernel (boot/vmlinuz-*, lib/modules/*), fetching it on first
# use. Nothing is installed: the package is unpacked into a cache outside the repository,
# ${XDG_CACHE_HOME:-$HOME/.cache}/drycrank. Needs apt with package lists, dpkg and kmod.
set -euo pipefail
PATH=$PATH:/usr/sbin:/sbin

cache=${XDG_CACHE_HOME:-${HOME:?}/.cache}/drycrank
package=$(apt-cache depends linux-image-amd64 | awk '/Depends: linux-image-/ {print $2; exit}')
if [ -z "$package" ]; then
  echo "guest_kernel.sh: apt knows no linux-image-amd64; run: apt-get update" >&2
  exit 1
fi
folder=$cache/$package
if [ ! -f "$folder/complete" ]; then
  mkdir -p "$cache"
  fresh=$(mktemp -d "$cache/fetch.XXXXXX")
  trap 'rm -rf "$fresh"' EXIT
  # The download's own log goes to stderr: stdout carries the answer only.
  (cd "$fresh" && apt-get -qq -o APT::Sandbox::User=root download "$package") >&2
  dpkg -x "$fresh/$package"_*.deb "$fresh/root"
  rm -f "$fresh"/*.deb
  depmod -b "$fresh/root" "${package#linux-image-}"
  touch "$fresh/root/complete"
  rm -rf "$folder"
  mv -T "$fresh/root" "$folder"
fi
echo "$folder"
