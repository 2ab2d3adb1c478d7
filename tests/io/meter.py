#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A bench meter on TCP, written apart from ours (IEEE 488.2 and SCPI-1999, from memory). What it shows is what its
world says of the probes: `world` is asked for "volts", "ohms" or "amperes" and gives a number, infinite when
nothing lies between them.

As a program it prints its port, then each line that it takes, in a world of its arguments:
    meter.py [MANNER] volts=4.98 ohms=inf
Manners: well; silent (answers who it is, nothing else); deaf (takes the line and says nothing at all); ohmless (does
not know MEAS:RES?); complains (a number, and an error after it); words (no number); several (two readings);
not_a_number; late (after two seconds).
"""
import math
import socket
import sys
import threading
import time

QUESTIONS = {"MEAS:VOLT:DC?": "volts", "MEAS:RES?": "ohms", "MEAS:CURR:DC?": "amperes", "MEAS:VOLT:AC?": "volts rms"}
IDENTITY = "invented,meter,7,1.0"
MOST = {"volts": 1000, "volts rms": 700, "ohms": 100e6, "amperes": 10}


class Meter(threading.Thread):
    def __init__(self, world, manner="well", heard=lambda line: None):
        super().__init__(daemon=True)
        self.world, self.manner, self.heard, self.errors = world, manner, heard, []
        self.server = socket.create_server(("127.0.0.1", 0))
        self.port = self.server.getsockname()[1]

    def shown(self, quantity):
        value = self.world(quantity)
        if math.isinf(value) or abs(value) > MOST[quantity]:
            return f"{math.copysign(9.9e37, value):+.8E}"
        return f"{value:+.8E}"

    def answer(self, line):
        if self.manner == "deaf":
            return None
        if line == "*IDN?":
            return IDENTITY
        if line == "*CLS":
            self.errors.clear()
            return None
        if line == "SYST:ERR?":
            return self.errors.pop(0) if self.errors else '+0,"No error"'
        if line not in QUESTIONS or (self.manner == "ohmless" and line == "MEAS:RES?"):
            self.errors.append('-113,"Undefined header"')
            return None
        if self.manner == "complains":
            self.errors.append('-221,"Settings conflict"')
        if self.manner == "late":
            time.sleep(2)
        return {"silent": None, "words": "OPEN", "several": "+1.0E+00,+2.0E+00", "not_a_number": "+9.91000000E+37"}.get(
            self.manner, self.shown(QUESTIONS[line]))

    def run(self):
        while True:
            line, _ = self.server.accept()
            try:
                for text in line.makefile():
                    self.heard(text.strip())
                    answer = self.answer(text.strip())
                    if answer is not None:
                        line.sendall((answer + "\n").encode())
            except OSError:
                pass  # who had it is gone
            line.close()


if __name__ == "__main__":
    known = dict(word.split("=") for word in sys.argv[1:] if "=" in word)
    meter = Meter(lambda quantity: float(known.get(quantity, 0)), sys.argv[1], lambda line: print(line, flush=True))
    print(meter.port, flush=True)
    meter.run()
