#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A supply on TCP, written apart from ours: prints its port, then each line that it takes. It has 10 ohm as
its load, 20 V and 3 A at most. What stands in its arguments it does not do: silent (no answer after OUTP ON),
stays_on (OUTP OFF is taken without an error, and does nothing), mute (so, and no answer from then on).
"""
import socket
import sys

volts = amperes = 0.0
on, mute, errors, silent = False, False, [], "silent" in sys.argv
server = socket.create_server(("127.0.0.1", 0))
print(server.getsockname()[1], flush=True)
while True:
    line, _ = server.accept()
    try:
        for text in line.makefile():
            text = text.strip()
            print(text, flush=True)
            word, _, value = text.partition(" ")
            answer = None
            if word == "*IDN?":
                answer = "invented,supply,0,1.0"
            elif word == "OUTP?":
                answer = "1" if on else "0"
            elif word == "SYST:ERR?":
                answer = errors.pop(0) if errors else '+0,"No error"'
            elif word == "MEAS:VOLT?":
                answer = f"{min(volts, amperes * 10) * on:+.5E}"
            elif word == "MEAS:CURR?":
                answer = f"{min(volts / 10, amperes) * on:+.5E}"
            elif word == "VOLT" and float(value) <= 20:
                volts = float(value)
            elif word == "CURR" and float(value) <= 3:
                amperes = float(value)
            elif word in ("VOLT", "CURR"):
                errors.append('-222,"Data out of range"')
            elif word == "OUTP":
                mute = mute or (on and "mute" in sys.argv)
                on = value == "ON" or mute or (on and "stays_on" in sys.argv)
            elif word == "*CLS":
                errors.clear()
            else:
                errors.append('-113,"Undefined header"')
            if answer is not None and not mute and not (silent and on):
                try:
                    line.sendall((answer + "\r\n").encode())
                except OSError:
                    break
    except ConnectionError:
        pass  # who had it is gone
    line.close()
