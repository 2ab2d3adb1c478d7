# SPDX-License-Identifier: Apache-2.0
"""Messages of list_sets in the words of six formats, and with `odd` one more that cannot be read."""
import json
from xml.sax.saxutils import escape, quoteattr

from list_sets import UNITS, bits_of


def _quoted(text):
    return text.replace("\\", "/").replace('"', "'")


def dbc(messages, odd):
    """The start bit of a big-endian signal is its most significant one; bit 31 of an identifier marks 29 bits."""
    number = lambda m: m["id"] | (1 << 31 if m["extended"] else 0)
    lines = ['VERSION ""', "NS_ :", "BS_:", "BU_: ECU DASH"]
    for m in messages:
        lines += [f"BO_ {number(m)} {m['name']}: {m['bytes']} ECU"]
        for s in m["signals"]:
            mark = " M" if s.get("selector") else f" m{s['choice']}" if "choice" in s else ""
            lines.append(f" SG_ {s['name']}{mark} : {s['start']}|{s['bits']}@{int(not s['big'])}{'-' if s['signed'] or s['float'] else '+'}"
                         f" ({s['scale']},{s['offset']}) [0|0] \"{UNITS[s['unit']]}\" DASH")
    lines += ["BO_ 2046 odd: 8 ECU", ' SG_ x : 0|8@1+ (one,0) [0|0] "" DASH', "GARBAGE in between"] if odd else []
    lines += [f'CM_ BO_ {number(m)} "{_quoted(m["comment"])}";' for m in messages if m["comment"]]
    lines += [f'CM_ SG_ {number(m)} {s["name"]} "{_quoted(s["comment"])}";' for m in messages for s in m["signals"] if s["comment"]]
    kinds = ",".join(f'"{k}"' for k in ("StandardCAN", "ExtendedCAN", *(f"r{i}" for i in range(12)), "StandardCAN_FD", "ExtendedCAN_FD"))
    lines += ['BA_DEF_ BO_ "GenMsgCycleTime" INT 0 65535;', f'BA_DEF_ BO_ "VFrameFormat" ENUM {kinds};',
              'BA_DEF_DEF_ "GenMsgCycleTime" 0;', 'BA_DEF_DEF_ "VFrameFormat" "StandardCAN";']
    for m in messages:
        lines += [f'BA_ "GenMsgCycleTime" BO_ {number(m)} {m["period"]};'] if m["period"] else []
        lines += [f'BA_ "VFrameFormat" BO_ {number(m)} {15 if m["extended"] else 14};'] if m["fd"] else []
    for m in messages:
        for s in m["signals"]:
            names = " ".join(f'{k} "{v}"' for k, v in s["values"].items())
            lines += [f"VAL_ {number(m)} {s['name']} {names} ;"] if names else []
            lines += [f"SIG_VALTYPE_ {number(m)} {s['name']} : {1 if s['bits'] == 32 else 2};"] if s["float"] else []
    return "\n".join(lines) + "\n"


def _from_the_top(s):
    """KCD and SYM count the bits of a big-endian signal from the most significant of byte 0 on."""
    return s["start"] - s["start"] % 8 + 7 - s["start"] % 8 if s["big"] else s["start"]


def _tag(tag, inside="", /, **attributes):
    words = "".join(f" {key}={quoteattr(str(value))}" for key, value in attributes.items() if value is not None)
    return f"<{tag}{words}>{inside}</{tag}>"


def _kcd_signal(s, tag="Signal", inside=""):
    kind = ("single" if s["bits"] == 32 else "double") if s["float"] else "signed" if s["signed"] else "unsigned"
    labels = "".join(_tag("Label", name=v, value=k) for k, v in s["values"].items())
    return _tag(tag, _tag("Notes", escape(s["comment"])) + _tag("Value", type=kind, slope=s["scale"], intercept=s["offset"],
                                                                 unit=UNITS[s["unit"]])
                + (_tag("LabelSet", labels) if labels else "") + inside, name=s["name"], offset=_from_the_top(s), length=s["bits"],
                endianess="big" if s["big"] else None) + "\n"


def kcd(messages, odd):
    text = ""
    for m in messages:
        choices = dict.fromkeys(s["choice"] for s in m["signals"] if "choice" in s)
        groups = "".join(_tag("MuxGroup", "".join(_kcd_signal(s) for s in m["signals"] if s.get("choice") == c), count=c) for c in choices)
        signals = "".join(_kcd_signal(s, "Multiplex", groups) if s.get("selector") else _kcd_signal(s)
                          for s in m["signals"] if "choice" not in s)
        text += _tag("Message", _tag("Notes", escape(m["comment"])) + '<Producer><NodeRef id="7"/></Producer>' + signals,
                     id=f"0x{m['id']:X}", name=m["name"], length=m["bytes"], format="extended" if m["extended"] else "standard",
                     interval=m["period"] or None) + "\n"
    text += _tag("Message", '<Producer><NodeRef id="7"/></Producer><Signal name="x" offset="abc"/>', id="0x7FE", name="odd") if odd else ""
    return ('<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0"><Document name="x"/><Node id="7" name="ECU"/>'
            f'<Bus name="b">\n{text}</Bus></NetworkDefinition>\n')


def _sym_type(s):
    if s["float"]:
        return "float" if s["bits"] == 32 else "double"
    return "signed" if s["signed"] else "bit" if s["bits"] == 1 else "unsigned"


def _sym_var(s, enums):
    name = f"E{len(enums)}"
    if s["values"]:
        enums[name] = ", ".join(f'{k}="{v}"' for k, v in s["values"].items())
    options = (" -m" if s["big"] else "") + (f' /u:"{UNITS[s["unit"]]}"' if s["unit"] else "") + (f" /e:{name}" if s["values"] else "")
    comment = f' // {s["comment"]}' if s["comment"] else ""
    return f'Var="{s["name"]}" {_sym_type(s)} {_from_the_top(s)},{s["bits"]}{options} /f:{s["scale"]} /o:{s["offset"]}{comment}'


def sym(messages, odd):
    """Each value of the selector is a section of its own; its name is that of the message with _MUX."""
    enums, lines = {}, []
    for m in messages:
        kind = ("FD" if m["fd"] else "") + ("Extended" if m["extended"] else "Standard")
        lines += [f'["{m["name"]}"]', f"ID={m['id']:03X}h // {m['comment']}", f"Type={kind}", f"DLC={m['bytes']}"]
        lines += [f"CycleTime={m['period']}"] if m["period"] else []
        lines += [_sym_var(s, enums) for s in m["signals"] if "choice" not in s and not s.get("selector")]
        for selector in (s for s in m["signals"] if s.get("selector")):
            for choice in dict.fromkeys(s["choice"] for s in m["signals"] if "choice" in s):
                lines += [f'["{m["name"]}"]', f"Mux=of_{choice} {_from_the_top(selector)},{selector['bits']} "
                          + (f"{choice:X}h" if choice % 2 else f"{choice}") + (" -m" if selector["big"] else "")]
                lines += [_sym_var(s, enums) for s in m["signals"] if s.get("choice") == choice]
    lines += ["[odd]", "ID=7FEh", "DLC=8", "Var=junk"] if odd else []
    head = ["FormatVersion=5.0 // Do not edit this line!", 'Title="x"', "{ENUMS}", *(f"enum {k}({v})" for k, v in enums.items()), "{SENDRECEIVE}"]
    return "\n".join(head + lines) + "\n"


def _lowest(s):
    """DBF and JSON name the least significant bit, of a big-endian signal, too."""
    return bits_of(s)[-1] if s["big"] else s["start"]


def dbf(messages, odd):
    lines = ["[DATABASE_VERSION] 1.3", "[PROTOCOL] CAN", "[BUSMASTER_VERSION] [1.7.2]", f"[NUMBER_OF_MESSAGES] {len(messages)}"]
    for m in messages:
        lines.append(f"[START_MSG] {m['name']},{m['id']},{m['bytes']},{len(m['signals'])},1,{'X' if m['extended'] else 'S'},ECU")
        for s in m["signals"]:
            kind = ("F" if s["bits"] == 32 else "D") if s["float"] else "I" if s["signed"] else "U"
            mark = "M" if s.get("selector") else f"m{s['choice']}" if "choice" in s else ""
            at = _lowest(s)
            lines.append(f"[START_SIGNALS] {s['name']},{s['bits']},{at // 8 + 1},{at % 8},{kind},0,0,{int(not s['big'])},{s['offset']},"
                         f"{s['scale']},{UNITS[s['unit']]},{mark},DASH")
            lines += [f'[VALUE_DESCRIPTION] "{v}",{k}' for k, v in s["values"].items()]
        lines.append("[END_MSG]")
    lines += ["[START_MSG] odd,2046,8,1,1,S,ECU", "[START_SIGNALS] x,eight,1,0,U,0,0,1,0,1,,,DASH", "[END_MSG]"] if odd else []
    lines += ["[START_DESC]", "[START_DESC_MSG]", *(f'{m["id"]} {"X" if m["extended"] else "S"} "{_quoted(m["comment"])}";' for m in messages if m["comment"]),
              "[END_DESC_MSG]", "[END_DESC]"]
    lines += ["[START_PARAM]", "[START_PARAM_MSG]", '"GenMsgCycleTime",INT,0,65535,0', "[END_PARAM_MSG]", "[END_PARAM]", "[START_PARAM_VAL]",
              "[START_PARAM_MSG_VAL]", *(f'{m["id"]},{"X" if m["extended"] else "S"},"GenMsgCycleTime",{m["period"]}' for m in messages if m["period"]),
              "[END_PARAM_MSG_VAL]", "[END_PARAM_VAL]"]
    return "\n".join(lines) + "\n"


def json_list(messages, odd):
    out = []
    for m in messages:
        signals = [{"name": s["name"], "start_bit": _lowest(s), "bit_length": s["bits"], "factor": s["scale"], "offset": float(s["offset"]),
                    "is_big_endian": s["big"], "is_signed": s["signed"], "is_float": s["float"], "comment": s["comment"],
                    "unit": UNITS[s["unit"]], "values": {str(k): v for k, v in s["values"].items()},
                    "is_multiplexer": bool(s.get("selector")), "mux_value": s.get("choice")} for s in m["signals"]]
        out.append({"name": m["name"], "id": m["id"], "is_extended_frame": m["extended"], "is_fd": m["fd"], "length": m["bytes"],
                    "comment": m["comment"], "signals": signals})
    out += [{"name": "odd", "id": 2046, "length": 8, "signals": [{"name": "x", "start_bit": 0.5, "bit_length": 8}]}] if odd else []
    return json.dumps({"messages": out}, ensure_ascii=False, indent=1)


def _named(tag, name, inside):
    return f"<{tag}><SHORT-NAME>{name}</SHORT-NAME>{inside}</{tag}>\n"


def _arxml_signal(n, s):
    scale = (f"<COMPU-SCALE><COMPU-RATIONAL-COEFFS><COMPU-NUMERATOR><V>{s['offset']}</V><V>{s['scale']}</V></COMPU-NUMERATOR>"
             "<COMPU-DENOMINATOR><V>1</V></COMPU-DENOMINATOR></COMPU-RATIONAL-COEFFS></COMPU-SCALE>")
    scale += "".join(f"<COMPU-SCALE><LOWER-LIMIT>{k}</LOWER-LIMIT><UPPER-LIMIT>{k}</UPPER-LIMIT>"
                     f"<COMPU-CONST><VT>{v}</VT></COMPU-CONST></COMPU-SCALE>" for k, v in s["values"].items())
    base = "/P/float" if s["float"] else "/P/signed" if s["signed"] else "/P/unsigned"
    unit = f"<UNIT-REF>/P/unit_{n}</UNIT-REF>" if s["unit"] else ""
    return (_named("I-SIGNAL", s["name"], f"<LENGTH>{s['bits']}</LENGTH><SYSTEM-SIGNAL-REF>/P/sys_{n}</SYSTEM-SIGNAL-REF>")
            + _named("SYSTEM-SIGNAL", f"sys_{n}", "<PHYSICAL-PROPS><SW-DATA-DEF-PROPS-VARIANTS><SW-DATA-DEF-PROPS-CONDITIONAL>"
                     f"<BASE-TYPE-REF>{base}</BASE-TYPE-REF><COMPU-METHOD-REF>/P/scale_{n}</COMPU-METHOD-REF>"
                     "</SW-DATA-DEF-PROPS-CONDITIONAL></SW-DATA-DEF-PROPS-VARIANTS></PHYSICAL-PROPS>")
            + _named("COMPU-METHOD", f"scale_{n}", f"{unit}<COMPU-INTERNAL-TO-PHYS><COMPU-SCALES>{scale}</COMPU-SCALES></COMPU-INTERNAL-TO-PHYS>")
            + (_named("UNIT", f"unit_{n}", f"<DISPLAY-NAME>{UNITS[s['unit']]}</DISPLAY-NAME>") if s["unit"] else ""))


def _arxml_frame(m):
    order = lambda big: f"<PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-{'FIRST' if big else 'LAST'}</PACKING-BYTE-ORDER>"
    maps = "".join(_named("I-SIGNAL-TO-I-PDU-MAPPING", f"map_{s['name']}", f"<I-SIGNAL-REF>/P/{s['name']}</I-SIGNAL-REF>{order(s['big'])}"
                          f"<START-POSITION>{s['start']}</START-POSITION>") for s in m["signals"])
    return (_named("CAN-FRAME", m["name"], f"<FRAME-LENGTH>{m['bytes']}</FRAME-LENGTH><PDU-TO-FRAME-MAPPINGS>" + _named(
        "PDU-TO-FRAME-MAPPING", "at", f"{order(False)}<PDU-REF>/P/pdu_{m['name']}</PDU-REF><START-POSITION>0</START-POSITION>")
                   + "</PDU-TO-FRAME-MAPPINGS>")
            + _named("I-SIGNAL-I-PDU", f"pdu_{m['name']}", f"<LENGTH>{m['bytes']}</LENGTH><I-SIGNAL-TO-PDU-MAPPINGS>{maps}"
                     "</I-SIGNAL-TO-PDU-MAPPINGS>"))


def _arxml_triggering(m):
    fd = "<CAN-FRAME-TX-BEHAVIOR>CAN-FD</CAN-FRAME-TX-BEHAVIOR>" if m["fd"] else ""
    return _named("CAN-FRAME-TRIGGERING", f"sent_{m['name']}", f"<FRAME-REF>/P/{m['name']}</FRAME-REF><CAN-ADDRESSING-MODE>"
                  f"{'EXTENDED' if m['extended'] else 'STANDARD'}</CAN-ADDRESSING-MODE>{fd}<IDENTIFIER>{m['id']}</IDENTIFIER>")


def arxml(messages, odd):
    """Version 4. The start bit of a big-endian signal is its most significant one."""
    bad = {"name": "odd", "extended": False, "id": 2046, "fd": False, "bytes": 8, "signals": [
        {"name": "odd_x", "bits": 8, "big": False, "start": "abc", "float": False, "signed": False, "scale": "1", "offset": "0", "unit": "",
         "values": {}}]}
    messages = messages + [bad] if odd else messages
    signals = [s for m in messages for s in m["signals"]]
    elements = _named("CAN-CLUSTER", "C", "<CAN-CLUSTER-VARIANTS><CAN-CLUSTER-CONDITIONAL><PHYSICAL-CHANNELS>" + _named(
        "CAN-PHYSICAL-CHANNEL", "ch", "<FRAME-TRIGGERINGS>" + "".join(map(_arxml_triggering, messages)) + "</FRAME-TRIGGERINGS>")
        + "</PHYSICAL-CHANNELS></CAN-CLUSTER-CONDITIONAL></CAN-CLUSTER-VARIANTS>")
    elements += "".join(map(_arxml_frame, messages)) + "".join(_arxml_signal(n, s) for n, s in enumerate(signals))
    for name, encoding in (("unsigned", "NONE"), ("signed", "2C"), ("float", "IEEE754")):
        elements += _named("SW-BASE-TYPE", name, f"<BASE-TYPE-ENCODING>{encoding}</BASE-TYPE-ENCODING>")
    return ('<AUTOSAR xmlns="http://autosar.org/schema/r4.0"><AR-PACKAGES>' + _named("AR-PACKAGE", "P", f"<ELEMENTS>{elements}</ELEMENTS>")
            + "</AR-PACKAGES></AUTOSAR>\n")


WRITERS = {"dbc": dbc, "kcd": kcd, "sym": sym, "dbf": dbf, "json": json_list, "arxml": arxml}
