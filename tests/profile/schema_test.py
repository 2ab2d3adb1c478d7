#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The schemas fit every shipped profile, refuse wrong ones, and are as make_schema.py writes them.

Profiles are taken as written, before includes are merged: as an editor sees them.
"""
import importlib.util
import json
import pathlib
import sys
import unittest

import jsonschema
import yaml

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
SCHEMAS = ROOT / "profiles" / "schema"
BAD = ROOT / "tests" / "bad_profiles"


def with_text_keys(value):
    """JSON has text keys only: {0: stopped} becomes {"0": stopped}."""
    if isinstance(value, dict):
        return {str(k): with_text_keys(v) for k, v in value.items()}
    return [with_text_keys(v) for v in value] if isinstance(value, list) else value


def problems(path):
    data = with_text_keys(yaml.safe_load(path.read_text(encoding="utf-8")))
    name = "scenario" if {"steps", "expect", "faults", "replay"} & set(data) else "bench"
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    return [f"{path.name}: {list(e.absolute_path)}: {e.message[:200]}"
            for e in validator.iter_errors(data)]


class Schema(unittest.TestCase):
    def test_schemas_are_schemas(self):
        for path in sorted(SCHEMAS.glob("*.json")):
            jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text()))

    def test_files_are_as_the_script_writes_them(self):
        spec = importlib.util.spec_from_file_location("make_schema", SCHEMAS / "make_schema.py")
        module = importlib.util.module_from_spec(spec)
        sys.dont_write_bytecode = True
        spec.loader.exec_module(module)
        for name, text in module.texts():
            self.assertEqual((SCHEMAS / name).read_text(encoding="utf-8"), text, name)

    def test_every_shipped_profile_fits(self):
        shipped = sorted((ROOT / "profiles" / "benches").rglob("*.yaml"))
        shipped += sorted((ROOT / "profiles" / "scenarios").rglob("*.yaml"))
        self.assertGreaterEqual(len(shipped), 2)
        bases = [BAD / "base" / f"{name}.yaml" for name in ("minimal", "wired", "plain")]
        for path in shipped + bases:
            self.assertEqual(problems(path), [])

    def test_wrong_profiles_do_not(self):
        for name in ("unknown_keys", "missing_keys", "names", "firing_order", "stimuli", "trigger_keys",
                     "sensor_kinds", "signals", "messages", "display", "steps", "drives",
                     "expectations", "faults", "no_kind", "include_not_text"):
            self.assertNotEqual(problems(BAD / f"{name}.yaml"), [], name)


if __name__ == "__main__":
    unittest.main()
