# SPDX-License-Identifier: Apache-2.0
"""A message file of the trade to canmatrix's idea of it; errors as one sentence with place and remedy.

canmatrix 0.9.5 (Debian 12) prints what it cannot read and goes on; what it loses of a format is mended in
the file of that format beside this one.
"""
import codecs
import contextlib
import io
import json
import logging
import os
import re
import stat
import warnings

import arxml_types
import dbc
import sym
import sym6
import twice
from arxml import ArxmlFile
from dbf import DbfFile
from json_list import JsonFile
from kcd import KcdFile
from losses import BadInput
from odd import sentence

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
    if suffix == "arxml":
        arxml_types.teach(canmatrix.formats.arxml)
    return canmatrix


DECLARED = re.compile(rb"""(<\?xml[^>]*?)\s+encoding\s*=\s*["']([\w.-]+)["']""")


def _text(path, data, encoding):
    """By the mark at its begin, by what XML says of itself, or as it is told."""
    mark = next((name for bom, name in ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
                                        (codecs.BOM_UTF16_BE, "utf-16")) if data.startswith(bom)), None)
    declared = DECLARED.match(data)
    encoding = mark or (declared[2].decode() if declared else encoding)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        said = "; its first line says so, and what is there is another, often windows-1252" if declared and not mark \
            else "; say what it is, often --encoding cp1252"
        raise BadInput(f"{path}:{line}: byte 0x{data[error.start]:02X} is not {encoding}{said}") from None
    except (LookupError, UnicodeError):
        raise BadInput(f"{path}: no encoding is called '{encoding}'; often it is cp1252, else utf-8 or utf-16") from None
    return re.sub(DECLARED.pattern.decode(), r"\1", text, count=1) if text.startswith("<?xml") else text


def read_bytes(path, encoding):
    """What is in it, as UTF-8."""
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
    data = _text(path, data, encoding).encode()
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


def _whole(suffix, data):
    """The file as its messages; None where it has none that could be told apart."""
    try:
        if suffix in ("dbf", "arxml", "kcd"):
            return {"dbf": DbfFile, "arxml": ArxmlFile, "kcd": KcdFile}[suffix](data)
        document = json.loads(data)
    except Exception:  # the reader says what is wrong
        return None
    messages = document.get("messages") if isinstance(document, dict) else None
    return JsonFile(document) if isinstance(messages, list) else None


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
    data, encoding = read_bytes(path, encoding), "utf-8"
    canmatrix = load_canmatrix(suffix)
    parse = lambda bytes_: _parse(canmatrix, bytes_, suffix, encoding)
    try:
        if suffix == "dbc":
            matrices, data = dbc.parse(path, data, losses, parse)
        elif suffix == "sym":
            matrices, said, kept = sym.parse(data.decode(encoding), losses, parse, encoding)
            data = kept.encode(encoding)
            twice.say_sym(kept, losses)
        else:
            if suffix == "json":
                twice.refuse_json_keys(path, data.decode(encoding))
            messages = _whole(suffix, data)
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
