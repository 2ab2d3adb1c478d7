# SPDX-License-Identifier: Apache-2.0
"""canmatrix's messages to those of a bench, in the keys of its YAML. What a bench cannot say is listed.

A message or signal that a bench would refuse (sim/profile/load_bus.cc, load_signals.cc) is left out and
listed, so that what is written loads.
"""
import json
import math
import re

from losses import BadInput
from odd import sentence
from units import bench_unit

SENDERS = ("simulator", "controller", "display")
FD_LENGTHS = (12, 16, 20, 24, 32, 48, 64)
NOTE = "drycrank: "  # in a comment: what a file of ours says beyond its format, as JSON
MAX_COPIES = 16
MAX_MESSAGES = 1000  # sim/profile/limits.h


def legal_name(text, taken, losses, message, signal=""):
    name = re.sub(r"[^A-Za-z0-9_]", "_", text)
    if not name or name[0].isdigit() or name == "include":
        name = "_" + name
    name = name[:64]
    count = 2
    while name in taken:
        tail = f"_{count}"
        name, count = name[:64 - len(tail)].removesuffix(f"_{count - 1}") + tail, count + 1
    taken.add(name)
    if name != text:
        losses.changed(message, signal, f"name '{text}' is '{name}'",
                       "a name has letters, digits and _, at most 64, and is there once")
    return name


def number(value):
    value = float(value)
    return int(value) if value == int(value) and abs(value) < 2**53 else value


def notes_of(comment):
    """(our own note, the rest) of a comment."""
    own, rest = {}, []
    for line in (comment or "").splitlines():
        if line.strip().startswith(NOTE):
            try:
                own.update(json.loads(line.strip()[len(NOTE):]))
            except (ValueError, TypeError):
                rest.append(line)
        elif line.strip():
            rest.append(line.strip())
    return own, " ".join(rest)


def bits_of(signal, length_bytes):
    """The bits it covers, as a number; None when it leaves the frame."""
    bits, at = 0, signal["start_bit"]
    for _ in range(signal["length_bits"]):
        if not 0 <= at < 8 * length_bytes:
            return None
        bits |= 1 << at
        at = at + 1 if signal.get("byte_order") != "big" else (at + 15 if at % 8 == 0 else at - 1)
    return bits


def raw_range(s):
    count = 1 << s["length_bits"]
    low, high = (-count // 2, count // 2 - 1) if s.get("is_signed") else (0, count - 1)
    return low, min(high, 2**63 - 1)


def _is_integers_range(signal):
    """Limits of a float that are those of an integer of its length: canmatrix makes them up."""
    if not signal.is_float:
        return False
    half = 1 << (int(signal.size) - 1)
    ends = [float(raw) * float(signal.factor) + float(signal.offset)
            for raw in (-half, half - 1, 0, 2 * half - 1)]
    return all(any(math.isclose(float(limit), end, rel_tol=1e-14, abs_tol=1e-9) for end in ends)
               for limit in (signal.min, signal.max))


class Converter:
    def __init__(self, losses, sender_of, all_fd=False, nobody="controller"):
        self.nobody = nobody        # who sends what no node that is known sends
        self.losses = losses
        self.all_fd = all_fd        # what is longer than 8 bytes is CAN FD, though the file does not say so
        self.sender_of = sender_of  # node of the file -> sender of the bench
        self.nodes = {}             # nodes met without one -> messages
        self.attributes = {}        # attribute name -> how often

    def bus(self, db, only=lambda name: True):
        out = {}
        rate = db.attributes.get("Baudrate")
        if rate and 10e3 <= float(rate) <= 1e6:
            out["bitrate_bps"] = number(rate)
        messages, ids, names = {}, {}, set()
        for frame in db.frames:
            if not only(str(frame.name)):
                continue
            message = self._message_or_loss(frame, db, ids, names)
            if message:
                name, body = message
                messages[name] = body
        if not messages:
            raise BadInput(f"{self.losses.file}: no message is left to write")
        if len(messages) > MAX_MESSAGES:
            raise BadInput(f"{self.losses.file}: {len(messages)} messages; a bench has {MAX_MESSAGES} at "
                           "most: choose with --only")
        out["messages"] = messages
        self._close()
        return out

    def _message_or_loss(self, frame, db, ids, names):
        """What the library stumbles over only now costs this message."""
        before = len(self.losses.entries), dict(self.nodes), dict(self.attributes)
        try:
            return self.message(frame, db, ids, names)
        except Exception as error:  # whatever it stumbles over
            del self.losses.entries[before[0]:]
            _, self.nodes, self.attributes = before
            return self.losses.lost(str(frame.name), "", "message", f"it cannot be read: {sentence(error)}")

    def message(self, frame, db, ids, names):
        lost = lambda what, why: self.losses.lost(frame.name, "", what, why)
        key = (frame.arbitration_id.id, bool(frame.arbitration_id.extended))
        own, comment = notes_of(frame.comment)
        length = int(frame.size)
        fd = bool(frame.is_fd or own.get("fd") or (self.all_fd and length > 8))
        if key in ids:
            return lost("message", f"identifier 0x{key[0]:X} is '{ids[key]}' already")
        if not 0 <= key[0] <= (0x1FFFFFFF if key[1] else 0x7FF):
            return lost("message", f"identifier 0x{key[0]:X} does not fit {29 if key[1] else 11} bits")
        if length > 8 and not fd:
            return lost("message", f"{length} bytes do not fit a classical frame: a transport protocol "
                                   "carries them, or it is CAN FD: say --fd")
        if length > 8 and length not in FD_LENGTHS:
            return lost("message", f"no CAN FD frame has {length} bytes")
        body = {"id": key[0]}
        if key[1]:
            body["extended"] = True
        if fd:
            body["fd"] = True
            rate_switch = str(frame.attribute("CANFD_BRS", db=db, default="0")).strip('"').lower()
            if own.get("bit_rate_switch") or rate_switch in ("1", "true"):
                body["bit_rate_switch"] = True
        body["length_bytes"] = length
        body["sender"] = self._sender(frame)
        self._period(frame, db, body, own)
        signals = self.signals(frame, length)
        for part in ("counter", "checksum"):
            if part in own:
                body[part] = own[part]
        body["signals"] = signals
        if comment:
            body["#"] = comment
        self._count(frame.attributes, ("GenMsgCycleTime", "VFrameFormat", "CANFD_BRS"))
        name = legal_name(frame.name, names, self.losses, frame.name)
        ids[key] = frame.name
        return name, body

    def _sender(self, frame):
        # The format's word for "nobody" ends in __XXX.
        node = next((t for t in frame.transmitters if t and not t.endswith("__XXX")), "")
        if len(frame.transmitters) > 1:
            self.losses.lost(frame.name, "", f"senders {', '.join(frame.transmitters[1:])}",
                             "a message has one sender")
        if node in self.sender_of:
            return self.sender_of[node]
        if node in SENDERS:
            return node
        self.nodes[node] = self.nodes.get(node, 0) + 1
        return self.nobody

    def _period(self, frame, db, body, own):
        period = own.get("period_ms", frame.cycle_time)
        if not period:
            try:
                period = float(frame.attribute("GenMsgCycleTime", db=db, default=0))
            except (TypeError, ValueError):
                period = 0
        period = float(period)
        if period == 0:
            return
        if not 1 <= period <= 3.6e6:
            self.losses.lost(frame.name, "", f"period of {period:g} ms", "1 ms to an hour is possible")
            return
        body["period_ms"] = number(period)
        if "phase_ms" in own:
            body["phase_ms"] = own["phase_ms"]

    def signals(self, frame, length):
        selector = self._selector(frame)
        wanted, taken, out = [], set(), {}
        for signal in sorted(frame.signals, key=lambda s: s is not selector):
            for choice, tail in self._choices(frame, signal, selector):
                wanted.append((signal, choice, tail))
        chooser = None
        for signal, choice, tail in wanted:
            body = self.signal(frame, signal)
            if body is None:
                continue
            if signal is selector:
                body["multiplex"], chooser = "selector", body
            elif choice is not None:
                if chooser is None or choice > raw_range(chooser)[1] or choice < 0:
                    self.losses.lost(frame.name, signal.name, "signal",
                                     f"the selector never has the value {choice}")
                    continue
                body["multiplex_value"] = choice
            if bits_of(body, length) is None:
                self.losses.lost(frame.name, signal.name, "signal", f"it leaves the message of {length} bytes")
                continue
            name = legal_name(signal.name + tail, taken, self.losses, frame.name, signal.name)
            if self._fits(frame, signal, name, body, length, out):
                out[name] = body
            else:
                taken.discard(name)
        return out

    def _selector(self, frame):
        selectors = [s for s in frame.signals if s.is_multiplexer]
        roots = [s for s in selectors if s.mux_val is None and not s.muxer_for_signal
                 and not getattr(s, "is_selected", False)]
        return (roots or [None])[0]

    def _choices(self, frame, signal, selector):
        """[(selector's value or None, tail of the name)] of a signal; empty when it cannot be said."""
        lost = lambda why: self.losses.lost(frame.name, signal.name, "signal", why) or []
        if signal is selector:
            return [(None, "")]
        if signal.is_multiplexer and selector is not None:
            return lost("a message has one selector, and this is a second")
        if signal.mux_val is None and not signal.mux_val_grp and not signal.is_multiplexer:
            return [(None, "")]
        if selector is None:
            return lost("it is multiplexed and nothing selects it")
        if signal.muxer_for_signal and signal.muxer_for_signal != selector.name:
            return lost(f"it is selected by {signal.muxer_for_signal}, which is itself selected")
        values = [v for low, high in signal.mux_val_grp for v in range(low, min(high, low + 99) + 1)]
        values = values or [int(signal.mux_val)]
        if len(values) > MAX_COPIES:
            return lost(f"{len(values)} and more values of the selector have it; {MAX_COPIES} at most")
        if len(values) == 1:
            return [(values[0], "")]
        self.losses.changed(frame.name, signal.name, f"{len(values)} signals, one per value of the selector",
                            "a signal is selected by one value")
        return [(v, f"_{v}") for v in values]

    def signal(self, frame, signal):
        lost = lambda what, why: self.losses.lost(frame.name, signal.name, what, why)
        size = int(signal.size)
        if getattr(signal, "why_not", None):
            return lost("signal", signal.why_not)
        if not 1 <= size <= 64:
            return lost("signal", f"{size} bits; 1 to 64 are possible")
        if signal.is_float and size not in (32, 64):
            return lost("signal", f"a float of {size} bits")
        scale, offset = float(signal.factor), float(signal.offset)
        if not 0 < abs(scale) <= 1e12 or not abs(offset) <= 1e12:
            return lost("signal", f"scale {signal.factor} and offset {signal.offset} are out of range")
        if signal.is_ascii:
            self.losses.changed(frame.name, signal.name, "text is a plain number", "a bench has no texts")
        body = {"start_bit": signal.get_startbit(bit_numbering=1), "length_bits": size}
        if not signal.is_little_endian:
            body["byte_order"] = "big"
        if signal.is_float:
            body["is_float"] = True
        elif signal.is_signed:
            body["is_signed"] = True
        if scale != 1:
            body["scale"] = number(scale)
        if offset != 0:
            body["offset"] = number(offset)
        self._limits(frame, signal, body)
        self._unit(frame, signal, body)
        own, comment = notes_of(signal.comment)
        if "carries" in own:
            body["carries"] = own["carries"]
        self._values(frame, signal, body)
        if comment:
            body["#"] = comment
        self._count(signal.attributes, ())
        return body

    def _limits(self, frame, signal, body):
        low, high = signal.min, signal.max
        if low is None or high is None or low == high:
            return
        if {low, high} == {signal.calc_min(), signal.calc_max()} or _is_integers_range(signal):
            return  # the raw range: what a bench takes without being told
        low, high = float(low), float(high)
        if low > high or max(abs(low), abs(high)) > 1e12:
            self.losses.lost(frame.name, signal.name, f"limits {low:g} to {high:g}",
                             "the first must be below the second, and both below 1e12")
            return
        body["min"], body["max"] = number(low), number(high)

    def _unit(self, frame, signal, body):
        unit = bench_unit(signal.unit or "")
        if unit is None:
            self.losses.lost(frame.name, signal.name, f"unit '{signal.unit}'", "a bench does not know it")
        elif unit != (signal.unit or ""):
            self.losses.changed(frame.name, signal.name, f"unit '{signal.unit}' is '{unit}'",
                                "as a bench writes it")
        if unit:
            body["unit"] = unit

    def _values(self, frame, signal, body):
        low, high = raw_range(body)
        values = {}
        for raw, name in sorted((int(k), str(v)) for k, v in signal.values.items()):
            text = " ".join("".join(c if c.isprintable() else " " for c in name).split())
            if not low <= raw <= high or not text or len(text) > 200:
                self.losses.lost(frame.name, signal.name, f"name '{name}' of raw value {raw}",
                                 "the signal never has it" if text else "it is empty")
                continue
            if text in values.values():
                text = f"{text} ({raw})"
            if text != name:
                self.losses.changed(frame.name, signal.name, f"name '{name}' of raw value {raw} is '{text}'",
                                    "names of values are plain text, and each is there once")
            values[raw] = text
        if values:
            body["values"] = values

    def _fits(self, frame, signal, name, body, length, out):
        """Whether it may stand there; what shares bits with others is another way to read them."""
        bits = bits_of(body, length)
        choice = body.get("multiplex_value")
        shared = [other for other, theirs in out.items() if bits_of(theirs, length) & bits
                  and not (choice is not None and theirs.get("multiplex_value") not in (None, choice))]
        if not shared:
            return True
        if body.get("multiplex") == "selector" or any(out[o].get("multiplex") == "selector" for o in shared):
            self.losses.lost(frame.name, signal.name, "signal", "it shares bits with the selector")
            return False
        own = [other for other in shared if "instead_of" not in out[other]]
        if own:
            body["instead_of"] = own
            body.pop("carries", None)
            self.losses.changed(frame.name, signal.name, f"shares bits with {', '.join(own)}",
                                "either may be meant: it stands there instead of them (instead_of)")
        else:  # these bits are its own, and those before it are read instead
            for other in shared:
                out[other]["instead_of"].append(name)
        return True

    def _count(self, attributes, kept):
        for name in attributes:
            if name not in kept:
                self.attributes[name] = self.attributes.get(name, 0) + 1

    def _close(self):
        for node, count in self.nodes.items():
            self.losses.changed("", "", f"{count} message(s) of "
                                + (f"node '{node}'" if node else "no node") + f" are the {self.nobody}'s",
                                f"say otherwise with --sender {node or 'NODE'}="
                                + ("controller" if self.nobody == "simulator" else "simulator"))
        for name, count in self.attributes.items():
            self.losses.lost("", "", f"attribute '{name}' ({count} times)", "a bench has no place for it")
