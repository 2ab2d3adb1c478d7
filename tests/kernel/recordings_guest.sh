# SPDX-License-Identifier: Apache-2.0
#
# Read by programs_guest.sh, with its words: recordings of can-utils that we read, and recordings of
# ours that canplayer plays, frame for frame.
listening() { until grep -q "^ *vcan0 " /proc/net/can/rcvlist_all; do sleep 0.1; done; }
frames_of() { cut -d ' ' -f 3 "$1"; }

echo "convert: a file of candump -l comes back byte for byte, by way of pcapng"
mkdir dumped && cd dumped || exit 1
candump -l -n 9 -T 20000 "vcan0,0:0,#FFFFFFFF" >/dev/null 2>&1 &
dump=$!
listening
for frame in 123#0102030405060708 18FEEE00#82 7FF# 007#R 007#R4 321##5000102030405060708090A0B \
  01ABCDEF##400 00000001#00 20000004#0020000000000000; do
  cansend vcan0 $frame || fail "cansend $frame"
done
wait $dump || fail "candump -l: exit code $?"
cd ..
dumped=$(echo dumped/candump-*.log)
expect 0 "9 frames" drycrank convert "$dumped" dumped.pcapng
expect 0 "9 frames" drycrank convert dumped.pcapng again.log
cmp "$dumped" again.log || { cat "$dumped" again.log; fail "convert: not what candump wrote"; }
sed 's/123#01/123#02/' "$dumped" >wrong.log
if cmp -s wrong.log again.log; then fail "cmp does not see a wrong byte"; fi

# play FILE COUNT AS: what candump sees, in played.log, while canplayer plays a recording whose
# interface is AS.
play() {
  candump -L -n "$2" -T 20000 vcan0 >played.log 2>&1 &
  dump=$!
  listening
  canplayer -I "$1" -t -g 1 "vcan0=$3" || fail "canplayer: exit code $?"
  wait $dump
}

echo "canplayer: plays our recordings, every frame as it was"
# candump without an error mask, as here, shows no error reports: left out.
grep -v 20000004 again.log >ours.log
play ours.log 8 vcan0
frames_of ours.log >wanted.txt
frames_of played.log >got.txt
cmp wanted.txt got.txt || { diff wanted.txt got.txt; fail "canplayer: other frames"; }

expect 0 "" drycrank run $scenario --quiet --out played_run --recording run.log
expect 0 "frames" drycrank convert run.log some.log --from 0.5 --to 1.5
count=$(wc -l <some.log)
[ "$count" -ge 100 ] || fail "only $count frames in a second of a run"
play some.log "$count" dash
frames_of some.log >wanted.txt
frames_of played.log >got.txt
cmp wanted.txt got.txt || { diff wanted.txt got.txt | head; fail "canplayer: other frames of a run"; }
sed '50d' some.log >less.log
if frames_of less.log | cmp -s - got.txt; then fail "cmp does not see a lost frame"; fi
