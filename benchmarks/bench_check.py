"""How long `check` of one file takes as a cold process, beside a bare read and validation.

Asked: under 0.4 s, and where a panel has set the mark at most 1.5 times the reference. The
reference reads the same file with PyYAML's libyaml loader and validates it with jsonschema against
the same schema, without positions, names, units or any check of sense.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from benchmarks.cold import cold
from simengine.resources import scenarios_dir, schemas_dir
from simengine.scenario.set_standard import NewStandard, with_standard

PROGRAM = str(Path(sys.executable).with_name("simengine"))
SET = NewStandard("55 %", "as if set", "nobody", "2026-01-15", "2 %")
# without an optional package of jsonschema's, which takes a second to import and judges what no
# schema of ours asks: it would flatter us
BARE = """
import sys
sys.modules["rfc3987_syntax"] = None
import json, yaml, jsonschema
schema = json.load(open(sys.argv[2]))
jsonschema.Draft202012Validator(schema).is_valid(yaml.load(open(sys.argv[1]), yaml.CSafeLoader))
"""


def measure(file: Path, name: str) -> None:
    """Print what checking a file takes, beside the bare reading of it."""
    ours = cold([PROGRAM, "check", str(file)])
    schema = str(schemas_dir() / "scenario.schema.json")
    bare = cold([sys.executable, "-c", BARE, str(file), schema])
    lines = len(file.read_text(encoding="utf-8").splitlines())
    print(f"{name}, {lines} lines")
    print(f"  simengine check            {ours}   asked: under 400 ms")
    print(f"  bare PyYAML and jsonschema {bare}   ratio {ours.processor / bare.processor:.1f}")


files = sorted(scenarios_dir().glob("*.yaml"))
for file in files:
    measure(file, file.name)
with tempfile.TemporaryDirectory() as made:
    largest = max(files, key=lambda file: file.stat().st_size)
    copy = Path(made) / largest.name
    shutil.copytree(largest.parent / "protocols", copy.parent / "protocols")
    text = with_standard(largest.read_text(encoding="utf-8"), SET)
    assert text is not None
    copy.write_text(text, encoding="utf-8")
    measure(copy, f"{copy.name} as if a panel had set its mark, so that teams are played")
