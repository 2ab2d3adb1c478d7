#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Captures of an engine that is computed here, in every format, by laws of its own.

Nothing of the program is used: angles, waves, filters, noise and file formats are written out below from
their published or stated laws.

  angle     A(t) in degrees of the crank. Steady: A = a0 + 6 n t. Ramp: A = a0 + 6 (n0 t + (n1 - n0) t^2 / 2d).
            Cranking, speed swings with each compression: dt/dA = (1 + r cos(N A)) / (6 n), solved by Newton.
  level     low where metal is in front of a sensor (or high, where so said)
  coil      e = -N dPhi/dt (Faraday). The flux over the wheel's angle is a sum of smooth bells, one per tooth,
            Phi = sum exp(-((A - centre) / s)^2), so that e ~ speed * 2 (A - c) / s^2 exp(...), with the sign that
            makes it positive while a tooth comes nearer
  AC        y[k] = q (y[k-1] + x[k] - x[k-1]), q = 1 / (1 + 2 pi f / rate): a capacitor into a resistor
  input     one-pole low-pass or the mean over a sample's time (box) before sampling
  8 bits    rounded to 256 steps of full scale, clipped at its ends
  clock     a recorder whose clock is p ppm fast takes its k-th sample at k / (rate (1 + p)), and says k / rate
"""
import bisect
import io
import math
import random
import struct
import zipfile


def even(places, missing=(), share=0.5):
    pitch = 360 / places
    return [(pitch * k, pitch * (k + share)) for k in range(places) if k + 1 not in missing]


class Motion:
    """Angle over time; kinds as above."""

    def __init__(self, kind, rpm, to_rpm=None, over_s=1.0, ripple=0.0, per_turn=2, start_deg=0.0):
        self.kind, self.n0, self.n1, self.d = kind, rpm, to_rpm if to_rpm is not None else rpm, over_s
        self.r, self.per_turn, self.a0 = ripple, per_turn, start_deg
        # Time of cranking as a function of angle: t = (A + r/N sin(N A) * 180/pi ... ) / (6 n), A in degrees.
        self.t0 = self._crank_time(start_deg) if kind == "crank" else 0

    def _crank_time(self, a):
        n_rad = self.per_turn * math.radians(a)
        return (a + math.degrees(self.r / self.per_turn * math.sin(n_rad))) / (6 * self.n0)

    def angle(self, t):
        if self.kind == "steady":
            return self.a0 + 6 * self.n0 * t
        if self.kind == "ramp":
            x = min(t, self.d)
            a = self.a0 + 6 * (self.n0 * x + (self.n1 - self.n0) * x * x / (2 * self.d))
            return a + 6 * self.n1 * (t - x)
        want = t + self.t0
        a = want * 6 * self.n0
        for _ in range(30):
            f = self._crank_time(a) - want
            slope = (1 + self.r * math.cos(self.per_turn * math.radians(a))) / (6 * self.n0)
            a -= f / slope
            if abs(f) < 1e-13:
                break
        return a

    def time(self, a):
        """Inverse: when the crank stands at a."""
        if self.kind == "steady":
            return (a - self.a0) / (6 * self.n0)
        if self.kind == "crank":
            return self._crank_time(a) - self.t0
        c = (a - self.a0) / 6
        k = (self.n1 - self.n0) / (2 * self.d)
        end = self.n0 * self.d + k * self.d * self.d
        if c >= end:
            return self.d + (c - end) / self.n1
        if abs(k) < 1e-12:
            return c / self.n0
        return 2 * c / (self.n0 + math.sqrt(self.n0 * self.n0 + 4 * k * c))


def wheel_edges(teeth, offset_deg, turn_deg, late_deg, motion, for_s, gone=()):
    """Times of begins and ends of all teeth that pass: [(t, metal)]."""
    scale = turn_deg / 360
    first, last = motion.angle(0) - turn_deg, motion.angle(for_s) + turn_deg
    edges = []
    for turn in range(math.floor(first / turn_deg) - 1, math.ceil(last / turn_deg) + 1):
        for number, (begin, end) in enumerate(teeth, 1):
            if number in gone:
                continue
            for w, metal in ((begin, True), (end, False)):
                a = offset_deg + late_deg + scale * w + turn * turn_deg
                if first <= a <= last:
                    edges.append((motion.time(a), metal))
    edges.sort()
    return edges


def pulses(events, for_s):
    """[(on, off)] in s as level changes, 1 while on."""
    changes = []
    for on, off in sorted(events):
        changes += [(on, True), (off, False)]
    return [(t, on) for t, on in changes if -1 < t < for_s + 1]


class Sampler:
    def __init__(self, rate, for_s, ppm=0.0):
        self.rate, self.count = rate, int(rate * for_s)
        self.true_step = 1 / (rate * (1 + ppm * 1e-6))

    def level(self, edges, low_v, high_v, metal_is_low, rise_s=0.0, box=False):
        """A switched level; `rise_s`: straight from one level to the other in that time, around the edge."""
        t_edges = [t for t, _ in edges]
        values = [(low_v if metal == metal_is_low else high_v) for _, metal in edges]
        start = (high_v if edges[0][1] == metal_is_low else low_v) if edges else low_v
        out, at, level, n = [], 0, start, len(edges)
        width = self.true_step if box else rise_s
        for k in range(self.count):
            t = k * self.true_step
            while at < n and t_edges[at] <= t - width / 2:
                level = values[at]
                at += 1
            v = level
            j, share_left = at, v
            while width > 0 and j < n and t_edges[j] < t + width / 2:
                part = (t + width / 2 - t_edges[j]) / width
                share_left += (values[j] - (values[j - 1] if j else start)) * part
                j += 1
            out.append(share_left if width > 0 else v)
        return out

    def coil(self, teeth, offset_deg, turn_deg, motion, peak_v, peak_rpm, sign=1, gone=()):
        """Sum of bells, on a table over the wheel's turn, times the speed."""
        scale = turn_deg / 360
        centres = sorted((offset_deg + scale * (b + e) / 2) % turn_deg for i, (b, e) in enumerate(teeth, 1) if i not in gone)
        pitch = min((b - a for a, b in zip(centres, centres[1:])), default=turn_deg)
        s = pitch * 0.3
        steps = 7200
        table = [0.0] * (steps + 1)
        for i in range(steps + 1):
            a = i * turn_deg / steps
            at = bisect.bisect_left(centres, a)
            total = 0.0
            for c in (centres[at - 2] - (turn_deg if at < 2 else 0), centres[at - 1] - (turn_deg if at < 1 else 0),
                      centres[at % len(centres)] + (turn_deg if at >= len(centres) else 0),
                      centres[(at + 1) % len(centres)] + (turn_deg if at + 1 >= len(centres) else 0)):
                x = (a - c) / s
                total -= 2 * x * math.exp(-x * x)
            table[i] = total
        top = max(table) or 1
        out, before = [], motion.angle(-self.true_step)
        for k in range(self.count):
            a = motion.angle(k * self.true_step)
            rpm = (a - before) / self.true_step / 6
            before = a
            x = (a % turn_deg) / turn_deg * steps
            i = int(x)
            out.append(sign * peak_v * rpm / peak_rpm / top * (table[i] + (table[i + 1] - table[i]) * (x - i)))
        return out


def ac_coupled(values, rate, corner_hz):
    q = 1 / (1 + 2 * math.pi * corner_hz / rate)
    out, y, last = [], 0.0, values[0]
    for x in values:
        y = q * (y + x - last)
        last = x
        out.append(y)
    return out


def noisy(values, sigma, rng):
    return [v + rng.gauss(0, sigma) for v in values]


def clipped(values, low, high):
    return [min(max(v, low), high) for v in values]


# ---- formats ------------------------------------------------------------------------------------


def wav(channels, rate, bits, full_scale, is_float=False):
    """RIFF/WAVE, as in the description of 1991: 8 bits are unsigned, more are signed, little endian."""
    top = {8: 127, 16: 32767, 24: 8388607, 32: 2147483647}.get(bits, 1)
    data = bytearray()
    for row in zip(*channels):
        for v in row:
            x = min(max(v / full_scale, -1.0), 1.0)
            if is_float:
                data += struct.pack("<f" if bits == 32 else "<d", x)
            elif bits == 8:
                data.append(max(0, min(255, round(x * top) + 128)))
            else:
                data += (round(x * top) & (1 << bits) - 1).to_bytes(bits // 8, "little")
    width = bits // 8 * len(channels)
    head = struct.pack("<4sIHHIIHH", b"fmt ", 16, 3 if is_float else 1, len(channels), rate, rate * width, width, bits)
    return b"RIFF" + struct.pack("<I", 4 + len(head) + 8 + len(data)) + b"WAVE" + head + struct.pack("<4sI", b"data", len(data)) + bytes(data)


def csv_text(names, channels, rate, separator=",", decimal=".", units=None, times=True, unit="s", digits=6):
    scale = {"s": 1, "ms": 1e3, "us": 1e6}[unit]
    lines = [separator.join((["Time"] if times else []) + list(names))]
    if units:
        lines.append(separator.join((["(" + unit + ")"] if times else []) + [f"({u})" for u in units]))
    elif unit != "s" and times:
        lines[0] = lines[0].replace("Time", f"Time ({unit})", 1)
    for k, row in enumerate(zip(*channels)):
        fields = ([f"{k / rate * scale:.10g}"] if times else []) + [f"{v:.{digits}g}" for v in row]
        lines.append(separator.join(fields).replace(".", decimal))
    return ("\n".join(lines) + "\n").encode()


def vcd(names, edges, first_levels, timescale="1 ns", tick_s=1e-9):
    """IEEE 1364: one wire each, at the instants themselves."""
    codes = [chr(33 + i) for i in range(len(names))]
    out = [f"$timescale {timescale} $end", "$scope module top $end"]
    out += [f"$var wire 1 {c} {n} $end" for c, n in zip(codes, names)]
    out += ["$upscope $end", "$enddefinitions $end", "#0", "$dumpvars"]
    out += [f"{int(level)}{c}" for level, c in zip(first_levels, codes)] + ["$end"]
    changes = sorted((round(t / tick_s), i, level) for i, list_ in enumerate(edges) for t, level in list_ if t > 0)
    last = 0
    for tick, i, level in changes:
        if tick != last:
            out.append(f"#{tick}")
        last = tick
        out.append(f"{int(level)}{codes[i]}")
    return ("\n".join(out) + "\n").encode()


def sr(logic_names, logic, analogue_names, analogue, rate, parts=3):
    """A sigrok session of version 2: from memory of its published layout."""
    buffer = io.BytesIO()
    unit = max(1, (len(logic_names) + 7) // 8)
    meta = ["[global]", "sigrok version=0.5.2", "", "[device 1]"]
    if logic_names:
        meta += ["capturefile=logic-1", f"total probes={len(logic_names)}"]
    meta += [f"samplerate={rate // 1000} kHz" if rate % 1000 == 0 else f"samplerate={rate} Hz", f"total analog={len(analogue_names)}"]
    meta += [f"probe{i}={n}" for i, n in enumerate(logic_names, 1)]
    meta += [f"analog{i}={n}" for i, n in enumerate(analogue_names, len(logic_names) + 1)]
    if logic_names:
        meta += [f"unitsize={unit}"]
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("version", "2")
        z.writestr("metadata", "\n".join(meta) + "\n")
        if logic_names:
            words = bytearray()
            for row in zip(*logic):
                words += sum(1 << i for i, v in enumerate(row) if v > 0.5).to_bytes(unit, "little")
            size = -(-len(words) // parts) // unit * unit + unit
            for part, begin in enumerate(range(0, len(words), size), 1):
                z.writestr(f"logic-1-{part}", bytes(words[begin:begin + size]))
        for i, values in enumerate(analogue, len(logic_names) + 1):
            size = -(-len(values) // parts)
            for part, begin in enumerate(range(0, len(values), size), 1):
                piece = values[begin:begin + size]
                z.writestr(f"analog-1-{i}-{part}", struct.pack(f"<{len(piece)}f", *piece))
    return buffer.getvalue()
