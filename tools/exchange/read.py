# SPDX-License-Identifier: Apache-2.0
"""A message file of the trade to canmatrix's idea of it; errors as one sentence with place and remedy.

canmatrix 0.9.5 (Debian 12) prints what it cannot read and goes on, and loses a few things of KCD that
are in the file. Both are mended here.
"""
import contextlib
import io
import json
import logging
import os
import re
import stat
import warnings

import dbc
import sym6
import twice
from losses import BadInput
from odd import sentence, whole

# What canmatrix reads and what can be read without running code from the file.
FORMATS = ("dbc", "dbf", "kcd", "sym", "json", "arxml")
MAX_BYTES = 16 << 20
KCD_NAMESPACE = "http://kayak.2codeornot2code.org/1.0"


def load_canmatrix(suffix):
    logging.getLogger().addHandler(logging.NullHandler())
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import canmatrix
            import canmatrix.formats
    except ImportError:
        raise BadInput("canmatrix is not installed; on Debian: apt-get install python3-canmatrix "
                       "python3-lxml") from None
    if suffix not in canmatrix.formats.supportedFormats:
        raise BadInput(f"canmatrix cannot read .{suffix} without lxml; on Debian: apt-get install "
                       "python3-lxml")
    return canmatrix


def read_bytes(path, encoding):
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):  # a pipe would be waited for
            raise BadInput(f"{path}: it is no regular file; name one that is, or copy it into one")
        size = os.path.getsize(path)
        if size > MAX_BYTES:
            raise BadInput(f"{path}: {size} bytes; at most {MAX_BYTES} are read: take out what the bus "
                           "does not need")
        with open(path, "rb") as file:
            data = file.read()
    except OSError as error:
        raise BadInput(f"{path}: {error.strerror or error}; name a file that can be read") from None
    try:
        data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise BadInput(f"{path}:{line}: byte 0x{data[error.start]:02X} is not {encoding}; say what it is, "
                       "often --encoding cp1252") from None
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise BadInput(f"{path}:{line}: a zero byte; this is no text file")
    if re.search(rb"<!(DOCTYPE|ENTITY)", data, re.IGNORECASE):
        raise BadInput(f"{path}: has a document type or entities, which no message file needs; remove it")
    return data


class _Kept(logging.Handler):
    def __init__(self):
        super().__init__(logging.WARNING)
        self.lines = []

    def emit(self, record):
        self.lines.append(record.getMessage())


def _parse(canmatrix, data, suffix, encoding):
    """(matrices by bus, what canmatrix said it could not read)"""
    said, kept = io.StringIO(), _Kept()
    logging.getLogger().addHandler(kept)
    options = {f"{suffix}ImportEncoding": encoding, "dbcImportCommentEncoding": encoding}
    try:
        with contextlib.redirect_stdout(said), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            matrices = canmatrix.formats.load(io.BytesIO(data), suffix, "", **options)
    finally:
        logging.getLogger().removeHandler(kept)
    return matrices, said.getvalue().splitlines() + kept.lines


def _sym_groups(lines):
    """[(name, [line numbers from 0])] of the messages of a SYM file: [name] and what follows it, and every
    further [name] of it right behind."""
    groups, inside = [], False
    for number, line in enumerate(lines):
        if re.match(r"\s*\{\w+\}", line):
            inside = re.match(r"\s*\{(SEND|RECEIVE|SENDRECEIVE)\}", line) is not None
            continue
        head = re.match(r"\s*\[(.*?)\]", line)
        if inside and head and not (groups and groups[-1][0] == head.group(1)):
            groups.append((head.group(1), []))
        if inside and groups:
            groups[-1][1].append(number)
    return groups


def _is_whole_sym(text, parse, encoding):
    """Whether all that is written there arrives; why not otherwise."""
    try:
        matrices, said = parse(text.encode(encoding))
    except Exception as error:  # whatever it stumbles over
        return f"it cannot be read: {sentence(error)}"
    errors = [str(e) for db in matrices.values() for e in getattr(db, "load_errors", [])]
    errors += [line for line in said if line.startswith("Error")]
    if errors:
        return f"it cannot be read: {sentence(errors[0])}"
    wanted = sym6.counted(text)
    found = sum(not s.is_multiplexer for db in matrices.values() for f in db.frames for s in f.signals)
    return None if wanted == found else f"{wanted} signals are written in it and {found} could be read"


def _parse_sym(text, losses, parse, encoding):
    """(matrices, said, text of what was read). A message that is not understood is left out, and listed."""
    convert = sym6.as_version_5 if sym6.is_version_6(text) else lambda t: t
    if _is_whole_sym(convert(text), parse, encoding) is None:
        return (*parse(convert(text).encode(encoding)), text)
    lines = text.splitlines()
    groups = _sym_groups(lines)
    of_messages = {number for _, numbers in groups for number in numbers}
    left_out = set()
    for name, numbers in groups:
        alone = "\n".join(line if n not in of_messages or n in numbers else "" for n, line in enumerate(lines))
        why = _is_whole_sym(convert(alone + "\n"), parse, encoding)
        if why is not None and len(groups) > 1:
            left_out.update(numbers)
            losses.lost(name, "", "message", f"line {numbers[0] + 1}: {why}")
    text = "\n".join("" if n in left_out else line for n, line in enumerate(lines)) + "\n"
    return (*parse(convert(text).encode(encoding)), text)


def _parse_kcd(data, losses, parse):
    """(matrices, said, data of what was read). A message that cannot be read is left out, and listed."""
    from lxml import etree
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError:
        return (*parse(data), data)  # the reader says what is wrong
    messages = list(root.iter("{*}Message"))
    whys = {m: f"{len(m.findall('{*}Multiplex'))} selectors; one can be read: make it several messages"
            for m in messages if len(m.findall("{*}Multiplex")) > 1}
    whys.update({m: "a remote frame carries no data" for m in messages if m.get("remote") in ("true", "1")})
    rest = lambda: etree.tostring(root, xml_declaration=True, encoding="utf-8")
    for message in whys:
        message.getparent().remove(message)
    try:
        matrices, said = parse(rest() if whys else data)
    except Exception:  # which message is it?
        for message in [m for m in messages if m not in whys]:
            why = _why_no_kcd(message, root, parse)
            if why:
                whys[message] = why
                message.getparent().remove(message)
        matrices, said = parse(rest())
    for message, why in whys.items():
        losses.lost(message.get("name") or "", "", "message", f"line {message.sourceline}: {why}")
    _say_label_groups(root, losses)
    _say_what_is_not_read(root, losses)
    return matrices, said, rest() if whys else data


KCD_READ = {"NetworkDefinition", "Document", "Node", "Bus", "Message", "Producer", "Consumer", "NodeRef", "Notes",
            "Multiplex", "MuxGroup", "Signal", "Value", "LabelSet", "Label", "LabelGroup"}


def _where(element):
    """(message, signal) that it is in."""
    above = {e.tag.rpartition("}")[2]: e.get("name") or "" for e in element.iterancestors()}
    return above.get("Message", ""), above.get("Signal") or above.get("Multiplex", "")


def _say_what_is_not_read(root, losses):
    """Elements that nothing comes of, the outermost of each; and a value with two names."""
    within = set()
    for element in root.iter("{*}*"):
        tag = element.tag.rpartition("}")[2]
        if element.getparent() in within or tag not in KCD_READ:
            within.add(element)
        if element in within and element.getparent() not in within:
            name = f" '{element.get('name')}'" if element.get("name") else ""
            losses.lost(*_where(element), f"line {element.sourceline}: {tag}{name}", "it is not read")
    for labels in root.iter("{*}LabelSet"):
        names = {}
        for label in labels.iter("{*}Label"):
            names.setdefault(label.get("value"), []).append(label.get("name"))
        for raw, both in names.items():
            if len(set(both)) > 1:
                losses.changed(*_where(labels), f"raw value {raw} is named " + " and ".join(f"'{n}'" for n in both),
                               f"'{both[-1]}' is kept: a value has one name")


def _say_label_groups(root, losses):
    for group in root.iter("{*}LabelGroup"):
        losses.lost(*_where(group), f"name '{group.get('name')}' of raw values {group.get('from')} to {group.get('to')}",
                    "names of ranges are not read: write a Label for each value")


def _why_no_kcd(message, root, parse):
    """Why the reader stumbles over it even when it is alone; None when it does not."""
    import copy
    from lxml import etree
    alone = etree.Element(root.tag, nsmap=root.nsmap)
    bus = etree.SubElement(alone, message.getparent().tag, name="alone")
    bus.append(copy.deepcopy(message))
    try:
        parse(etree.tostring(alone))
    except Exception as error:  # whatever it stumbles over
        return f"it cannot be read: {sentence(error)}"
    return None


def _refuse_miscount(path, wanted, matrices):
    """Every signal that is written must have arrived: none vanishes."""
    frames = [f for db in matrices.values() for f in db.frames]
    found = sum(len(f.signals) for f in frames) + sum(len(db.signals) for db in matrices.values())
    if wanted != found:
        raise BadInput(f"{path}: {wanted} signals are written and {found} could be read; look for signals "
                       "that are there twice in one message, or that belong to none")


def _count_sym(path, text, matrices):
    wanted = sym6.counted(text)
    found = sum(not s.is_multiplexer for db in matrices.values() for f in db.frames for s in f.signals)
    if wanted != found:
        raise BadInput(f"{path}: {wanted} signals are written and {found} could be read; save it as another "
                       "version, or as .dbc, with the program it came from")


def _count_kcd(path, data, matrices):
    from lxml import etree
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    _refuse_miscount(path, sum(1 for _ in root.iter("{*}Signal")) + sum(1 for _ in root.iter("{*}Multiplex")),
                     matrices)


def _count_dbf(path, text, matrices):
    _refuse_miscount(path, len(re.findall(r"^\s*\[START_SIGNALS\]", text, re.M)), matrices)


def _count_json(path, text, matrices):
    messages = json.loads(text).get("messages", [])
    _refuse_miscount(path, sum(len(m.get("signals", [])) for m in messages), matrices)


def _count_arxml(path, data, matrices):
    from lxml import etree
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    # Mappings with a place; groups of signals have none.
    wanted = sum(1 for m in root.iter("{*}I-SIGNAL-TO-I-PDU-MAPPING", "{*}I-SIGNAL-TO-PDU-MAPPING")
                 if m.find("{*}START-POSITION") is not None)
    frames = [f for db in matrices.values() for f in db.frames]
    found = sum(len(f.signals) for f in frames)
    if wanted > 0 and found == 0:
        raise BadInput(f"{path}: {wanted} signals are written and none could be read; convert it to .dbc "
                       "with the program it came from")


def read_matrices(path, encoding, losses):
    """{bus name: canmatrix.CanMatrix}"""
    suffix = os.path.splitext(path)[1].lower().lstrip(".")
    if suffix not in FORMATS:
        raise BadInput(f"{path}: '.{suffix}' is not read; " + ", ".join("." + f for f in FORMATS) + " are")
    data = read_bytes(path, encoding)
    canmatrix = load_canmatrix(suffix)
    parse = lambda bytes_: _parse(canmatrix, bytes_, suffix, encoding)
    try:
        if suffix == "dbc":
            matrices, data = dbc.parse(path, data, losses, parse)
        elif suffix == "sym":
            matrices, said, kept = _parse_sym(data.decode(encoding), losses, parse, encoding)
            data = kept.encode(encoding)
            twice.say_sym(kept, losses)
        elif suffix == "kcd":
            matrices, said, data = _parse_kcd(data, losses, parse)
        else:
            if suffix == "json":
                twice.refuse_json_keys(path, data.decode(encoding))
            messages = whole(suffix, data)
            matrices, said, data = messages.read(path, losses, parse) if messages else (*parse(data), data)
    except BadInput:
        raise
    except Exception as error:  # whatever canmatrix stumbles over
        raise BadInput(f"{path}: cannot be read as {suffix}: {sentence(error)}; convert it to .dbc or .kcd "
                       "with the program it came from") from None
    if suffix != "dbc":
        errors = [str(e) for db in matrices.values() for e in getattr(db, "load_errors", [])]
        if errors or any(line.startswith("Error") for line in said):
            raise BadInput(f"{path}: " + "; ".join((errors or said)[:3])[:300])
    if not any(db.frames for db in matrices.values()):
        raise BadInput(f"{path}: no message in it")
    _count(path, suffix, data, encoding, matrices)
    if suffix == "kcd":
        _mend_kcd(data, matrices)
    return matrices


def _count(path, suffix, data, encoding, matrices):
    text = data.decode(encoding)
    if suffix == "dbc":
        _refuse_miscount(path, dbc.counted(data), matrices)
    elif suffix == "sym":
        _count_sym(path, text, matrices)
    elif suffix == "kcd":
        _count_kcd(path, data, matrices)
    elif suffix == "dbf":
        _count_dbf(path, text, matrices)
    elif suffix == "json":
        _count_json(path, text, matrices)
    elif suffix == "arxml":
        _count_arxml(path, data, matrices)


def _mend_kcd(data, matrices):
    """What is in a KCD file and canmatrix leaves there: bit rates, fractions of a millisecond, and of a
    selector its byte order, sign, scale and unit. `db.document` is the text of the Document element."""
    from decimal import Decimal
    from lxml import etree
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    space = "{" + (etree.QName(root).namespace or "") + "}"
    document = root.find(space + "Document")
    counter = 0
    for bus in root.findall(space + "Bus"):
        name = bus.get("name")
        if not name:  # as canmatrix names it
            name, counter = f"CAN{counter}", counter + 1
        db = matrices[name]
        db.document = document.text or "" if document is not None else ""
        if bus.get("baudrate"):
            db.attributes["Baudrate"] = bus.get("baudrate")
        for element, frame in zip(bus.findall(space + "Message"), db.frames):
            if element.get("interval"):
                frame.cycle_time = float(element.get("interval"))
            selector = element.find(space + "Multiplex")
            if selector is None:
                continue
            signal = frame.signal_by_name(selector.get("name"))
            value = selector.find(space + "Value")
            get = value.get if value is not None else {}.get
            signal.is_little_endian = selector.get("endianess") != "big"
            signal.is_signed = get("type") == "signed"
            signal.factor, signal.offset = Decimal(get("slope", "1")), Decimal(get("intercept", "0"))
            signal.unit = get("unit", "")
            signal.min = Decimal(get("min")) if get("min") else signal.calc_min()
            signal.max = Decimal(get("max")) if get("max") else signal.calc_max()
