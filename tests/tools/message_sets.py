# SPDX-License-Identifier: Apache-2.0
"""Seeded sets of messages in canmatrix's terms, as far as a file format can carry them."""
import canmatrix

FD_SIZES = (8, 12, 16, 20, 24, 32, 48, 64)


def _place(random, free, size, big):
    """First bit (canmatrix counts big-endian ones from the top of byte 0) of a free place, or None."""
    tops = [b for b in range(len(free)) if b + size <= len(free)]
    random.shuffle(tops)
    for start in tops:
        bits = [(b // 8 * 8 + 7 - b % 8) if big else b for b in range(start, start + size)]
        if all(free[b] for b in bits):
            return start, bits
    return None


def _signal(random, name, free, multiplex, selector_only):
    size = random.choice((4, 6, 8)) if selector_only else random.choice((1, 3, 8, 12, 16, 24, 32, 33, 64))
    is_float = not selector_only and size in (32, 64) and random.random() < 0.5
    big = not selector_only and random.random() < 0.5
    place = _place(random, free, size, big)
    if place is None:
        return None
    start, bits = place
    for bit in bits:
        free[bit] = False
    factor = "1" if selector_only else random.choice(("1", "0.1", "0.25", "-0.5", "0.0078125", "3"))
    signal = canmatrix.Signal(
        name, start_bit=start, size=size, is_little_endian=not big,
        is_signed=not selector_only and random.random() < 0.5, is_float=is_float, factor=factor,
        offset="0" if selector_only else random.choice(("0", "-40", "273.15")),
        unit="" if selector_only else random.choice(("", "degC", "kPa", "rpm", "%")), multiplex=multiplex)
    if not is_float and size <= 8:
        signal.values = {0: "off", 1: "on"} if size == 1 else {0: "none", 2: "two things", 3: "it's 3"}
        if size == 1:
            signal.is_signed = False
    return signal


def frame(random, name, identifier, extended, size, multiplexed, fd=False):
    out = canmatrix.Frame(name, arbitration_id=canmatrix.ArbitrationId(identifier, extended=extended),
                          size=size, transmitters=["ECU"])
    out.is_fd = fd
    out.cycle_time = random.choice((10, 20, 100, 1000))
    free = [True] * (8 * size)
    if multiplexed:
        out.add_signal(_signal(random, "selector", free, "Multiplexor", True))
    rest = list(free)
    for choice in ((None, 0, 1, 3) if multiplexed else (None,)):
        mine = free if choice is None else list(rest)
        for i in range(2 if multiplexed and choice is None else random.randint(3, 8)):
            made = _signal(random, f"{name}_s{'' if choice is None else choice}_{i}", mine, choice, False)
            if made:
                out.add_signal(made)
        if choice is None:
            rest = list(free)
    return out


def matrix(random, formats):
    db = canmatrix.CanMatrix()
    db.add_ecu(canmatrix.Ecu("ECU"))
    db.add_frame_defines("GenMsgCycleTime", "INT 0 65535")
    for i in range(12):
        extended = random.random() < 0.5
        identifier = (0x18FE0000 if extended else 0x100) + i
        fd = formats == "dbc" and i % 4 == 3
        size = random.choice(FD_SIZES) if fd else random.choice((2, 5, 8, 8, 8))
        # canmatrix writes no multiplexing into these.
        multiplexed = formats not in ("sym", "arxml") and i % 3 == 1 and size >= 4
        made = frame(random, f"message_{i}", identifier, extended, size, multiplexed, fd)
        if formats == "dbc":
            made.add_attribute("GenMsgCycleTime", str(made.cycle_time))
        db.add_frame(made)
    return db


def extended_frame(random, name, identifier, nested):
    """Extended multiplexing: a signal is there for several values of the selector, which is byte 0;
    nested: a selected signal selects in its turn."""
    out = canmatrix.Frame(name, arbitration_id=canmatrix.ArbitrationId(identifier, extended=False),
                          size=8, transmitters=["ECU"])
    out.is_complex_multiplexed = True
    out.cycle_time = 100
    free = [i >= 8 for i in range(64)]

    def add(signal, selector, ranges):
        if signal is None:
            return
        if selector:
            signal.mux_val, signal.muxer_for_signal = ranges[0][0], selector
            signal.mux_val_grp = [list(r) for r in ranges]
        out.add_signal(signal)

    out.add_signal(canmatrix.Signal("selector", start_bit=0, size=8, is_little_endian=True, is_signed=False,
                                    multiplex="Multiplexor"))
    add(_signal(random, f"{name}_always", free, None, False), None, None)
    choices = [[(0, 2)], [(3, 3), (5, 6)], [(4, 4)], [(7, 7), (9, 9)]]
    for g, ranges in enumerate(choices):
        mine = list(free)
        for i in range(random.randint(1, 4)):
            add(_signal(random, f"{name}_g{g}_{i}", mine, None, False), "selector", ranges)
    if nested:
        mine = list(free)
        inner = _signal(random, f"{name}_inner", mine, "Multiplexor", True)
        add(inner, "selector", [(8, 8)])
        if inner is not None:
            inner.is_multiplexer = True
            for i in range(3):
                add(_signal(random, f"{name}_deep{i}", mine, None, False), inner.name, [(i, i + 1)])
    return out


def extended_matrix(random):
    db = canmatrix.CanMatrix()
    db.add_ecu(canmatrix.Ecu("ECU"))
    db.add_frame_defines("GenMsgCycleTime", "INT 0 65535")
    for i in range(8):
        made = extended_frame(random, f"extended_{i}", 0x100 + i, nested=i % 2 == 1)
        made.add_attribute("GenMsgCycleTime", str(made.cycle_time))
        db.add_frame(made)
    return db
