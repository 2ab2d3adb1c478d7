# SPDX-License-Identifier: Apache-2.0
"""Messages of a JSON list, and what stands in it and the reader leaves there."""
import json

from json_keys import for_reader, why_no_message
from odd import MARK_OF_29, Whole, is_wide

NO_LENGTH = "The list does not say its length: 8 bytes are taken."


class JsonFile(Whole):
    def __init__(self, document):
        self.document, self.messages = document, document["messages"]

    def count(self):
        return len(self.messages)

    def data(self, chosen):
        return json.dumps({**self.document, "messages": [self._marked(self.messages[i]) for i in chosen]}).encode()

    def odd_by_itself(self):
        """The reader cuts what does not fit, and takes a text for true."""
        whys = {item: why_no_message(message) for item, message in enumerate(self.messages)}
        return {item: why for item, why in whys.items() if why}

    def complete(self, matrices, chosen, losses):
        """Which layout a signal belongs to, that of selector 0 too; comments, CAN FD, ends at 0."""
        frames = [frame for db in matrices.values() for frame in db.frames]
        unread = {key: 1 for key, value in self.document.items() if key != "messages" and value}
        for frame, item in zip(frames, chosen):
            message = for_reader(self.messages[item])
            frame.is_fd = message.get("is_fd") is True
            self._comment(frame, message, losses)
            for where, known in ((message, self.READ), *((s, self.READ_OF_SIGNAL) for s in message["signals"])):
                for key in where:
                    if key not in known and where[key] not in (None, {}, []):
                        unread[key] = unread.get(key, 0) + 1
            for signal, written in zip(frame.signals, message["signals"]):
                if isinstance(written.get("comment"), str):
                    signal.comment = written["comment"]
                if written.get("max") is not None:  # the reader passes over 0
                    signal.max = signal.float_factory(written["max"])
        for key, count in unread.items():
            losses.lost("", "", f"key '{key}' ({count} times)", "it is not read")
        for frame, item in zip(frames, chosen):
            for signal, written in zip(frame.signals, for_reader(self.messages[item])["signals"]):
                if written.get("multiplex") is not None:
                    signal.multiplex = signal.multiplex_setter(written["multiplex"])
                signal.muxer_for_signal = written.get("muxer_for_signal")
                signal.mux_val_grp = [tuple(pair) for pair in written.get("mux_val_grp") or []]

    READ = {"name", "id", "is_extended_frame", "is_fd", "length", "signals", "comment"}
    READ_OF_SIGNAL = {"name", "start_bit", "bit_length", "factor", "offset", "min", "max", "is_big_endian", "is_signed",
                      "is_float", "comment", "values", "is_multiplexer", "mux_value", "multiplex", "unit",
                      "muxer_for_signal", "mux_val_grp"}

    @staticmethod
    def _comment(frame, message, losses):
        """Its own, and that nobody said how long it is."""
        words = [message["comment"]] if isinstance(message.get("comment"), str) and message["comment"] else []
        if message.get("length") is None:
            words.append(NO_LENGTH)
            losses.changed(str(frame.name), "", "its length is 8 bytes", "the list does not say how long it is: look it up")
        frame.comment = "\n".join(words)

    @staticmethod
    def _marked(message):
        """An identifier of 29 bits as the reader knows one."""
        message = for_reader(message)
        wide = message.get("is_extended_frame") is True and is_wide(message["id"])
        return {**message, "id": message["id"] | MARK_OF_29} if wide else message

    def wanted(self, chosen):
        signals = (self.messages[i].get("signals") for i in chosen if isinstance(self.messages[i], dict))
        return sum(len(s) for s in signals if isinstance(s, (list, dict)))

    def name(self, item):
        message = self.messages[item]
        return str(message.get("name", "")) if isinstance(message, dict) else ""

    def place(self, item):
        return f"message {item + 1} of the list"
