# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest: `drycrank run --outputs` plays on the loopback card, `drycrank standin --hear` hears it
# in another process and answers on vcan0, for each line of /files/cases: NAME ARGUMENTS OF THE STAND-IN.
# The records go to the host as text, which judges them (heard_test.py).
while read -r module; do /bin/busybox insmod "/modules/$module" || exit 1; done </modules/order
/bin/busybox mkdir -p /usr/share
/bin/busybox ln -s /files/alsa /usr/share/alsa
/usr/bin/ip link add vcan0 type vcan && /usr/bin/ip link set vcan0 up || exit 1
cd /tmp || exit 1
while read -r name at; do
  # shellcheck disable=SC2086
  drycrank standin /files/bench.yaml --hear hw:Loopback,1,0 --rate 48000 --supply 13.8 $at \
    --bus vehicle=socketcan:vcan0 >"$name.heard" 2>&1 </dev/null &
  standin=$!
  sleep 1
  drycrank run /files/run.yaml --real-time --outputs --arm card --by tester --real controller \
    --bus vehicle=socketcan:vcan0 --quiet --out "$name" >"$name.said" 2>&1 </dev/null
  echo "$name: run's exit code $?"
  kill -INT $standin
  wait $standin
  echo "$name: stand-in's exit code $?"
  /bin/busybox cat "$name.heard"
  /bin/busybox grep -E "circuits proven" "$name.said"
  /bin/busybox grep ",note,.*ppm" "$name/events.csv"
done </files/cases
/bin/busybox rm -f ./*/frames.pcapng ./*/report.html ./*/edges.bin
/bin/busybox tar -cf all.tar ./*
echo "RECORDS BEGIN"
/bin/busybox gzip -c all.tar | /bin/busybox base64
echo "RECORDS END"
exit 0
