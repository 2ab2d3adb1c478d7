# SPDX-License-Identifier: Apache-2.0
"""A bus member with python-can alone: `receive COUNT` prints what comes, `send` sends five frames.

Prints "ready" once it has joined. A frame is printed as
id, E|S, R|D, F|C, B|-, I|-, length, data
"""
import sys

import can

GROUP, PORT = "239.74.163.2", int(sys.argv[1])


def line(m):
    kind = ("E" if m.is_extended_id else "S") + ("R" if m.is_remote_frame else "D")
    fd = ("F" if m.is_fd else "C") + ("B" if m.bitrate_switch else "-")
    state = "I" if m.error_state_indicator else "-"
    return f"{m.arbitration_id:X} {kind}{fd}{state} {m.dlc} {bytes(m.data).hex().upper()}"


FRAMES = [
    can.Message(arbitration_id=0x123, is_extended_id=False, data=[1, 2, 3]),
    can.Message(arbitration_id=0x18FEEE00, is_extended_id=True, data=[0x82]),
    can.Message(arbitration_id=0x7, is_extended_id=False, is_remote_frame=True, dlc=8),
    can.Message(arbitration_id=0x7FF, is_extended_id=False, data=[]),
    can.Message(arbitration_id=0x1ABCDEF, is_extended_id=True, is_fd=True, bitrate_switch=True,
                error_state_indicator=True, data=range(64)),
]

with can.Bus(interface="udp_multicast", channel=GROUP, port=PORT) as bus:
    print("ready", flush=True)
    if sys.argv[2] == "send":
        for frame in FRAMES:
            bus.send(frame)
    else:
        for _ in range(int(sys.argv[3])):
            got = bus.recv(10)
            print(line(got) if got else "nothing came", flush=True)
