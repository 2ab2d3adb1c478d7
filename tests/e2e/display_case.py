# SPDX-License-Identifier: Apache-2.0
"""What the tests of displays share: a network namespace of their own (needs root and Debian's iproute2, python3-can,
python3-msgpack), a bench, and a sweep of the display from outside (python_display.py). Used as PROGRAM DRYCRANK PROFILES.
"""
import concurrent.futures
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

SET_UP = "ip link set lo up && ip route add 239.74.163.2/32 dev lo"
if os.environ.get("DRYCRANK_OWN_NETWORK") != "1":
    path = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"
    os.execvpe("unshare", ["unshare", "--net", "sh", "-c", f'{SET_UP} && exec "$@"', "sh", sys.executable, *sys.argv],
               {**os.environ, "PATH": path, "DRYCRANK_OWN_NETWORK": "1"})

DRYCRANK, PROFILES = sys.argv[1:3]
HERE = pathlib.Path(__file__).parent

ECHO = """\
      shows_{name}:
        id: {id}
        length_bytes: 5
        sender: display
        period_ms: 5 ms
        signals:
          {name}_shown: {{start_bit: 0, length_bits: 16, is_signed: true, scale: 0.1, carries: {name}.shown}}
          {name}_state: {{start_bit: 16, length_bits: 4, carries: {name}.state}}
          {name}_page: {{start_bit: 20, length_bits: 4, carries: {name}.page}}
          {name}_unit: {{start_bit: 24, length_bits: 8, carries: {name}.unit, values: {{include: PROFILES/parts/display_units.yaml}}}}
          {name}_lamp: {{start_bit: 32, length_bits: 2, carries: {name}.lamp}}
"""
BENCH = """\
kind: bench
name: outside
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
buses:
  vehicle:
    messages:
      temps:
        id: 0x140
        length_bytes: 4
        period_ms: 10 ms
        signals:
          coolant: {start_bit: 0, length_bits: 8, offset: -40, not_available: 255, unit: degC}
          air: {start_bit: 8, length_bits: 8, offset: -40, unit: degC}
          oil: {start_bit: 23, length_bits: 16, byte_order: big, scale: 0.1, max: 1500, unit: kPa}
      body: {id: 0x220, length_bytes: 1, period_ms: 10 ms, signals: {gear: {start_bit: 0, length_bits: 8, is_signed: true, unit: count}}}
""" + "".join(ECHO.format(name=name, id=hex(0x510 + place)) for place, name in enumerate(("coolant", "oil", "air", "gear"))) + """\
readouts:
  coolant: {signal: temps.coolant, unit: degC, page: 1, warn_above: 110, warn_above_ends: 106, lamp: red, dashes_after_ms: 500}
  oil: {signal: temps.oil, unit: psi, decimals: 1, page: 1, warn_below: 15, warn_below_ends: 18, lamp: red, priority: 2, dashes_after_ms: 500}
  air: {signal: temps.air, unit: degC, page: 2, dashes_after_ms: 500}
  gear: {signal: body.gear, unit: count, page: 2, dashes_after_ms: 500}
display:
  gauges:
    coolant: {signal: temps.coolant, unit: degC, warn_above: 110, hysteresis: 4, lamp: red, stale_ms: 500}
    oil: {signal: temps.oil, unit: psi, decimals: 1, warn_below: 15, hysteresis: 3, lamp: red, stale_ms: 500}
    air: {signal: temps.air, unit: degC, page: 2, stale_ms: 500}
    gear: {signal: body.gear, unit: count, page: 2, stale_ms: 500}
"""


def done(words):
    return subprocess.run([*map(str, words)], capture_output=True, text=True, timeout=600)


def run(*words):
    return done([DRYCRANK, *words])


class SweptDisplay(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.bench = cls.tmp / "bench.yaml"
        cls.bench.write_text(BENCH.replace("PROFILES", PROFILES))

    def swept(self, settings, out, *more, bench=None, apart=False):
        """`apart`: in a network of its own, so that several displays can be swept at the same time."""
        words = ("display", "sweep", bench or self.bench, "--out", out, "--bus", "vehicle=multicast", *more)
        beside = [sys.executable, str(HERE / "beside_display.py"), json.dumps(settings), DRYCRANK, *words]
        return done(["unshare", "--net", "sh", "-c", f'{SET_UP} && exec "$@"', "sh", *beside] if apart else beside)

    def all_swept(self, jobs):
        """Results of swept(*job) for each job, four at a time."""
        with concurrent.futures.ThreadPoolExecutor(4) as pool:
            return [*pool.map(lambda job: self.swept(*job, apart=True), jobs)]
