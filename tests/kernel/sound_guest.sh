# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest: what is played on the loopback card is recorded by arecord and printed as text for
# the host, which decodes it (sound_test.py). The player stands still once, until the card has run dry.
while read -r module; do /bin/busybox insmod "/modules/$module" || exit 1; done </modules/order
/bin/busybox mkdir -p /usr/share
/bin/busybox ln -s /files/alsa /usr/share/alsa
cd /tmp || exit 1
arecord -q -D hw:Loopback,1,0 -t raw -f S32_LE -r 48000 -c 2 -d 11 heard.raw &
recorder=$!
sound_player hw:Loopback,0,0 10.5 5 1.2 || exit 1
wait $recorder
# 16 bits are enough to look at: the upper half of each number.
/bin/busybox od -An -v -t d4 -w8 heard.raw | /bin/busybox awk '{printf "%d %d\n", $1 / 65536, $2 / 65536}' >heard.txt
echo "SAMPLES BEGIN"
/bin/busybox gzip -c heard.txt | /bin/busybox base64
echo "SAMPLES END"
exit 0
