#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Schema, page and loader say the same about every key, and the shipped files are as the program prints them.

Profiles are taken as written, before includes are merged: as an editor sees them.

every_section.yaml, every_section_scenario.yaml and every_section_capture.yaml have each section and each kind. One value at a time is made
wrong there, by what the schema says of its key; then schema (by python3-jsonschema) and loader (`drycrank proofread`)
must both refuse it.

    schema_test.py DRYCRANK [ROOT]
"""
import copy
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import jsonschema
import yaml

DRYCRANK = pathlib.Path(sys.argv.pop(1)).resolve()
ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
SCHEMAS = ROOT / "profiles" / "schema"
BAD = ROOT / "tests" / "bad_profiles"
HERE = pathlib.Path(__file__).parent
# Keys that other keys allow less than the table says: 11 bits of identifier, teeth of this wheel, this stimulus, full scale.
NARROWER = {"id", "functional_id", "request_id", "response_id", "missing", "tooth", "cylinder", "start_bit", "length_bits",
            "length_bytes", "multiplex_value", "offset_deg", "amplitude", "early_ms", "firing_angles_deg", "pid", "by", "most_v"}
UNKNOWN = "of another kind, or of none"
# Of a kind that a left-out key chooses by what the bench has: OBD or J1939.
BY_DEFAULT = {"code", "spn", "fmi"}
# What the loader calls a value of theirs.
NAMES = {"tooth_edges_deg": ["tooth"], "for_s": ["for_s", "a length and a condition"]}


def explain(*arguments):
    return subprocess.run([DRYCRANK, "explain", *arguments], check=True, capture_output=True, text=True).stdout


def with_text_keys(value):
    """JSON has text keys only: {0: stopped} becomes {"0": stopped}."""
    if isinstance(value, dict):
        return {str(k): with_text_keys(v) for k, v in value.items()}
    return [with_text_keys(v) for v in value] if isinstance(value, list) else value


def read(path):
    return with_text_keys(yaml.safe_load(path.read_text(encoding="utf-8")))


def validator_of(name):
    return jsonschema.Draft202012Validator(json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")))


def problems(data):
    name = "scenario" if {"steps", "expect", "faults", "replay"} & set(data) else "bench"
    return [f"{list(e.absolute_path)}: {e.message[:200]}" for e in validator_of(name).iter_errors(data)]


class Walk:
    """The mappings of a document, each with its place and the section of the schema it is."""

    def __init__(self, name):
        self.schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
        self.root = self.schema["$ref"].split("/")[-1]
        self.validators = {}

    def validator(self, section):
        if section not in self.validators:
            whole = {"$defs": self.schema["$defs"], "$ref": f"#/$defs/{section}"}
            self.validators[section] = jsonschema.Draft202012Validator(whole)
        return self.validators[section]

    @staticmethod
    def fits(schema, value):
        return jsonschema.Draft202012Validator(schema).is_valid(value)

    def properties(self, section, mapping):
        """Key to schema, as they are for this mapping: of its kind."""
        described = self.schema["$defs"][section]
        keys = {k: v for k, v in described["properties"].items() if k != "include" and v is not True}
        for rule in described.get("allOf", []):
            if "if" in rule and self.fits(rule["if"], mapping):
                keys.update(rule["then"]["properties"])
        return keys

    def others(self, section, mapping):
        """Keys of other kinds."""
        mine = self.properties(section, mapping)
        return [k for k in self.schema["$defs"][section]["properties"] if k != "include" and k not in mine]

    def sections(self, value, schema, place):
        """(place, section) of each mapping under `value`."""
        for option in options_of(schema):
            if "$ref" in option and isinstance(value, dict) and not option["$ref"].endswith("number_with_unit"):
                section = option["$ref"].split("/")[-1]
                yield place, section
                for key, of_key in self.properties(section, value).items():
                    if key in value:
                        yield from self.sections(value[key], of_key, (*place, key))
            elif option.get("type") == "array" and isinstance(value, list) and "items" in option:
                for i, item in enumerate(value):
                    yield from self.sections(item, option["items"], (*place, i))
            elif "patternProperties" in option and isinstance(value, dict):
                for key, entry in value.items():
                    (of_entry,) = option["patternProperties"].values()
                    yield from self.sections(entry, of_entry, (*place, key))

    def all(self, document):
        return list(self.sections(document, {"$ref": f"#/$defs/{self.root}"}, ()))


def options_of(schema):
    """The schema itself, or all that it may be instead."""
    return [leaf for option in schema["anyOf"] for leaf in options_of(option)] if "anyOf" in schema else [schema]


def outside(schema):
    """Values just beyond the limits of a number, or of the numbers in a list."""
    found = []
    for option in options_of(schema):
        for limit, sign in (("minimum", -1), ("maximum", 1)):
            if limit in option:
                whole = option["type"] == "integer"
                step = 1 if whole else max(1e-3 * abs(option[limit]), 1e-6)
                found.append(option[limit] + sign * step)
        if option.get("type") == "array":
            if "prefixItems" in option:
                for i, of_item in enumerate(option["prefixItems"]):
                    for value in outside(of_item):
                        row = [1, 1]
                        row[i] = value
                        found.append(row)
            elif "items" in option:
                least = option.get("minItems", 0)
                for value in outside(option["items"]):
                    found.append([value] * max(1, least))
    return found


def inside(schema):
    """The limits themselves."""
    return [option[limit] for option in options_of(schema) for limit in ("minimum", "maximum")
            if limit in option]


def of_wrong_kind(schema):
    """A value of a kind that the key never has."""
    options = options_of(schema)
    if any("enum" in option for option in options):
        return ["no_such_word"]
    if any(option.get("type") == "boolean" for option in options):
        return ["perhaps"]
    if all(option.get("type") in ("number", "integer") for option in options):
        return ["many"]
    if any("$ref" in option or option.get("type") in ("object", "array") for option in options):
        return ["text"] if all("$ref" in o or o.get("type") in ("object", "array") for o in options) else [[[[]]]]
    return [["a list"]]


class Files:
    """Documents beside the two of the test, told about by one `drycrank proofread`."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        shutil.copy(HERE / "every_section.yaml", folder)
        shutil.copy(ROOT / "profiles" / "recordings" / "hill_climb_healthy.log", self.folder / "traffic.log")
        (self.folder / "ride.csv").write_text("t_s,speed\n0,0\n2,20\n")
        # Half a second of a crank of 100 Hz.
        (self.folder / "engine.csv").write_text("Time,CH1\n" + "".join(f"{k / 2000},{k // 10 % 2}\n" for k in range(1000)))
        (self.folder / "channels.yaml").write_text("kind: capture\nformat: 1\nchannels: {crank: {column: CH1}}\n")
        self.paths = []

    def add(self, document):
        path = self.folder / f"{len(self.paths)}.yaml"
        path.write_text(json.dumps(document, ensure_ascii=False), encoding="utf-8")
        self.paths.append(path)
        return len(self.paths) - 1

    def told(self):
        """What the loader says, by number of the document; not what is set otherwise than its readout."""
        said = {i: [] for i in range(len(self.paths))}
        proofread = subprocess.run([DRYCRANK, "proofread", *self.paths], capture_output=True, text=True, check=False)
        for line in proofread.stderr.splitlines():
            name = pathlib.Path(line.split(":", 1)[0]).name
            if name.removesuffix(".yaml").isdigit() and "correct the readout" not in line:
                said[int(name.removesuffix(".yaml"))].append(line)
        return said


def changed(document, place, key, value):
    copied = copy.deepcopy(document)
    at = copied
    for step in place:
        at = at[step]
    at[key] = value
    return copied


class Schema(unittest.TestCase):
    def test_schemas_are_schemas(self):
        for path in sorted(SCHEMAS.glob("*.json")):
            jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text()))

    def test_files_are_as_the_program_prints_them(self):
        for name in ("bench", "scenario"):
            printed = explain("--schema", name)
            shipped = (SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")
            self.assertTrue(shipped == printed, f"drycrank explain --schema {name} > profiles/schema/{name}.schema.json")
        page = (ROOT / "hw-notes" / "keys.md").read_text(encoding="utf-8")
        self.assertTrue(page == explain("--page"), "drycrank explain --page > hw-notes/keys.md")

    def test_every_shipped_profile_fits(self):
        shipped = sorted((ROOT / "profiles" / "benches").rglob("*.yaml"))
        shipped += sorted((ROOT / "profiles" / "scenarios").rglob("*.yaml"))
        self.assertGreaterEqual(len(shipped), 2)
        bases = [BAD / "base" / f"{name}.yaml" for name in ("minimal", "wired", "plain")]
        for path in shipped + bases:
            self.assertEqual(problems(read(path)), [], path.name)

    def test_wrong_profiles_do_not(self):
        for name in ("unknown_keys", "missing_keys", "names", "firing_order", "stimuli", "trigger_keys",
                     "sensor_kinds", "signals", "messages", "display", "steps", "drives",
                     "expectations", "faults", "no_kind", "include_not_text"):
            self.assertNotEqual(problems(read(BAD / f"{name}.yaml")), [], name)

    def test_a_switch_has_no_beta_and_no_number_is_beyond_its_limits(self):
        bench = read(HERE / "every_section.yaml")
        self.assertEqual(problems(bench), [])
        for place, key, value in ((("engine",), "compression_ripple", 7), (("sensors", "air"), "r0_ohm", -5),
                                  (("sensors", "oil"), "beta", {"beta_k": 3977})):
            self.assertNotEqual(problems(changed(bench, place, key, value)), [], key)


class SchemaAndLoader(unittest.TestCase):
    """Each of the two documents, one value wrong at a time."""

    def compare(self, walk, file, sections=None, elsewhere=()):
        """How many values were wrong, and who took one, or refused a right one."""
        document = read(HERE / file)
        self.assertEqual(problems(document), [])
        seen, wrong = set(), []
        refused, allowed = {}, {}  # number of a document: section, key, value
        with tempfile.TemporaryDirectory() as folder:
            files = Files(folder)
            right = files.add(document)
            for place, section in walk.all(document):
                if sections and section not in sections:
                    continue
                mapping = document
                for step in place:
                    mapping = mapping[step]
                validator = walk.validator(section)
                properties = walk.properties(section, mapping)
                seen |= {(section, key) for key in properties}
                bad = [(key, value) for key, schema in properties.items() for value in outside(schema)]
                bad += [(key, value) for key, schema in properties.items() for value in of_wrong_kind(schema)]
                bad += [(key, UNKNOWN) for key in [*walk.others(section, mapping), "no_such_key"]]
                good = [(key, value) for key, schema in properties.items() for value in inside(schema)
                        if key not in NARROWER]
                for key, value in bad:
                    refused[files.add(changed(document, place, key, value))] = (section, key, value)
                    if validator.is_valid({**mapping, key: value}):
                        wrong.append(f"schema takes {section}.{key}: {value}")
                for key, value in good:
                    allowed[files.add(changed(document, place, key, value))] = (section, key, value)
                    if any(key in error.absolute_path for error in validator.iter_errors({**mapping, key: value})):
                        wrong.append(f"schema refuses {section}.{key}: {value}")
            told = files.told()
        self.assertEqual(told[right], [])
        for number, (section, key, value) in refused.items():
            about = [f"unknown key '{key}'"] if value == UNKNOWN else [
                *NAMES.get(key, [key]), "no_such_word", "is a single value"]
            unknown = any(f"unknown key '{key}'" in line for line in told[number])
            if unknown and value != UNKNOWN and key not in BY_DEFAULT:
                wrong.append(f"loader knows no {section}.{key}: {told[number]}")
            # That a bus is too slow for a gauge is no word about the value itself.
            own = [line for line in told[number] if "a longer stale_ms" not in line]
            if not any(words in line for line in own for words in about):
                wrong.append(f"loader takes {section}.{key}: {value}: {told[number]}")
        for number, (section, key, value) in allowed.items():
            if any(f"'{key}' is " in line for line in told[number]):
                wrong.append(f"loader refuses {section}.{key}: {value}: {told[number]}")
        for section, described in walk.schema["$defs"].items():
            for key in described.get("properties", {}):
                if key != "include" and (section, key) not in seen and not sections and section not in elsewhere:
                    wrong.append(f"{file} has no {section} that may have {key}")
        return len(refused), wrong

    def test_bench(self):
        count, wrong = self.compare(Walk("bench"), "every_section.yaml")
        self.assertEqual(wrong, [])
        self.assertGreater(count, 1000)

    def test_scenario(self):
        count, wrong = self.compare(Walk("scenario"), "every_section_scenario.yaml", elsewhere=("played_capture",))
        self.assertEqual(wrong, [])
        self.assertGreater(count, 500)

    def test_capture(self):
        count, wrong = self.compare(Walk("scenario"), "every_section_capture.yaml", {"played_capture"})
        self.assertEqual(wrong, [])
        self.assertGreater(count, 10)

    def test_another_limit_in_the_schema_is_found(self):
        for limit, value, found in (("maximum", 10, "loader takes gauge.stale_ms: 10.01"),
                                    ("maximum", 1e9, "loader refuses gauge.stale_ms: 1000000000.0"),
                                    ("minimum", 100, "loader takes gauge.stale_ms: 99.9")):
            walk = Walk("bench")
            walk.schema["$defs"]["gauge"]["properties"]["stale_ms"]["anyOf"][0][limit] = value
            _, wrong = self.compare(walk, "every_section.yaml", {"gauge"})
            self.assertTrue(any(line.startswith(found) for line in wrong), wrong)

    def test_a_key_too_many_in_the_schema_is_found(self):
        walk = Walk("bench")
        walk.schema["$defs"]["gauge"]["properties"]["colour"] = {"type": "number", "minimum": 1}
        _, wrong = self.compare(walk, "every_section.yaml", {"gauge"})
        self.assertTrue(any(line.startswith("loader knows no gauge.colour") for line in wrong), wrong)


if __name__ == "__main__":
    unittest.main()
