# SPDX-License-Identifier: Apache-2.0
#
# Runs in the guest, after socketcan_guest_test: the programs as a person runs them, while their
# interface cannot carry what they send, goes away and comes back. Programs of iproute2 by path, as
# in socketcan_guest.sh.
ip=/usr/bin/ip
bench=/files/profiles/benches/kart.yaml
car=/files/profiles/benches/hill_climb.yaml
scenario=/files/profiles/scenarios/kart/healthy.yaml
cd /tmp || exit 1

fail() {
  echo "FAILED: $1"
  exit 1
}
# expect CODE TEXT COMMAND...: the command's exit code, and a text that its output has.
expect() {
  code=$1 text=$2
  shift 2
  "$@" >out.txt 2>&1
  got=$?
  [ $got = "$code" ] || { cat out.txt; fail "$*: exit code $got, not $code"; }
  grep -q -- "$text" out.txt || { cat out.txt; fail "$*: no \"$text\""; }
}

echo "doctor: names what is wrong, and the command that mends it"
expect 0 "No trouble found" drycrank doctor $car --bus vehicle=socketcan:can0
expect 3 "doctor/classical-for-fd.md" drycrank doctor $bench --bus dash=socketcan:can0
$ip link set can0 down
expect 3 "ip link set can0 up type can bitrate" drycrank doctor $car --bus vehicle=socketcan:can0
$ip link set can0 type can bitrate 125000 listen-only on
$ip link set can0 up
expect 3 "doctor/wrong-bit-rate.md" drycrank doctor $car --bus vehicle=socketcan:can0
grep -q "doctor/listen-only.md" out.txt || fail "doctor: listen-only"
$ip link set can0 down
$ip link set can0 type can bitrate 500000 listen-only off
$ip link set can0 up
/usr/bin/tc qdisc replace dev can0 root netem loss 100%
expect 3 "doctor/dropping-queue.md" drycrank doctor --bus can0
/usr/bin/tc qdisc del dev can0 root
expect 3 "No interface is named can9" drycrank doctor --bus can9
expect 3 "doctor/silent-bus.md" drycrank doctor --bus vcan0 --listen 0.5
expect 2 "give --listen" drycrank doctor --bus vcan0 --arm vcan0

echo "run, drycrankd: FD messages on a classical interface are refused before anything is sent"
# Frames that the controller has sent since it was made, by the kernel's own count.
sent_on() { cat "/sys/class/net/$1/statistics/tx_packets"; }
before=$(sent_on can0)
for program in "drycrank run $scenario --real-time --quiet" "drycrankd $bench"; do
  expect 3 "ip link set can0 up type can bitrate .* dbitrate .* fd on" \
    $program --bus dash=socketcan:can0 --arm can0 --by tester
  grep -q "can0 is classical" out.txt || fail "$program: the cause is not said"
done
[ "$(sent_on can0)" = "$before" ] || fail "refused, and yet something was sent"
$ip link set vcan0 down && $ip link set vcan0 mtu 16 && $ip link set vcan0 up || fail "vcan0 mtu 16"
before=$(sent_on vcan0)
expect 3 "ip link set vcan0 mtu 72" \
  drycrank run $scenario --real-time --quiet --bus dash=socketcan:vcan0
[ "$(sent_on vcan0)" = "$before" ] || fail "refused, and yet something was sent on vcan0"
$ip link set vcan0 down && $ip link set vcan0 mtu 72 && $ip link set vcan0 up || fail "vcan0 mtu 72"

# The same count sees what a bench without FD sends there.
before=$(sent_on can0)
drycrankd $car --socket /tmp/car.sock --bus vehicle=socketcan:can0 --arm can0 --by tester >car.txt 2>&1 &
daemon=$!
sleep 2
expect 0 '"ok":true' drycrank tell --socket /tmp/car.sock stop
wait $daemon || { cat car.txt; fail "drycrankd on can0: exit code $?"; }
[ "$(sent_on can0)" -gt "$before" ] || fail "nothing was sent on can0: the count does not count"

echo "run: goes on while its interface is down, and says so"
drycrank run $scenario --real-time --bus dash=socketcan:vcan0 --out rec --quiet >run.txt 2>&1 &
run=$!
sleep 3
$ip link set vcan0 down
sleep 1
$ip link set vcan0 up
wait $run
run_code=$?
grep -q "not observable from" run.txt || { cat run.txt; fail "run: the stretch is not said"; }
grep -q ",unobservable,dash,interface down" rec/events.csv || fail "run: the stretch is not recorded"
grep -q ",observable,dash" rec/events.csv || fail "run: the end of the stretch is not recorded"
grep -q "receive stamps of the kernel" rec/record.json || fail "run: stamps are not said"

echo "judge: judges the record as the run was judged"
drycrank judge $scenario --record rec >judge.txt 2>&1
[ $? = $run_code ] || { cat run.txt judge.txt; fail "judge: not the run's exit code $run_code"; }
for file in run judge; do grep -E "^(✓|✗|○|\?)" $file.txt >$file.verdicts; done
cmp run.verdicts judge.verdicts || { diff run.verdicts judge.verdicts; fail "judge: other verdicts"; }

echo "drycrankd: outlives its interface, says so, and sends again when it is back"
drycrankd $bench --socket /tmp/drycrank.sock --bus dash=socketcan:vcan0 --out live >daemon.txt 2>&1 &
daemon=$!
sleep 1
expect 0 '"trouble":""' drycrank tell --socket /tmp/drycrank.sock status
$ip link del vcan0
sleep 1
expect 0 '"trouble":"interface down"' drycrank tell --socket /tmp/drycrank.sock status
$ip link add vcan0 type vcan
$ip link set vcan0 up
expect 0 vcan0 candump -n 20 -T 10000 vcan0
$ip link set vcan0 down
sleep 1
$ip link set vcan0 up
expect 0 vcan0 candump -n 20 -T 10000 vcan0
expect 0 '"trouble":""' drycrank tell --socket /tmp/drycrank.sock status
expect 0 '"ok":true' drycrank tell --socket /tmp/drycrank.sock stop
wait $daemon || fail "drycrankd: exit code $?"
[ "$(grep -c ",unobservable,dash,interface down" live/events.csv)" = 2 ] ||
  fail "drycrankd: the two stretches are not in the record"
[ "$(grep -c ",observable,dash" live/events.csv)" = 2 ] || fail "drycrankd: nor are their ends"
[ "$(grep -c "bus dash cannot be observed: interface down" daemon.txt)" = 2 ] ||
  { cat daemon.txt; fail "drycrankd: the stretches are not said"; }

# Whatever reaches can1 on the emulated bus, until it is asked for.
listen() {
  candump can1 >heard.txt 2>/dev/null &
  listener=$!
  sleep 0.3
}
# Is what it heard so many frames ("= 0")? Not in a subshell, which could not wait for the listener.
heard() {
  sleep 0.5
  kill $listener
  wait $listener || true
  [ "$(wc -l <heard.txt)" "$@" ]
}
healthy=/files/profiles/scenarios/hill_climb/healthy.yaml
live="--bus vehicle=socketcan:can0"
echo "arming: without it nothing goes to a real controller, and the cautions come first"
listen
for program in "drycrank run $healthy --real-time $live" "drycrankd $car $live" \
  "drycrank walk $car --real-time $live --out walk"; do
  expect 2 "Nothing was driven" $program
  grep -q "it fires" out.txt || { cat out.txt; fail "$program: no cautions"; }
done
heard = 0 || { cat heard.txt; fail "sent without --arm"; }
listen
timeout -s INT 6 drycrank run $healthy --real-time $live --arm can0 --by "the test" --quiet --out armed >out.txt 2>&1 </dev/null
grep -q "it fires" out.txt || { cat out.txt; fail "run --arm: no cautions"; }
heard -gt 50 || fail "run --arm: sent nothing"
grep -A12 '"armed"' armed/record.json >armed.txt
for word in '"name": "can0"' '"by": "the test"' '"at": "'; do
  grep -q "$word" armed.txt || { cat armed/record.json; fail "run --arm: no $word in the record"; }
done
listen
for words in "--arm can0" "--arm can1 --by tester" "--by tester"; do
  expect 2 "Nothing was driven" drycrank run $healthy --real-time $live $words --quiet </dev/null
done
heard = 0 || { cat heard.txt; fail "sent without both --arm and --by"; }
listen
drycrank doctor --bus can0 --listen 0.3 >out.txt 2>&1 </dev/null
heard = 0 || fail "doctor: sent without --arm"
listen
drycrank doctor --bus can0 --listen 0.3 --arm can0 --by tester >out.txt 2>&1 </dev/null
grep -q "it fires" out.txt || { cat out.txt; fail "doctor --arm: no cautions"; }
heard = 1 || { cat heard.txt; fail "doctor --arm: not one frame"; }

echo "arming: a vcan that a gateway job bridges to a controller is hardware"
/usr/bin/cangw -A -s vcan0 -d can0 -e || fail "cangw"
listen
bridged="--bus vehicle=socketcan:vcan0"
expect 2 "vcan0, by a gateway job to can0" drycrank run $healthy --real-time $bridged --quiet
expect 2 "can0 is not armed" drycrank run $healthy --real-time $bridged --quiet --arm vcan0 --by tester
heard = 0 || { cat heard.txt; fail "sent over a gateway without --arm"; }
expect 0 "doctor/leads-to-hardware.md" drycrank doctor --bus vcan0
listen
timeout -s INT 6 drycrank run $healthy --real-time $bridged --arm can0 --by tester --quiet >out.txt 2>&1 </dev/null
heard -gt 50 || { cat out.txt; fail "run --arm over a gateway: sent nothing"; }
/usr/bin/cangw -F
expect 0 "No trouble found" drycrank doctor --bus vcan0
grep -q "leads-to-hardware" out.txt && fail "doctor: a job that is gone"

echo "arming: a controller taken away and brought back is driven again only when somebody says so"
drycrankd $car --socket /tmp/arm.sock $live --arm can0 --by tester --out pulled >arm.txt 2>&1 &
daemon=$!
sleep 2
expect 0 '"armed":true' drycrank tell --socket /tmp/arm.sock status
device=$(basename "$(readlink -f /sys/class/net/can0/device)")
echo "$device" >/sys/bus/pci/drivers/kvaser_pci/unbind
sleep 1
echo "$device" >/sys/bus/pci/drivers/kvaser_pci/bind
$ip link set can0 up type can bitrate 500000 || fail "can0 is not back"
listen
sleep 1
expect 0 '"armed":false' drycrank tell --socket /tmp/arm.sock status
heard = 0 || { cat heard.txt; fail "another can0 was driven unasked"; }
expect 2 "there is no hardware .can7. here, and nothing was armed" drycrank tell --socket /tmp/arm.sock arm can7 by tester
expect 0 '"armed":"can0"' drycrank tell --socket /tmp/arm.sock arm can0 by Bench crew
listen
sleep 1
expect 0 '"armed":true' drycrank tell --socket /tmp/arm.sock status
expect 0 '"ok":true' drycrank tell --socket /tmp/arm.sock stop
heard -gt 10 || { cat arm.txt; fail "armed again, and nothing was sent"; }
wait $daemon
grep -q "note,bus vehicle: can0 armed by Bench crew" pulled/events.csv || fail "who armed is not recorded"

. /files/kernel/replaced_guest.sh
. /files/kernel/recordings_guest.sh
