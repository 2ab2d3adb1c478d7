# SPDX-License-Identifier: Apache-2.0
"""A message file of the trade to canmatrix's idea of it; errors as one sentence with place and remedy.

canmatrix 0.9.5 (Debian 12) prints what it cannot read and goes on, and loses a few things of KCD that
are in the file. Both are mended here.
"""
import ast
import contextlib
import io
import logging
import os
import re
import warnings

from losses import BadInput

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


def _dbc_troubles(path, data, said, losses):
    """The lines that canmatrix printed as bytes (it counts them wrongly) found in the file."""
    lines = data.splitlines()
    for text in said:
        match = re.match(r"b(['\"])(.*)\1$", text)
        if not match:
            continue
        raw = ast.literal_eval(text)
        number = next((i for i, line in enumerate(lines, 1) if line == raw.rstrip(b"\r\n")), 0)
        words = raw.split()
        keyword = words[0].decode("ascii", "replace") if words else ""
        if keyword in ("BO_", "SG_"):
            raise BadInput(f"{path}:{number}: this line is not understood: "
                           f"{raw.decode('latin-1').strip()[:100]}; mend it or leave it out")
        losses.lost("", "", f"line {number} ({keyword})", "it is not understood")


def _count_dbc(path, data, encoding, matrices):
    """Every BO_ and SG_ of the file must have arrived."""
    text = data.decode(encoding)
    frames = [f for db in matrices.values() for f in db.frames]
    free = sum(len(db.signals) for db in matrices.values())
    wanted = len(re.findall(r"^\s*SG_ ", text, re.M))
    found = sum(len(f.signals) for f in frames) + free
    if wanted != found:
        raise BadInput(f"{path}: {wanted} signals are written and {found} could be read; look for signals "
                       "that belong to no message and for messages that are there twice")


def read_matrices(path, encoding, losses):
    """{bus name: canmatrix.CanMatrix}"""
    suffix = os.path.splitext(path)[1].lower().lstrip(".")
    if suffix not in FORMATS:
        raise BadInput(f"{path}: '.{suffix}' is not read; " + ", ".join("." + f for f in FORMATS) + " are")
    data = read_bytes(path, encoding)
    canmatrix = load_canmatrix(suffix)
    try:
        matrices, said = _parse(canmatrix, data, suffix, encoding)
    except Exception as error:  # whatever canmatrix stumbles over
        raise BadInput(f"{path}: cannot be read as {suffix}: {type(error).__name__}: "
                       f"{str(error)[:200]}") from None
    if suffix == "dbc":
        _dbc_troubles(path, data, said, losses)
        _count_dbc(path, data, encoding, matrices)
    else:
        errors = [str(e) for db in matrices.values() for e in getattr(db, "load_errors", [])]
        if errors or any(line.startswith("Error") for line in said):
            raise BadInput(f"{path}: " + "; ".join((errors or said)[:3])[:300])
    if not any(db.frames for db in matrices.values()):
        raise BadInput(f"{path}: no message in it")
    if suffix == "kcd":
        _mend_kcd(data, matrices)
    return matrices


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
