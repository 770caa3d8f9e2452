"""The answer to "What if you had …?" as a page of its own, and the page of all that can be asked.

Rules of this file:

- Only what the debrief itself offers is answered: on a person's page the person's own items. Of
  any other item it says no more than that there is nothing to ask.
- What was done stands first, then what would have come of it, then why it matters.
- The picture has the other course as a thin line; where that runs along the first there is none.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from simengine.debrief.build_debrief import BANNER, day_of, subtitle
from simengine.debrief.debrief_sentences import say
from simengine.debrief.picture_in_words import picture_alt, picture_note
from simengine.debrief.scene import Scene
from simengine.debrief.scene_builder import in_brief, scene_of
from simengine.debrief.shown import counting, shown, unsafe
from simengine.debrief.what_if import Answer, answer_to, asks_of, one_person_asks, question
from simengine.private_files import private_folder, write_private
from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.report.blocks import (
    Block,
    Link,
    Paragraph,
    Picture,
    Report,
    Section,
    map_text,
)
from simengine.report.html import render_html
from simengine.report.printable import clean
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.people import check_trainee, everybody, without_names
from simengine.session.record import Session


class Asked(NamedTuple):
    """A page, and what its picture shows where it has one."""

    report: Report
    scene: Scene | None


def what_if_page(
    session: Session, card: ScoreCard, item: str = "", *, trainee: str | None = None
) -> Asked:
    """Return the answer for an item, by its id; without one, all that can be asked.

    ``trainee``: of this person's own items. Raises ``InputError`` where the person had no role.
    """
    if trainee is not None:
        check_trainee(session, trainee)
    scores = [
        *unsafe(session, card, trainee),
        *counting(session, [score for score, _ in shown(session, card, trainee)], trainee),
    ]
    personal = one_person_asks(session, trainee)
    chosen = next((score for score in scores if score.id == item), None)
    answer = answer_to(session, chosen) if chosen is not None else None
    scene = None
    if not item:
        title = say("ask_any")
        blocks = _all(session, scores, asks_of(session, scores, "", personal=personal))
    elif chosen is None or answer is None:
        title, blocks = say("ask_nothing_title"), (Paragraph(say("ask_nothing")),)
    else:
        then = question(answer.wanted, personal=personal)
        title = say("ask_of", title=chosen.title, question=then)
        scene = _scene(session, card, answer, trainee)
        blocks = _answered(session, chosen, answer, scene)
    report = Report(
        lang="en-GB",
        day=day_of(session),
        banner=BANNER,
        title=title,
        subtitle=subtitle(session, trainee),
        caution=session.scenario.vocabulary.caution,
        notices=(),
        blocks=blocks,
    )
    others = [person for person in everybody(session) if person != trainee]
    return Asked(map_text(report, lambda text: clean(without_names(text, others))), scene)


def write_what_if(
    session: Session, card: ScoreCard, folder: Path, item: str, *, trainee: str | None = None
) -> Path:
    """Write the answer as a web page into a folder, and return its file."""
    report, scene = what_if_page(session, card, item, trainee=trainee)
    pictures: dict[str, bytes] = {}
    if scene is not None:  # what draws is slow to load, and few answers need it
        from simengine.debrief.picture.compose import HALF_A_PAGE, draw
        from simengine.report.drawing import svg

        pictures["brief"] = svg(draw(in_brief(scene), HALF_A_PAGE))
    file = folder / "what-if.html"
    private_folder(folder)
    write_private(file, render_html(report, pictures).encode())
    return file


def _scene(session: Session, card: ScoreCard, answer: Answer, trainee: str | None) -> Scene | None:
    """Return what the picture shows, where the other course is seen in it."""
    if answer.other is None:
        return None
    scene = scene_of(session, card, answer.other, trainee=trainee)
    same = scene_of(session, card, session, trainee=trainee)
    return scene if [c.other for c in scene.curves] != [c.other for c in same.curves] else None


def _answered(
    session: Session, item: ItemScore, answer: Answer, scene: Scene | None
) -> tuple[Block, ...]:
    done: list[Block] = [Paragraph(item.sentence)] if item.sentence else []
    come_of_it: list[Block] = [Paragraph(answer.words)]
    if answer.other is not None:
        come_of_it.append(Paragraph(say("what_if_limits"), "soft"))
    blocks: list[Block] = [
        Section(say("own_done"), tuple(done)),
        Section(say("ask_answer_title"), tuple(come_of_it)),
    ]
    if scene is not None:
        line = say("what_if_line", what=answer.wanted.what)
        blocks.append(
            Picture(
                picture="brief",
                title=say("picture_title"),
                sentences=(f"{capitalised(line)}.",),
                alt=f"{picture_alt(scene)} {answer.words}",
                note=picture_note(session, scene, answer.other),
            )
        )
    if item.why:
        blocks.append(Section(say("ask_why"), (Paragraph(item.why),)))
    blocks.append(Link(say("ask_any"), "what-if"))
    return tuple(blocks)


def _all(session: Session, scores: list[ItemScore], asks: Mapping[str, Link]) -> tuple[Block, ...]:
    out: list[Block] = []
    never = {item.id for item in session.scenario.never}
    phases = {score.id: "" if score.id in never else score.phase for score in scores}
    groups = {"": say("ask_unsafe"), **session.scenario.vocabulary.phases}
    for phase, label in groups.items():
        blocks = []
        for score in scores:
            if phases[score.id] == phase and score.id in asks:
                ask = asks[score.id]
                text = say("ask_of", title=score.title, question=in_a_sentence(ask.text))
                blocks.append(Link(text, ask.address))
        if blocks:
            out.append(Section(label, tuple(blocks)))
    return tuple(out) or (Paragraph(say("ask_none")),)
