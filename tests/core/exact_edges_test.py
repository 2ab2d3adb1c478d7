#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The trigger core's edges against a computation to 27 digits that shares no code with it.

    exact_edges_test.py CORE_EDGES

Motion and wheels are taken from the set-points that the program prints; from them each edge's time is
found by itself, from the law of the motion alone:

    turns(x) = before + (v x + climb x^2 / 2) / 60000      v in 1/1000 r/min, x in s
    edge     = (m + at) turns + (offset - advance) / 360   at: share of the wheel's turn

What the core gives must be met at its time, and not yet 2 ns before; none may be missing or too many.
The core is asked for 100 ns.
"""
import math
import subprocess
import sys
from fractions import Fraction

ONE = 10**27  # of a turn, of a thousandth of a turn per minute: whole numbers of 1e-27
NS = 10**9
DUST = ONE // 10**12  # what the core's whole units of angle leave open; thousandths of a ns


def exact(value):
    return round(Fraction(value) * ONE)


class Motion:
    def __init__(self):
        self.begin, self.turns, self.v, self.climb, self.target, self.end = 0, 0, 0, 0, 0, None

    def grown(self, x):
        """Turns after x ns of this climb, and the speed then."""
        speed = self.v + self.climb * ONE * x // NS
        return (self.v + speed) * x // (2 * 60000 * NS), speed

    def after(self, t):
        if self.end is None or t < self.end:
            return self.grown(t - self.begin)
        first = self.grown(self.end - self.begin)[0]
        return first + self.target * (t - self.end) // (60000 * NS), self.target

    def at(self, t):
        return self.turns + self.after(t)[0]

    def turn(self, now, speed, climb):
        grown, v = self.after(now)
        self.turns += grown
        self.begin, self.v, self.target = now, v, exact(speed)
        if climb == 0 or v == self.target:
            self.v, self.climb, self.end = self.target, 0, None
            return
        self.climb = climb if v < self.target else -climb
        self.end = now + math.ceil(Fraction(self.target - v, ONE) / self.climb * NS)


class Wheel:
    def __init__(self, words, motion, now):
        teeth, missing, duty, turns, offset, _, _, _, _, _ = words
        self.turn = turns * ONE
        self.at = []
        for i in range(teeth - missing):
            self.at.append(exact(Fraction(i * turns, teeth)))
            self.at.append(self.at[-1] + exact(Fraction(duty * turns, 65536 * teeth)))
        self.offset = exact(Fraction(offset, 360_000_000))
        self.change(words)
        angle = motion.at(now)
        self.m, self.edge = (angle - self.offset + self.advance) // self.turn - 1, 0
        while self.angle() < angle - DUST:
            self.go_on()

    def change(self, words):
        self.advance = exact(Fraction(words[5], 360_000_000))
        self.inverted, self.gone, self.period, self.absent = words[6:10]

    def angle(self):
        return self.m * self.turn + self.at[self.edge] + self.offset - self.advance

    def go_on(self):
        self.edge += 1
        if self.edge == len(self.at):
            self.m, self.edge = self.m + 1, 0

    def is_begin(self):
        return self.edge % 2 == 0

    def shows(self, t):
        tooth = self.edge // 2
        if tooth < 32 and self.gone >> tooth & 1:
            return False
        return self.period == 0 or t // 10**6 % self.period < self.period - self.absent


def own_time(motion, wheel, since, t):
    """The first ns at which its next edge is met, where that matters; it is met by t."""
    if wheel.period == 0:
        return t
    low, high = max(since, motion.begin) - 1, t
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if motion.at(middle) >= wheel.angle() - DUST else (middle, high)
    return high


def pass_hidden(motion, wheels, since, until):
    """What was met before `until` and not given must be broken off or absent."""
    for c, (wheel, _) in wheels.items():
        while motion.at(until) > wheel.angle() + DUST:
            assert not wheel.shows(own_time(motion, wheel, since, until)), f"channel {c} lost one"
            wheel.go_on()


def check(program, seed, edges):
    out = subprocess.run([program, str(seed), str(edges), "--each"], capture_output=True, text=True,
                         check=True).stdout.splitlines()
    motion, wheels, since, last, seen = Motion(), {}, 0, 0, 0
    for number, line in enumerate(out, 1):
        where = f"seed {seed}, line {number}: {line}"
        kind, *rest = line.split()
        words = [int(w) for w in rest]
        if kind != "edge":
            pass_hidden(motion, wheels, since, words[0] - 1)
        if kind == "turn":
            motion.turn(*words)
            since = words[0]
        elif kind == "wheel":
            now, c, *setting = words
            since = now
            if setting[0] == 0:
                continue
            # An advance alone moves the wheel's edges, and leaves all else as it was.
            if c in wheels and wheels[c][1][:5] == setting[:5]:
                wheels[c][0].change(setting)
                wheels[c] = (wheels[c][0], setting)
            else:
                wheels[c] = (Wheel(setting, motion, now), setting)
        else:
            t, c, level = words
            wheel = wheels[c][0]
            # What is broken off or absent is passed over, at a time of its own.
            while not wheel.shows(own_time(motion, wheel, since, t)):
                wheel.go_on()
            assert motion.at(t) >= wheel.angle() - DUST, f"too early: {where}"
            before = t - 2
            late = before >= since and motion.at(before) >= wheel.angle()
            assert not late, f"too late: {where}"
            assert level == (wheel.is_begin() != bool(wheel.inverted)), f"level: {where}"
            wheel.go_on()
            seen, last = seen + 1, t
    pass_hidden(motion, wheels, since, last)
    return seen


def main():
    program, seeds, edges = sys.argv[1], range(1, 13), 12_000
    total = sum(check(program, seed, edges) for seed in seeds)
    print(f"{total} edges of {len(seeds)} seeds, each at its ns or the next")
    # It can fail: a speed that is 1 in 10^7 too high.
    turn = Motion.turn
    Motion.turn = lambda self, now, speed, climb: turn(self, now, Fraction(speed * (10**7 + 1), 10**7), climb)
    try:
        check(program, 1, edges)
    except AssertionError as wrong:
        print(f"a speed that is 1e-7 off is seen: {wrong}")
        return
    sys.exit("a speed that is 1e-7 off was not seen")


main()
