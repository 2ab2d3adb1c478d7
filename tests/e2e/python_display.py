# SPDX-License-Identifier: Apache-2.0
"""A display that has nothing of drycrank: python-can for the bus, its own decoding, its own warnings.

    python_display.py '{"coolant": {"scale": 1.02}, "silent_after_s": 6, "mute": {"oil": 0, "coolant.lamp": 3.5}}'

Says "ready", and "first" with the first frame that came. Four gauges, as set in SET; the argument changes settings (smooth_s:
a value that creeps; bank: its message only where byte 0 says so). It tells on the bus what it shows, every ECHO_S:
0x510  bytes 0-1 number (0.1, signed), byte 2 low nibble state (0 ok, 1 warning, 2 stale, 3 no value), high nibble page,
       byte 3 unit (as drycrank numbers units), byte 4 lamp (1 lit, 2 blinks): one message for each gauge, 0x510 + its place.
"tell": "banks": one message, 0x520, its place before that; "lamps": byte 4 in a message of its own, 0x530 + its place.
"""
import json
import math
import sys
import time

import can

GROUP, PORT, ECHO_S = "239.74.163.2", 43113, 0.005
UNITS = {"degC": 0, "degF": 2, "kPa": 3, "bar": 7, "psi": 9, "none": 49}
SET = {
    "coolant": {"id": 0x140, "first": 0, "bytes": 1, "order": "little", "signed": False, "scale": 1, "offset": -40,
                "unit": "degC", "decimals": 0, "page": 1, "above": 110, "back": 4, "gone_s": 0.5, "lamp": 1,
                "none_code": 255},
    "oil": {"id": 0x140, "first": 2, "bytes": 2, "order": "big", "signed": False, "scale": 0.1, "offset": 0,
            "unit": "psi", "decimals": 1, "page": 1, "below": 15, "back": 3, "gone_s": 0.5, "lamp": 1},
    "air": {"id": 0x140, "first": 1, "bytes": 1, "order": "little", "signed": False, "scale": 1, "offset": -40,
            "unit": "degC", "decimals": 0, "page": 2, "back": 0, "gone_s": 0.5, "lamp": 0},
    "gear": {"id": 0x220, "first": 0, "bytes": 1, "order": "little", "signed": True, "scale": 1, "offset": 0,
             "unit": "none", "decimals": 0, "page": 2, "back": 0, "gone_s": 0.5, "lamp": 0},
}
SENT_IN = {"coolant": "degC", "oil": "kPa", "air": "degC", "gear": "none"}


def in_unit(value, unit, sent_in):
    if sent_in == "degC" and unit == "degF":
        return value * 9 / 5 + 32
    if sent_in == "kPa" and unit == "psi":
        return value / 6.894757293168361  # NIST SP 811
    return value / 100 if sent_in == "kPa" and unit == "bar" else value


class Gauge:
    def __init__(self, name, settings):
        self.name, self.s = name, settings
        self.value, self.last, self.warns, self.none = None, None, False, False

    def receive(self, message, now):
        s = self.s
        if message.arbitration_id != s["id"] or s.get("bank", message.data[0]) != message.data[0]:
            return
        raw = int.from_bytes(message.data[s["first"]:s["first"] + s["bytes"]], s["order"], signed=s["signed"])
        self.none = raw == s.get("none_code")
        if self.none:
            self.last, self.warns = now, False
            return
        value = in_unit(raw * s["scale"] + s["offset"], s["unit"], SENT_IN[self.name])
        if s.get("smooth_s") and self.last is not None:  # a low pass of first order
            value = self.value + (value - self.value) * (1 - math.exp((self.last - now) / s["smooth_s"]))
        self.value, self.last = value, now
        if "above" in s:
            self.warns = self.value > s["above"] - (s["back"] if self.warns else 0)
        if "below" in s:
            self.warns = self.value < s["below"] + (s["back"] if self.warns else 0)

    def tell(self, now):
        s = self.s
        stale = self.last is None or now - self.last > s["gone_s"]
        power = 10 ** s["decimals"]
        value = self.value or 0
        shown = math.copysign(math.floor(abs(value) * power + 0.5 + 1e-9), value) / power
        tenths = max(-32768, min(32767, round(shown * 10)))
        state = 2 if stale else 3 if self.none else 1 if self.warns else 0
        return tenths.to_bytes(2, "little", signed=True) + bytes(
            [state | s["page"] << 4, UNITS[s["unit"]], s["lamp"] if state == 1 else 0])


def frames_of(place, gauge, now, tell, is_mute):
    """(identifier, bytes) that tell of this gauge."""
    data = gauge.tell(now)
    if tell == "banks":
        return [] if is_mute(gauge.name) else [(0x520, bytes([place]) + data)]
    if tell == "lamps":
        lamp = [] if is_mute(gauge.name + ".lamp") else [(0x530 + place, data[4:])]
        return lamp + ([] if is_mute(gauge.name) else [(0x510 + place, data[:4])])
    return [] if is_mute(gauge.name) else [(0x510 + place, data)]


def main():
    changes = json.loads(sys.argv[1]) if len(sys.argv) > 1 else {}
    silent_after_s = changes.pop("silent_after_s", None)
    mute = changes.pop("mute", {})  # what, from when on: seconds from the first frame
    tell = changes.pop("tell", "each")
    echo_s = changes.pop("echo_s", ECHO_S)
    gauges = [Gauge(name, {**settings, **changes.get(name, {})}) for name, settings in SET.items()]
    first = told = None
    with can.Bus(interface="udp_multicast", channel=GROUP, port=PORT) as bus:
        print("ready", flush=True)
        while True:
            message = bus.recv(echo_s)
            now = time.monotonic()
            while message is not None:  # all that has come, before it tells what it shows
                if first is None:
                    first = now
                    print("first", flush=True)
                for gauge in gauges:
                    gauge.receive(message, now)
                message = bus.recv(0)
            if silent_after_s and first and now - first > silent_after_s:
                continue
            if told is None or now - told >= echo_s:
                told = now
                passed_s = now - first if first else 0
                for place, gauge in enumerate(gauges):
                    for identifier, data in frames_of(place, gauge, now, tell, lambda name: passed_s >= mute.get(name, 1e9)):
                        bus.send(can.Message(arbitration_id=identifier, is_extended_id=False, data=data))


if __name__ == "__main__":
    main()
