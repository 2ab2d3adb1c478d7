#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Reads markup of a report with Python's own XML parser and states facts about it.

markup_check.py junit FILE: structure as the common JUnit schema has it (elements, their required
attributes, their order; published with Apache Ant's junitreport, from memory), counts that agree.
markup_check.py page FILE: well-formed, one page, nothing fetched from elsewhere, each link has its
target.
Prints the problems, one a line; exit status 1 if there are any.
"""
import sys
import xml.etree.ElementTree as ElementTree


def junit_problems(root):
    if root.tag != "testsuites":
        yield f"root is {root.tag}"
    for suite in root:
        if suite.tag != "testsuite":
            yield f"{suite.tag} in testsuites"
        for name in ("name", "tests", "failures", "errors", "time"):
            if name not in suite.attrib:
                yield f"testsuite without {name}"
        order = [child.tag for child in suite]
        if order != sorted(order, key=["properties", "testcase"].index):
            yield "children of testsuite out of order"
        cases = suite.findall("testcase")
        failed = [case for case in cases if case.find("failure") is not None]
        if int(suite.get("tests")) != len(cases):
            yield f"tests says {suite.get('tests')}, there are {len(cases)}"
        if int(suite.get("failures")) != len(failed):
            yield f"failures says {suite.get('failures')}, there are {len(failed)}"
        errors = [case for case in cases if case.find("error") is not None]
        if int(suite.get("errors")) != len(errors):
            yield f"errors says {suite.get('errors')}, there are {len(errors)}"
        float(suite.get("time"))
        for case in cases:
            for name in ("name", "classname", "time"):
                if name not in case.attrib:
                    yield f"testcase without {name}"
            float(case.get("time"))
            for child in case:
                if child.tag not in ("failure", "error") or not child.get("message") or not child.get("type"):
                    yield f"{child.tag} {child.attrib} in testcase"


def page_problems(root):
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    for double in {i for i in ids if ids.count(i) > 1}:
        yield f"id {double} twice"
    for element in root.iter():
        if element.tag in ("link", "iframe", "object", "img") or element.tag == "script" and element.attrib:
            yield f"element {element.tag}"
        for name in ("src", "href", "data"):
            value = element.get(name)
            if value is not None and not value.startswith("#"):
                yield f"{name}={value}"
            elif value is not None and value[1:] not in ids:
                yield f"link to {value}, which is nowhere"


def main():
    kind, path = sys.argv[1:]
    try:
        root = ElementTree.parse(path).getroot()
    except ElementTree.ParseError as error:
        print(f"not well-formed: {error}")
        return 1
    problems = list(junit_problems(root) if kind == "junit" else page_problems(root))
    print("\n".join(problems))
    return 1 if problems else 0


sys.exit(main())
