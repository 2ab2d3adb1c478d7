#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""all_characters.py FILE: an element whose attribute `a` and whose content hold the code points of RANGES.

What may stand there is written down from XML 1.0 (fifth edition), production [2] Char; surrogates are
no UTF-8 (RFC 3629, section 3), each of their three bytes is replaced. A reader turns line ends in
content into line feeds (section 2.11), white space in attributes into spaces (section 3.3.3).
Exit status 1 when the file is not well-formed or holds another text.
"""
import sys
import unicodedata
import xml.etree.ElementTree as ElementTree

RANGES = ((0, 0x2FFF), (0xD700, 0x10FFF), (0x10FF00, 0x10FFFF))  # as in markup_test.cc


def is_char(c):
    return c in (0x9, 0xA, 0xD) or 0x20 <= c <= 0xD7FF or 0xE000 <= c <= 0xFFFD or 0x10000 <= c <= 0x10FFFF


def is_discouraged(c):
    if 0x7F <= c <= 0x9F:  # section 2.2, the first line of its list; and U+0085, a line end to some
        return True
    # What has no width and joins no letters; the soft hyphen, Mongolian's separator and what Unicode advises against stay.
    kept_unseen = (0xAD, 0x180E, 0x200C, 0x200D, *range(0x206A, 0x2070))
    if unicodedata.category(chr(c)) == "Cf" and unicodedata.bidirectional(chr(c)) == "BN" and c not in kept_unseen:
        return True
    # Line ends too (Unicode 15, 5.8), and orders of the bidirectional algorithm (UAX #9, table 4's explicit formatting).
    return c in (0x2028, 0x2029) or unicodedata.bidirectional(chr(c)) in ("LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI")


def kept(c):
    if 0xD800 <= c <= 0xDFFF:
        return "\N{REPLACEMENT CHARACTER}" * 3
    return chr(c) if is_char(c) and not is_discouraged(c) else "\N{REPLACEMENT CHARACTER}"


def main():
    try:
        root = ElementTree.parse(sys.argv[1]).getroot()
    except ElementTree.ParseError:
        return 1
    text = "".join(kept(c) for first, last in RANGES for c in range(first, last + 1))
    as_content = text.replace("\r", "\n")
    as_attribute = text.translate({0x9: " ", 0xA: " ", 0xD: " "})
    return 0 if root.text == as_content and root.get("a") == as_attribute else 1


sys.exit(main())
