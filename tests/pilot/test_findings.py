"""What a pilot says about a scenario."""

from dataclasses import replace
from pathlib import Path

import pytest

from simengine.people.pilots import PilotSeen, pilot_of
from simengine.pilot.findings import Findings, find
from simengine.pilot.pilot_page import pilot_page, warnings
from simengine.pilot.report import figures, render, write_pilot
from simengine.pilot.run_pilot import (
    COMPARED,
    EVERYTHING,
    FAULTLESS,
    NOTHING,
    STOPS,
    Played,
    pilot,
)
from simengine.report.blocks import texts
from simengine.resources import scenarios_dir
from simengine.scenario.model import Scenario
from simengine.scoring.score_figures import ItemFigures
from tests.pilot.skill_levels import NAMES, shipped, skills
from tests.report.shapes import odd
from tests.report.text_boxes import text_boxes

NAME = "term-not-breathing"


def one(scenario: Scenario, level: str, number: int, credit: float | None) -> Played:
    """A team that has this credit for every item."""
    return Played(
        level=level,
        number=number,
        total=credit,
        outcome=None,
        closed="finished",
        length_ms=300_000,
        states=tuple(scenario.states),
        items={item.id: ItemFigures(credit, 1_000) for item in scenario.key},
        deductions={},
        left_at_once=(),
    )


def made(**totals: list[float]) -> list[Played]:
    scenario = shipped(NAME)
    teams = [
        one(scenario, level, number, total)
        for level, all_ in totals.items()
        for number, total in enumerate(all_)
    ]
    best = {NOTHING: 0.0, STOPS: 0.1, EVERYTHING: 0.4, FAULTLESS: 1.0}
    return teams + [one(scenario, name, 0, best[name]) for name in COMPARED]


def found(teams: list[Played]) -> Findings:
    return find(shipped(NAME), skills(), teams, runs=4, seed=1)


APART = {"slow": [0.1, 0.2], "usual": [0.4, 0.5], "steady": [0.8, 0.9]}


def test_teams_that_are_apart_leave_nothing_to_look_at_but_that_they_are_few() -> None:
    messages = warnings(shipped(NAME), found(made(**APART)))
    assert len(messages) == 1
    assert messages[0].startswith("4 teams at each skill is not many.")


@pytest.mark.parametrize(
    "teams", [APART, {"slow": [0.1, 0.9], "usual": [0.5], "steady": [0.2, 0.8]}]
)
def test_its_page_says_nothing_that_a_colleague_would_not_say(
    teams: dict[str, list[float]],
) -> None:
    page = pilot_page(shipped(NAME), skills(), found(made(**teams)))
    names = {fact.text for fact in page.facts}
    sources = (scenarios_dir() / "pilot" / "skills.yaml").read_text("utf-8")
    assert odd((text for text in texts(page) if text not in names), sources) == []


def test_slow_and_steady_that_are_mixed_up_are_told() -> None:
    mixed = found(made(slow=[0.1, 0.9], usual=[0.5], steady=[0.2, 0.8]))
    # of the four pairs, steady above slow in 0.2 > 0.1 and 0.8 > 0.1: 2 of 4
    assert mixed.area == 0.5
    assert "the area under the curve is 0.50" in warnings(shipped(NAME), mixed)[0]


def with_team(name: str, **changes: object) -> list[Played]:
    return [
        replace(team, **changes) if team.level == name else team  # type: ignore[arg-type]
        for team in made(**APART)
    ]


@pytest.mark.parametrize(
    ("name", "changes", "gamed"),
    [
        (NOTHING, {"total": 0.26}, True),
        (NOTHING, {"total": 0.25}, False),
        (STOPS, {"total": 0.3}, True),
        (EVERYTHING, {"total": 0.6}, False),
        (EVERYTHING, {"outcome": "achieved"}, True),
        (FAULTLESS, {"outcome": "achieved"}, False),
    ],
)
def test_a_guide_that_rewards_leaving_things_out_or_doing_everything_is_told(
    name: str, changes: dict[str, object], gamed: bool
) -> None:
    result = found(with_team(name, **changes))
    assert result.gaming == ((name,) if gamed else ())


def test_what_nobody_entered_or_reached_is_named_by_its_title() -> None:
    teams = [
        replace(
            team,
            states=tuple(state for state in team.states if state != "needs_adrenaline"),
            items={**team.items, "adrenaline": ItemFigures(None, None)},
        )
        for team in made(**APART)
    ]
    result = found(teams)
    messages = " ".join(warnings(shipped(NAME), result))
    assert result.never_entered == ("needs_adrenaline",)
    assert result.never_reached == ("adrenaline",)
    assert f"“{shipped(NAME).states['needs_adrenaline'].title}”" in messages
    assert "“Adrenaline”" in messages


def test_what_a_team_without_a_mistake_does_not_get_is_told() -> None:
    items = made(**APART)[-1].items
    teams = with_team(FAULTLESS, items={**items, "adrenaline": ItemFigures(0.5, None)})
    assert found(teams).not_attained == ("adrenaline",)


def test_an_item_that_all_get_alike_tells_nothing_once_there_are_teams_enough() -> None:
    many = [0.1 + 0.02 * number for number in range(15)]
    teams = [
        replace(team, items={**team.items, "expect:hat": ItemFigures(1.0, 0)})
        for team in made(slow=many, usual=many, steady=[total + 0.6 for total in many])
    ]
    assert found(teams).tell_nothing == ("expect:hat",)
    assert found(teams[:5] + teams[-5:]).tell_nothing == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_text_of_the_page_stands_on_it_and_no_two_labels_meet(name: str) -> None:
    scenario = shipped(name)
    result = find(scenario, skills(), pilot(scenario, skills(), runs=2, seed=1), runs=2, seed=1)
    page = pilot_page(scenario, skills(), result)
    drawn = figures(scenario, page, result)
    html = render(page, drawn)
    for text in texts(page):
        assert escaped(text) in html
    for figure in drawn.values():
        boxes = text_boxes(figure)
        for number, (words, box) in enumerate(boxes):
            for others, other in boxes[number + 1 :]:
                apart = (
                    box[2] <= other[0]
                    or other[2] <= box[0]
                    or box[3] <= other[1]
                    or other[3] <= box[1]
                )
                assert apart, (words, others)


def escaped(text: str) -> str:
    for sign, written in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("'", "&#39;")):
        text = text.replace(sign, written)
    return text.replace('"', "&#34;")


def test_a_report_is_one_page_and_plots_beside_it_that_repeat_byte_for_byte(
    tmp_path: Path,
) -> None:
    result = found(made(**APART))
    first = write_pilot(shipped(NAME), skills(), result, tmp_path / "one")
    second = write_pilot(shipped(NAME), skills(), result, tmp_path / "two")
    assert len(first.plots) == 4
    assert first.html.read_bytes() == second.html.read_bytes()
    assert first.record.read_bytes() == second.record.read_bytes()
    seen = pilot_of(NAME, shipped(NAME).digest, [tmp_path / "one"])
    assert seen == PilotSeen(str(first.html), shipped(NAME).digest)
    for plot, again in zip(first.plots, second.plots, strict=True):
        assert plot.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
        assert plot.read_bytes() == again.read_bytes()
    page = first.html.read_text(encoding="utf-8")
    assert "<script" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert shipped(NAME).vocabulary.caution in page
