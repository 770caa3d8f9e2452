"""How long `check` of one file takes as a cold process, beside bare reads and validations.

Asked: under 0.4 s, and where a panel has set the mark at most 1.5 times the reference. The
reference reads the same file with PyYAML's libyaml loader and validates it with jsonschema against
the same schema, without positions, names, units or any check of sense. What `check` reads besides
(vocabulary, protocols, equipment, physiology, plays) it leaves out; so a second one, which nothing
is asked of, reads and validates all of these files.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from benchmarks.cold import Cold, cold
from simengine.resources import scenarios_dir, schemas_dir
from simengine.scenario.loading import source_files
from simengine.scenario.set_standard import NewStandard, with_standard

PROGRAM = str(Path(sys.executable).with_name("simengine"))
SET = NewStandard("55 %", "as if set", "nobody", "2026-01-15", "2 %")
BARE = """
import sys, json, yaml, jsonschema
validators = {}
for schema, file in zip(sys.argv[1::2], sys.argv[2::2]):
    if schema not in validators:
        validators[schema] = jsonschema.Draft202012Validator(json.load(open(schema)))
    validators[schema].is_valid(yaml.load(open(file), yaml.CSafeLoader))
"""


def bare(files: list[tuple[str, Path]]) -> Cold:
    """Read and validate files, each by the schema of its kind."""
    named = [
        str(path) for kind, file in files for path in (schemas_dir() / f"{kind}.schema.json", file)
    ]
    return cold([sys.executable, "-c", BARE, *named])


def all_read(file: Path) -> list[tuple[str, Path]]:
    """Return all files that checking a scenario reads, with their kinds."""
    sources = source_files(file)
    plays = sorted((file.parent / "plays" / file.stem).glob("*.yaml"))
    return [
        ("scenario", file),
        ("vocabulary", sources.vocabulary),
        *(("protocol", protocol) for protocol in sources.protocols),
        *(("equipment", path) for path in (sources.equipment,) if path is not None),
        *(("physiology", path) for path in (sources.physiology,) if path is not None),
        *(("play", play) for play in plays),
    ]


def measure(file: Path, name: str) -> None:
    """Print what checking a file takes, beside the bare reading of it."""
    ours = cold([PROGRAM, "check", str(file)])
    read = all_read(file)
    references = {"its one file": bare(read[:1]), f"all {len(read)} files": bare(read)}
    lines = len(file.read_text(encoding="utf-8").splitlines())
    print(f"{name}, {lines} lines")
    print(f"  {'simengine check':<39} {ours}   asked: under 400 ms")
    for what, reference in references.items():
        print(f"  bare PyYAML and jsonschema, {what:<12} {reference}   ", end="")
        print(f"ratio {ours.processor / reference.processor:.1f}")


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
