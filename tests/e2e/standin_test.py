#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""standin_test.py DRYCRANK: `drycrank standin --hear` hears wheels that are made here, by numpy, as a WAV file and as a
pipe; what it says on the multicast bus is read by python-can and decoded here.

In a network namespace of its own (needs root and Debian's iproute2), so that no other test is on the bus.
"""
import os
import pathlib
import subprocess
import sys
import tempfile
import threading
import wave

import can
import numpy

import sound_bench

SET_UP = "ip link set lo up && ip route add 239.74.163.2/32 dev lo"
if os.environ.get("DRYCRANK_OWN_NETWORK") != "1":
    path = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"
    os.execvpe("unshare", ["unshare", "--net", "sh", "-c", f'{SET_UP} && exec "$@"', "sh", sys.executable, *sys.argv],
               {**os.environ, "PATH": path, "DRYCRANK_OWN_NETWORK": "1"})

DRYCRANK = os.path.abspath(sys.argv[1])
RATE, SECONDS, RPM = 48000, 4, 1500
GROUP, PORT = "239.74.163.2", 43113
EARS = ["--at", "ECU.3=1:5", "--at", "ECU.7=2:-3.33:2.5"]


def wheels(cam_late=0.0):
    """Both channels, -1..1, 6 degrees a second for each r/min; a lobe of 3 degrees each side of a tooth's centre."""
    deg = numpy.arange(SECONDS * RATE) / RATE * RPM * 6
    at = (deg - sound_bench.CENTRE) % 360
    place = (at + 3) % 6 - 3  # from the centre of the tooth here
    tooth = numpy.round((at - place) / 6).astype(int) % 60
    crank = numpy.where(tooth < 58, -0.8 * numpy.sin(numpy.pi * place / 3), 0)
    cam = numpy.where((deg - sound_bench.CAM - cam_late) % 720 < 360, 0.75, -0.75)
    return numpy.stack([crank, cam], axis=1)


def write(path, samples):
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((samples * 32767).astype("<i2").tobytes())


class Bus:
    """What comes on the multicast bus while it is open: (speed, sync, cam angle or None) of each message 0x120."""

    def __enter__(self):
        self.bus = can.Bus(interface="udp_multicast", channel=GROUP, port=PORT)
        self.seen, self.ended = [], False
        self.thread = threading.Thread(target=self.read)
        self.thread.start()
        return self

    def read(self):
        while not self.ended:
            message = self.bus.recv(0.1)
            if message and message.arbitration_id == 0x120:
                data = bytes(message.data)
                speed, sync = int.from_bytes(data[:2], "little") / 4, data[2] & 15
                self.seen.append((speed, sync, int.from_bytes(data[4:6], "little", signed=True) / 10, message.timestamp))

    def __exit__(self, *_):
        self.ended = True
        self.thread.join()
        self.bus.shutdown()


def standin(source, *options, stdin=None, bench="bench.yaml"):
    return subprocess.Popen([DRYCRANK, "standin", bench, "--hear", source, "--supply", "13.8", *options],
                            stdin=stdin or subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=stdin is None)


def hear(source, *options):
    with Bus() as bus:
        process = standin(source, "--bus", "vehicle=multicast", *options)
        out, err = process.communicate(timeout=60)
    return process.returncode, out + err, bus.seen


def test_file(folder):
    write(folder / "w.wav", wheels())
    code, said, seen = hear("w.wav", *EARS)
    assert code == 0 and "synchronised" in said and "heard 4.000 s" in said, said
    late = seen[len(seen) // 2:]
    assert len(seen) > 0.8 * SECONDS * 50, f"{len(seen)} messages in {SECONDS} s of one each 20 ms"
    assert all(abs(speed - RPM) <= 2 and sync == 3 and abs(cam) <= 0.2 for speed, sync, cam, _ in late), late[-5:]
    took = seen[-1][3] - seen[0][3]
    assert SECONDS - 0.5 < took < SECONDS + 2, f"not at its own time: {took} s"


def test_cam_elsewhere(folder):
    """The twin: five degrees of the crank late, and it says so."""
    write(folder / "late.wav", wheels(cam_late=5))
    code, said, seen = hear("late.wav", *EARS)
    assert code == 0, said
    assert all(sync == 3 and abs(cam + 5) <= 0.2 for _, sync, cam, _ in seen[len(seen) // 2:]), seen[-5:]


def test_deaf(folder):
    """A cam that it does not hear is an open pin, and said to be one; nothing is made up for it."""
    code, said, seen = hear("w.wav", "--at", "ECU.3=1:5")
    assert code == 0 and "ECU.7 is neither heard nor told, an open pin: 5 V" in said, said
    assert all(sync < 3 for _, sync, _, _ in seen) and abs(seen[-1][0] - RPM) <= 2, seen[-3:]
    code, said, seen = hear("w.wav", "--at", "ECU.7=2:-3.33:2.5")
    assert code == 0 and all(speed == 0 and sync == 0 for speed, sync, _, _ in seen) and seen, seen[-3:]


def test_unpowered(folder):
    code, said, seen = unpowered()
    assert code == 0 and not seen, said


def unpowered():
    with Bus() as bus:
        process = subprocess.run([DRYCRANK, "standin", "bench.yaml", "--hear", "w.wav", "--supply", "3", *EARS, "--bus",
                                  "vehicle=multicast"], capture_output=True, text=True, timeout=60)
    return process.returncode, process.stdout + process.stderr, bus.seen


def test_pipe(folder):
    """As arecord writes one: a length that nobody knew."""
    raw = bytearray((folder / "w.wav").read_bytes())
    raw[40:44] = raw[4:8] = b"\xff\xff\xff\xff"
    with Bus() as bus:
        process = standin("-", *EARS, "--bus", "vehicle=multicast", stdin=subprocess.PIPE)
        out, err = process.communicate(bytes(raw), timeout=60)
    assert process.returncode == 0 and b"synchronised" in out and b"heard 4.000 s" in out, out + err
    assert bus.seen[-1][1] == 3, bus.seen[-3:]


def test_plugs(folder):
    """The same wheels at the plugs of crank and cam, through the bench's wires; what is open there is not heard."""
    plugs = ["--plug", "crank=1:5", "--plug", "cam=2"]
    code, said, seen = hear("w.wav", *plugs)
    assert code == 0 and all(abs(speed - RPM) <= 2 and sync == 3 and abs(cam) <= 0.2
                             for speed, sync, cam, _ in seen[len(seen) // 2:]), said + str(seen[-5:])
    code, said, seen = hear("w.wav", *plugs, "--fault", "{kind: open, at: crank_plus}")
    assert code == 0 and "faults in its wires: 1" in said and all(speed == 0 for speed, *_ in seen) and seen, seen[-3:]
    code, said, seen = hear("w.wav", *plugs, "--fault", "{kind: terminals_swapped, at: CKP.1, with: CKP.2}")
    assert code == 0 and seen and abs(seen[-1][0] - RPM) > 2 or seen[-1][1] != 3 or abs(seen[-1][2]) > 0.2, seen[-3:]
    # The cam's own supply feeds no output.
    code, said, seen = hear("w.wav", *plugs, "--fault", "{kind: open, at: cam_supply}")
    assert code == 0 and seen[-1][1] == 3, said


def test_levels(folder):
    """A supply that is told with a line, and a line that is none."""
    (folder / "levels").write_text("battery 3\n")
    with Bus() as bus:
        process = standin("w.wav", "--bus", "vehicle=multicast", "--plug", "crank=1:5", "--levels", "levels")
        _, err = process.communicate(timeout=60)
    assert process.returncode == 0 and not bus.seen, err
    bench = (folder / "bench.yaml").read_text()
    assert bench.count("ECU: {pins: 8}}") == 1
    (folder / "switch.yaml").write_text(bench.replace("ECU: {pins: 8}}", "ECU: {pins: 8}, DOOR: {pins: 2}}").replace(
        "\ndrives:\n", "\ndrives:\n  relays: {kind: gpio, chip: /dev/gpiochip0, channels: {door: {line: 0}}}\n") + """
stimuli: {door: {unit: count, min: 0, max: 1}}
sensors: {door: {measures: door, kind: switch, closed_at: 0.5, plus: DOOR.1, minus: DOOR.2}}
""")
    for line, right in (("coolant hot", "levels:2: 'coolant hot' is no line as coolant 10000"), ("nothing 3", "no sensor that an output"),
                        ("coolant nan", "levels:2: 'coolant nan' is no line"), ("coolant inf", "levels:2: 'coolant inf' is no line"),
                        ("door 7", "levels:2: 'door' is a switch, and 7 is no state of one; write 0 for open or 1 for closed")):
        (folder / "levels").write_text("battery 3\n" + line + "\n")
        process = standin("w.wav", "--bus", "vehicle=multicast", "--plug", "crank=1:5", "--levels", "levels", bench="switch.yaml")
        _, err = process.communicate(timeout=60)
        assert process.returncode == 2 and right in err, f"{line}: {process.returncode}: {err}"


def test_words(folder):
    """Each bad word is refused with what would be right, before anything is sent."""
    bus = ["--bus", "vehicle=multicast"]
    for words, right in ((["--at", "ECU.9=1:5", *bus], "no input of the controller; it has ECU.3, ECU.7"),
                         (["--at", "ECU.3=0:5", *bus], "channels are 1 to"), (["--at", "ECU.3=1", *bus], "as ECU.3=1:5"),
                         (["--at", "ECU.3=1:5", "--at", "ECU.3=2:5", *bus], "ECU.3 hears already"),
                         (["--at", "ECU.3=3:5", *bus], "channel 3; w.wav has 2"), (EARS, "give --bus"),
                         (bus, "it hears nothing"), (["--level", "ECU.7=high", "--at", "ECU.3=1:5", *bus], "as ECU.20=1.8"),
                         ([*EARS, "--level", "ECU.7=1", *bus], "leave out one"),
                         (["--plug", "crank=1", *bus], "say its volts at full scale"),
                         (["--plug", "cam=2:5", *bus], "on or off"), (["--plug", "none=1:5", *bus], "has crank, cam"),
                         (["--plug", "crank=0:5", *bus], "channels are 1 to"),
                         (["--plug", "crank=1:5", "--plug", "crank=2:5", *bus], "has a channel already"),
                         (["--plug", "crank=3:5", *bus], "channel 3; w.wav has 2"),
                         (["--plug", "crank=1:5", *EARS, *bus], "go past the wires"),
                         (["--fault", "{kind: open, at: CKP.1}", *bus], "go with --plug"),
                         (["--plug", "crank=1:5", "--levels", "none", *bus], "none: No such file"),
                         (["--plug", "crank=1:5", "--fault", "{kind: open, at: X.1}", *bus], "fault:1:"),
                         (["--plug", "crank=1:5", "--fault", "{kind: wheel_offset, at: crank, deg: 3}", *bus],
                          "none of the wires"),
                         (["--plug", "crank=1:5", "--fault", "{kind: open, at: CKP.1, from_s: 1}", *bus],
                          "all the time")):
        process = standin("w.wav", *words)
        _, err = process.communicate(timeout=20)
        assert process.returncode == 2 and right in err, f"{words}: {process.returncode}: {err}"
    for source, code, right in (("none.wav", 2, "there is no file"), ("bench.yaml", 2, "bench.yaml"), ("hw:77", 3, "arecord -L")):
        process = standin(source, *EARS, *bus)
        _, err = process.communicate(timeout=20)
        assert process.returncode == code and right in err, f"{source}: {process.returncode}: {err}"


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        os.chdir(folder)
        (folder / "bench.yaml").write_text(sound_bench.bench("null"))
        for test in (test_file, test_cam_elsewhere, test_deaf, test_unpowered, test_pipe, test_plugs, test_levels, test_words):
            test(folder)
            print(test.__name__, "ok", flush=True)
        os.chdir("/")


main()
