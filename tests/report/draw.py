"""Draw sentences by seed from all that the program says, to be read as a clinician would.

``python -m tests.report.draw SEED [HOW MANY]`` prints each with where it stands; the same seed
draws the same, as long as the words are the same.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from random import Random

import simengine
from simengine.catalogue import Catalogue
from simengine.cohort_report.build_report import cohort_page
from simengine.cohort_report.demo import demo_cohort
from simengine.cohort_report.demo.material import demo_material
from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import take_home_of
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.what_if import what_ifs
from simengine.report.blocks import texts
from simengine.scoring import score
from simengine.setup_pack.build_pack import setup_pack
from simengine.setup_pack.contents import load_contents
from tests import shipped

ROOT = Path(simengine.__file__).parent
CATALOGUES = ("desk", "coordinator", "room", "rehearsal", "pilot")
LEAST_WORDS = 4


def debriefs() -> Iterator[tuple[str, str]]:
    """What the score card and the two pages to take home say of each shipped session."""
    for name in shipped.SESSIONS:
        session = shipped.session(name)
        card = score(session, redraws=0)
        page = debrief_page(session, card, scene_of(session, card), what_if=what_ifs(session, card))
        for text in (*(item.sentence for item in card.items), *texts(take_home_of(page).blocks)):
            yield f"debrief {name}", text


def packs() -> Iterator[tuple[str, str]]:
    """What the set-up packs say."""
    for name in shipped.SCENARIOS:
        scenario = shipped.scenario(name)
        for text in texts(setup_pack(scenario, load_contents(scenario), day=(2026, 1, 31))):
            yield f"set-up pack {name}", text


def cohort() -> Iterator[tuple[str, str]]:
    """What the report on the invented hospital says."""
    for text in texts(cohort_page(demo_material(demo_cohort()))[0]):
        yield "cohort report", text


def console() -> Iterator[tuple[str, str]]:
    """The words of the templates; sentences of console and pilot with their places open."""
    for package in CATALOGUES:
        for key, sentence in Catalogue(f"simengine.{package}").sentences.items():
            yield f"{package} {key}", sentence
    for file in sorted(ROOT.glob("*/templates/**/*.j2")):
        source = re.sub(r"\{#.*?#\}|\{%.*?%\}", "\n", file.read_text("utf-8"), flags=re.DOTALL)
        source = re.sub(r"\{\{\s*(.*?)\s*\}\}", "…", source, flags=re.DOTALL)
        for text in _texts_of(source):
            yield f"template {file.name}", text


def _texts_of(source: str) -> Iterator[str]:
    for text in re.sub(r"<[^>]*>", "\n", source).split("\n\n"):
        yield unescape(" ".join(text.split()))


def all_said() -> list[tuple[str, str]]:
    """Every sentence once, with where it stands first."""
    first: dict[str, str] = {}
    for source in (debriefs, packs, cohort, console):
        for where, text in source():
            plain = text.replace("\u200b", "").replace("\u00a0", " ").strip()
            if len(re.findall(r"\b[A-Za-z]{2,}\b", plain)) >= LEAST_WORDS:
                first.setdefault(plain, where)
    return [(where, text) for text, where in first.items()]


def main(seed: int, number: int = 40) -> None:
    """Print ``number`` sentences, as many of each kind of page as fall to it."""
    by_kind: dict[str, list[tuple[str, str]]] = {}
    for where, text in all_said():
        by_kind.setdefault(where.split()[0], []).append((where, text))
    random = Random(seed)
    for place in range(number):
        kind = sorted(by_kind)[place % len(by_kind)]
        where, text = random.choice(by_kind[kind])
        sys.stdout.write(f"{place + 1}. [{where}] {text}\n")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
