"""A seventh kind of key item, which the program does not have: two actions that take turns.

``alternate: [press, pump]`` asks that neither of them follows itself. Its two files and its
sentences stand here as they would in the program (``docs/adding-a-kind.md``); ``added_to_a_copy``
puts them there, in a copy of the program, and ``added`` makes them known to the one that runs.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

import simengine.schemas
from docs import write_formats as writing
from simengine.resources import schemas_dir
from simengine.scenario.key import ITEMS, item_form
from simengine.scenario.kinds import CLASSES
from simengine.scenario.model import FILE
from simengine.scoring.catalogue import say
from simengine.scoring.kinds import KINDS
from tests.scoring.alternate import how_it_is_marked, what_it_is

HERE = Path(__file__).parent
ROOT = Path(simengine.__file__).parents[1]
MODULE = "simengine.scenario.kinds.alternate"
IMPORT = f"from {MODULE} import Alternate\n"
LINE = "    Alternate,\n"


def added_to_a_copy(folder: Path) -> Path:
    """Return a copy of the program that has the kind: two files, its sentences, and one line."""
    for part in ("simengine", "scenarios", "docs"):
        shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "schemas", folder / "schemas")
    package = folder / "simengine"
    shutil.copy(HERE / "what_it_is.py", package / "scenario" / "kinds" / "alternate.py")
    marked = (HERE / "how_it_is_marked.py").read_text("utf-8")
    marked = marked.replace(what_it_is.__name__, MODULE)
    (package / "scoring" / "kinds" / "alternate.py").write_text(marked, "utf-8")
    table = package / "scoring" / "scoring_sentences.yaml"
    own = (HERE / "sentences.yaml").read_text("utf-8")
    table.write_text(table.read_text("utf-8") + own, "utf-8")
    kinds = package / "scenario" / "kinds" / "__init__.py"
    text = kinds.read_text("utf-8")
    for line, before in ((IMPORT, "from simengine.scenario.kinds.avoid"), (LINE, "    Expect,\n")):
        text = text.replace(before, line + before, 1)
    kinds.write_text(text, "utf-8")
    return folder


def added(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """Make the kind known to this process, which has made what follows from its list before."""
    put: Callable[[Any, Any, Any], None] = monkeypatch.setitem
    owner = what_it_is.Alternate
    put(CLASSES, owner.kind, owner)
    put(ITEMS, owner.kind, item_form(owner.kind, owner))
    put(KINDS, owner, how_it_is_marked.KIND)
    for key, sentence in yaml.safe_load((HERE / "sentences.yaml").read_text("utf-8")).items():
        put(say.sentences, key, sentence)
    schemas = folder / "schemas"
    shutil.copytree(schemas_dir(), schemas)
    (schemas / "scenario.schema.json").write_text(writing.schema_text("scenario"), "utf-8")
    monkeypatch.setattr(simengine.schemas, "schemas_dir", lambda: schemas)
    assert FILE is writing.FILES["scenario"]
    forget()


def forget() -> None:
    """Let the schemas be read anew."""
    simengine.schemas.validator.cache_clear()
    simengine.schemas._fast.cache_clear()
