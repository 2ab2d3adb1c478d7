#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""sound_run_test.py DRYCRANK: `drycrank run --outputs` with a sound card of ALSA's own plugins `file` and `null`,
which take each sample and keep it. What was written is decoded by sound_bench.py, which has the wheels as angles.
"""
import json
import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import time

import numpy

import sound_bench

CONFIG = """
pcm.card { type file slave.pcm { type null } file "HEARD" format "raw" }
"""


class Case:
    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.heard = self.folder / "heard.raw"
        (self.folder / "asoundrc").write_text(CONFIG.replace("HEARD", str(self.heard)))
        (self.folder / "bench.yaml").write_text(sound_bench.bench("card", latency_ms=600))
        (self.folder / "run.yaml").write_text(sound_bench.scenario(running_s=4))

    def start(self, *options):
        return subprocess.Popen([sys.argv[1], "run", self.folder / "run.yaml", "--real-time", "--outputs", "--quiet", *options],
                                env={**os.environ, "ALSA_CONFIG_PATH": str(self.folder / "asoundrc")},
                                stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def run(self, *options):
        out = subprocess.run([sys.argv[1], "run", self.folder / "run.yaml", "--real-time", "--outputs", "--quiet", *options],
                             env={**os.environ, "ALSA_CONFIG_PATH": str(self.folder / "asoundrc")},
                             stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120)
        return out.returncode, out.stdout + out.stderr

    def samples(self):
        raw = numpy.fromfile(self.heard, dtype="<i4").astype(float) / 2**31
        return raw[: len(raw) // 2 * 2].reshape(-1, 2)


def check_refused(case):
    code, said = case.run()
    assert code == 2 and "card" in said and "Nothing was driven" in said, f"{code}: {said}"
    code, said = case.run("--arm", "other", "--by", "tester")
    assert code == 2, f"armed by another name: {code}: {said}"
    assert not case.heard.exists() or case.heard.stat().st_size == 0, "refused, and yet something was played"


def check_disarmed(case):
    assert case.run("--disarmed")[0] == 0
    assert not case.heard.exists() or not numpy.any(case.samples()), "not armed, and yet there is a wave"


def check_played(case):
    out = case.folder / "out"
    code, said = case.run("--arm", "card", "--by", "tester", "--out", str(out))
    assert code == 0, f"{code}: {said}"
    samples = case.samples()
    stretches = sound_bench.parts(samples)
    print("heard from, to:", [(round(a / sound_bench.RATE, 3), round(b / sound_bench.RATE, 3)) for a, b in stretches])
    # The crank turns from here to there; the cam has its level before it, too.
    turning = numpy.nonzero(numpy.abs(samples[:, 0]) > 0.3)[0]
    begin, end, second = turning[0], turning[-1], sound_bench.RATE
    for name, rpm, (a, b) in (("running", 1200, (begin + second // 5, begin + 3 * second)),
                              ("slower", 900, (end - 3 * second, end - second // 5))):
        of = sound_bench.Decoded(samples, a, b)
        print(f"{name}: {of.turns} turns, {of.rpm:.3f} r/min, a tooth off by {of.worst:.4f} degrees, cam edges off "
              f"by {min(of.cam):.4f} to {max(of.cam):.4f}")
        assert of.turns > 30 and of.teeth == {58}, of.teeth
        assert abs(of.rpm / rpm - 1) < 1e-3, of.rpm
        assert of.worst < 0.05 and len(of.cam) > 20 and max(map(abs, of.cam)) < 0.05, (of.worst, of.cam)
        # The twin: a cam a tenth of a degree elsewhere is not taken for this one.
        assert min(abs(x + 0.1) for x in of.cam) > 0.05
    # Volts: a coil of 1 V at 200 r/min gives 6 at 1200, which the bench says is 4 here; 4 of 5 full scale.
    assert abs(numpy.max(samples[:, 0]) - 0.8) < 0.01, numpy.max(samples[:, 0])
    return out, said


def check_stood_still(case):
    """At 8000 r/min 58 teeth are 7733 a second; what 0.4 s of them are comes at once when the computer goes on."""
    (case.folder / "bench.yaml").write_text(sound_bench.bench("card", latency_ms=100))
    text = sound_bench.scenario(running_s=4)
    (case.folder / "run.yaml").write_text(text[:text.index("steps:")] +
                                          "steps:\n  - {name: fast, for_s: 4, drive: {engine_speed: 8000}}\n")
    process = case.start("--arm", "card", "--by", "tester")
    end = time.monotonic() + 60
    while not case.heard.exists() or case.heard.stat().st_size < 2 * sound_bench.RATE * 8:
        assert time.monotonic() < end and process.poll() is None
        time.sleep(0.01)
    process.send_signal(signal.SIGSTOP)
    time.sleep(0.4)
    process.send_signal(signal.SIGCONT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 4, f"it goes on: {process.returncode}: {out + err}"  # no expectation
    silence = numpy.abs(case.samples()[:, 0]) < 1e-6
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate(([0], silence, [0]))))
    longest = max([b - a for a, b in zip(edges[::2], edges[1::2]) if a > sound_bench.RATE], default=0)
    print(f"stood still for 0.4 s: {longest / sound_bench.RATE:.3f} s of 0 V, and the waves go on")
    # None at all where the run has caught up before the card, which has no clock of its own here, asks.
    assert longest < sound_bench.RATE / 100 or 0.45 < longest / sound_bench.RATE < 1.2, longest
    assert not silence[-sound_bench.RATE // 4:].all(), "the waves do not come back"


def check_record(out, said):
    """What the card had to say stands in the record and in the reports, once each."""
    notes = [line for line in (out / "events.csv").read_text().splitlines() if ",note," in line]
    of_card = [line for line in notes if "card: " in line]
    assert len(of_card) == 1 and " ppm" in of_card[0] and "underrun" in of_card[0], notes
    assert said.count("underrun") == 1, said
    assert any("card: " in note and " ppm" in note for note in json.loads((out / "report.json").read_text())["notes"])


def main():
    for check in (check_refused, check_disarmed, check_stood_still):
        with tempfile.TemporaryDirectory() as folder:
            check(Case(folder))
    with tempfile.TemporaryDirectory() as folder:
        check_record(*check_played(Case(folder)))


main()
