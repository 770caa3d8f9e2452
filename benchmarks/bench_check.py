"""How long `check` of one file takes as a cold process, beside a bare read and validation.

Asked: under 0.4 s. The reference reads the same file with PyYAML's libyaml loader and validates it
with jsonschema against the same schema, without positions, names, units or any check of sense.
"""

import sys
from pathlib import Path

from benchmarks.cold import cold
from simengine.resources import scenarios_dir, schemas_dir

PROGRAM = str(Path(sys.executable).with_name("simengine"))
BARE = """
import json, sys, yaml, jsonschema
schema = json.load(open(sys.argv[2]))
jsonschema.Draft202012Validator(schema).is_valid(yaml.load(open(sys.argv[1]), yaml.CSafeLoader))
"""

for file in sorted(scenarios_dir().glob("*.yaml")):
    ours = cold([PROGRAM, "check", str(file)])
    schema = str(schemas_dir() / "scenario.schema.json")
    bare = cold([sys.executable, "-c", BARE, str(file), schema])
    lines = len(file.read_text(encoding="utf-8").splitlines())
    print(f"{file.name}, {lines} lines")
    print(f"  simengine check            {ours}   asked: under 400 ms")
    print(f"  bare PyYAML and jsonschema {bare}   ratio {ours.seconds / bare.seconds:.1f}")
