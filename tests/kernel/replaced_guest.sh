# SPDX-License-Identifier: Apache-2.0
#
# Read by programs_guest.sh, with its words: what drycrankd does while the interface that it drives becomes
# another one, is bridged to hardware, or the wall clock is set. "Nothing is sent" is by the kernel's own
# count of frames on the wire.
started() {
  drycrankd $car --socket /tmp/replaced.sock "$@" >replaced.txt 2>&1 &
  daemon=$!
  for i in $(seq 100); do
    grep -q "is live" replaced.txt && return
    sleep 0.2
  done
  cat replaced.txt
  fail "drycrankd is not live"
}
status() { drycrank tell --socket /tmp/replaced.sock status; }
stopped() {
  expect 0 '"ok":true' drycrank tell --socket /tmp/replaced.sock stop
  wait $daemon
}
# What may have been under way has left after half a second: then nothing for a second.
silent_on() {
  sleep 0.5
  before=$(sent_on $1)
  sleep 1
  [ "$(sent_on $1)" = "$before" ] || { cat replaced.txt; fail "sent on $1 unasked: $2"; }
}
sends_on() {
  before=$(sent_on $1)
  for i in $(seq 50); do
    [ "$(sent_on $1)" -gt "$((before + 10))" ] && return
    sleep 0.2
  done
  cat replaced.txt
  fail "nothing is sent on $1: $2"
}
rename() { $ip link set $1 down && $ip link set $1 name $2 && $ip link set $2 up || fail "rename $1 $2"; }

echo "arming: an interface that was renamed is driven under neither name until somebody says so"
started $live --arm can0 --by tester
sends_on can0 "armed"
rename can0 away
silent_on away "renamed"
rename away can0
silent_on can0 "renamed back"
expect 0 '"armed":false' status
expect 0 '"armed":"can0"' drycrank tell --socket /tmp/replaced.sock arm can0 by tester
sends_on can0 "armed anew"

echo "arming: another controller that comes under the name of the one pulled out is not driven"
device=$(basename "$(readlink -f /sys/class/net/can0/device)")
echo "$device" >/sys/bus/pci/drivers/kvaser_pci/unbind
rename can1 can0
silent_on can0 "another one of its name"
expect 0 '"armed":false' status
expect 0 '"armed":"can0"' drycrank tell --socket /tmp/replaced.sock arm can0 by tester
sends_on can0 "another one, armed"
stopped
rename can0 can1
echo "$device" >/sys/bus/pci/drivers/kvaser_pci/bind
$ip link set can0 up type can bitrate 500000 || fail "can0 is not back"

echo "arming: a controller that comes in the place of a vcan is not driven"
$ip link add vcan7 type vcan && $ip link set vcan7 up || fail "vcan7"
started --bus vehicle=socketcan:vcan7
sends_on vcan7 "a vcan needs no arming"
$ip link del vcan7
rename can0 vcan7
silent_on vcan7 "a controller by the name of a vcan"
expect 0 '"armed":false' status
stopped
rename vcan7 can0

echo "arming: a job that bridges a vcan to a controller while it is driven stops all frames there"
started --bus vehicle=socketcan:vcan0
sends_on vcan0 "a vcan"
/usr/bin/cangw -A -s vcan0 -d can0 -e || fail "cangw"
silent_on can0 "bridged"
silent_on vcan0 "bridged"
expect 0 '"armed":false' status
/usr/bin/cangw -F
sends_on vcan0 "the job is gone"

echo "the wall clock is set by an hour, both ways: a live bench does not notice"
time_s() { status | sed 's/.*"time_s":\([0-9]*\).*/\1/'; }
begun=$(time_s)
for seconds in 3600 -7200 3600; do
  date -s "@$(($(date +%s) + seconds))" >/dev/null || fail "date -s"
  sleep 1
  sends_on vcan0 "the clock was set by $seconds s"
done
passed=$(($(time_s) - begun))
[ $passed -ge 2 ] && [ $passed -lt 60 ] || fail "$passed s have passed, says drycrankd"
expect 0 '"trouble":""' status
stopped || { cat replaced.txt; fail "drycrankd: exit code $?"; }
