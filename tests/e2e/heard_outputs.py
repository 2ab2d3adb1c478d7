# SPDX-License-Identifier: Apache-2.0
"""A walk of the shipped hill-climb bench over twins of all kinds of outputs, with the controller in another process.

    drycrank walk --outputs ─► twins: a card (ALSA's plugin `file`), counts of potentiometers and DACs (files in a
    folder as the kernel lays it out), a node on CAN, a supply on TCP ─► levels ─► drycrank standin, its harness
    with the fault ─► messages on a bus ─► the walk judges

Nothing else goes from one to the other: samples through a pipe, and lines "coolant 10000" which are made here of
what the twins hold.
"""
import os
import pathlib
import random
import struct
import subprocess
import threading
import time

RATE, COIL_V = 48000, 12
LOW, HIGH = 10000, 65535  # counts: as many digits all, for a file keeps what is left of a longer number
POTS = {"coolant": 120000, "air": 120000, "oil_temperature": 120000}  # ohm at the highest count
DACS = {"manifold": 5, "oil_pressure": 5}  # volts there
NODE_V = 10  # at 32767: throttle
DRIVES = f"""
drives:
  card:
    kind: sound
    device: card
    rate_hz: {RATE}
    latency_ms: 600
    channels:
      crank: {{output: 1, full_scale_v: {COIL_V}, most_v: 10, corner_hz: 0}}
      cam_intake: {{output: 2, full_scale_v: 2, most_v: 1.5, corner_hz: 0}}
  ohms:
    kind: potentiometer
    channels:
""" + "".join(f"""
      {name}: {{device: FOLDER/{name}, channel: resistance0, at_lowest_ohm: 0, at_highest_ohm: {ohm}, lowest_count: {LOW}, highest_count: {HIGH}}}
""" for name, ohm in POTS.items()) + """
  volts:
    kind: dac
    channels:
""" + "".join(f"""
      {name}: {{device: FOLDER/{name}, channel: voltage0, at_lowest_v: 0, at_highest_v: {volts}, lowest_count: {LOW}, highest_count: {HIGH}}}
""" for name, volts in DACS.items()) + f"""
  box: {{kind: canopen, bus: NODE_BUS, channels: {{throttle: {{analogue: 1, at_highest_v: {NODE_V}}}}}}}
  lab: {{kind: supply, host: 127.0.0.1, port: PORT, channels: {{battery: {{limit_a: 2}}}}}}
"""
CARD = 'pcm.card { type file slave.pcm { type null } file "PIPE" format "raw" }\n'
# As arecord writes it to a pipe: a length that nobody knows. 32 bits, two channels.
WAV = (b"RIFF\xff\xff\xff\xffWAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, RATE, RATE * 8, 8, 32) +
       b"data\xff\xff\xff\xff")


class Lines:
    """Lines of a program, each handed to somebody as it comes."""

    def __init__(self, words, each):
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        self.first = self.process.stdout.readline().strip()
        self.thread = threading.Thread(target=self.read, args=(each,), daemon=True)
        self.thread.start()

    def read(self, each):
        for line in self.process.stdout:
            each(line.strip())

    def end(self):
        self.process.kill()
        self.process.wait()
        self.thread.join()
        self.process.stdout.close()


class Pair:
    """One walk and the controller that hears it, in a folder of their own."""

    def __init__(self, folder, drycrank, node, tests, profiles):
        self.folder, self.drycrank = pathlib.Path(folder), drycrank
        self.going, self.volts, self.on = True, 0.0, False
        self.files = {}
        for name in {**POTS, **DACS}:
            (self.folder / name).mkdir(parents=True)
            self.files[name] = self.folder / name / f"out_{'resistance' if name in POTS else 'voltage'}0_raw"
            self.files[name].write_text(str(LOW))
        for pipe in ("samples", "levels"):
            os.mkfifo(self.folder / pipe)
        # Open for both, so that neither end ends it.
        self.samples, self.levels = (os.open(self.folder / pipe, os.O_RDWR) for pipe in ("samples", "levels"))
        (self.folder / "asoundrc").write_text(CARD.replace("PIPE", str(self.folder / "samples")))
        ports = random.sample(range(45000, 60000), 2)
        self.bus, node_bus = (f"multicast:239.74.163.2:{port}" for port in ports)
        self.supply = Lines(["/usr/bin/python3", f"{tests}/io/instrument.py"], self.of_supply)
        self.node = Lines([node, node_bus], self.of_node)
        drives = DRIVES.replace("FOLDER", str(self.folder)).replace("PORT", self.supply.first)
        bench = (profiles / "benches/hill_climb.yaml").read_text().replace("../parts", str(profiles / "parts"))
        # What no output stands for is unplugged, and the file says so.
        for sensor in ("  wheel_speed:\n    measures:", "  fuel:\n    label:"):
            assert bench.count(sensor) == 1, sensor
            name, key = sensor.split("\n")
            bench = bench.replace(sensor, f"{name}\n    fitted: false\n{key}")
        (self.folder / "bench.yaml").write_text(bench + drives.replace("NODE_BUS", node_bus))
        threading.Thread(target=self.of_files, daemon=True).start()

    def tell(self, name, value):
        os.write(self.levels, f"{name} {value:.6g}\n".encode())

    def of_supply(self, line):
        word, _, value = line.partition(" ")
        if word == "VOLT":
            self.volts = float(value)
        elif word == "OUTP":
            self.on = value == "ON"
        else:
            return
        self.tell("battery", self.volts if self.on else 0)

    def of_node(self, line):
        what, number, count = line.split()
        if (what, number) == ("analogue", "1"):
            self.tell("throttle", int(count) / 32767 * NODE_V)

    def of_files(self):
        last = {}
        while self.going:
            for name, path in self.files.items():
                text = path.read_text()
                if len(text) == len(str(LOW)) and text != last.get(name):  # it is emptied before it is written
                    last[name] = text
                    full = POTS.get(name) or DACS[name]
                    self.tell(name, (int(text) - LOW) / (HIGH - LOW) * full)
            time.sleep(0.01)

    def cable(self, standin):
        """From the card to the stand-in; whatever becomes of that one, a card plays on."""
        data = WAV
        while self.going:
            try:
                standin.stdin.write(data)
                standin.stdin.flush()
            except OSError:
                pass
            data = os.read(self.samples, 65536)

    def walk(self, faults=(), more=()):
        """Exit code, what was said, what the stand-in said."""
        words = [word for fault in faults for word in ("--fault", fault)]
        with open(self.folder / "heard", "w") as heard:
            standin = subprocess.Popen(
                [self.drycrank, "standin", "bench.yaml", "--hear", "-", "--plug", f"crank=1:{COIL_V}", "--plug",
                 "cam_intake=2", "--levels", "levels", "--supply", "0", "--bus", f"vehicle={self.bus}", *words],
                cwd=self.folder, stdin=subprocess.PIPE, stdout=heard, stderr=heard)
        threading.Thread(target=self.cable, args=(standin,), daemon=True).start()
        walk = subprocess.run(
            [self.drycrank, "walk", self.folder / "bench.yaml", "--quiet", "--real-time", "--outputs", "--real", "controller", "--bus",
             f"vehicle={self.bus}", "--arm", "card,ohms,volts,box,lab", "--by", "tester", "--out", self.folder / "outside", *more],
            cwd=self.folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=600,
            env={**os.environ, "ALSA_CONFIG_PATH": str(self.folder / "asoundrc")})
        standin.terminate()
        standin.wait()
        return walk.returncode, walk.stdout + walk.stderr, (self.folder / "heard").read_text()

    def end(self):
        self.going = False
        self.supply.end()
        self.node.end()
        os.write(self.samples, b"\0" * 8)  # wakes the cable
        time.sleep(0.05)
        os.close(self.levels)
