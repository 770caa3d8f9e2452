"""The file of skill levels."""

from math import log, sqrt
from pathlib import Path

import pytest

from simengine.pilot.skills import faultless, load_skills
from simengine.problems import InputError
from simengine.resources import scenarios_dir


def shipped_text() -> str:
    return (scenarios_dir() / "pilot" / "skills.yaml").read_text(encoding="utf-8")


def test_the_shipped_figures_follow_from_the_publications_that_they_name() -> None:
    skills = load_skills()
    slow, usual, steady = skills.levels
    # First ventilation: 56.9 s just after training and 83.8 s two months later (PMID 36841812,
    # read), 112 s with quartiles 78 and 158 s (Holte 2019, BMJ Paediatrics Open 3:e000544, table,
    # read); 60 s are asked (PMC8700180, read).
    assert steady.pace.value == pytest.approx(56.9 / 60, abs=0.005)
    assert usual.pace.value == pytest.approx(83.8 / 60, abs=0.005)
    assert slow.pace.value == pytest.approx(112 / 60, abs=0.005)
    # Skills kept: 87.40 %, and 59.11 % three months later (Briggs 2021, Pan African Medical Journal
    # 38:75, abstract, read).
    assert steady.omission.value == pytest.approx(1 - 0.874)
    assert slow.omission.value == pytest.approx(1 - 0.591)
    # Ventilation correct 55 to 80 % (PMID 25555358, read).
    assert slow.setting_error.value == pytest.approx(1 - 0.55)
    assert steady.setting_error.value == pytest.approx(1 - 0.80)
    # Adrenaline prepared rightly by 57 % (PMID 31570509, read).
    assert skills.shared["doses", "error"].value == pytest.approx(1 - 0.57)
    # On a tablet: median error 3 s, 88.0 % of actions caught (PMID 24157630, read). The median of
    # the size of a normal error is 0.6745 of its standard deviation.
    assert skills.shared["recording", "spread"].value == pytest.approx(3_000 / 0.6745, abs=60)
    assert skills.shared["recording", "missed"].value == pytest.approx(1 - 0.88)
    # All spread together is that of first ventilation: the quartiles of a normal distribution lie
    # 1.349 standard deviations apart.
    paces = [log(level.pace.value) for level in skills.levels]
    middle = sum(paces) / 3
    between = sqrt(sum((pace - middle) ** 2 for pace in paces) / 3)
    parts = [between, *(skills.shared["spread", name].value for name in ("teams", "actions"))]
    assert sqrt(sum(part**2 for part in parts)) == pytest.approx(log(158 / 78) / 1.349, abs=0.01)


def test_every_figure_says_where_it_is_from() -> None:
    for _, figure in load_skills().figures():
        assert figure.source
        assert figure.text
        assert (figure.evidence == "chosen") == ("o figure was found" in figure.source) or (
            "52 %" in figure.source
        )


def test_a_team_without_fault_forgets_nothing() -> None:
    (level,) = faultless(load_skills()).levels
    assert level.omission.value == level.setting_error.value == level.done_in_error.value == 0


def problems(tmp_path: Path, text: str) -> list[str]:
    file = tmp_path / "skills.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as raised:
        load_skills(file)
    return [str(problem).removeprefix(str(tmp_path) + "/") for problem in raised.value.problems]


def test_all_that_is_wrong_is_told_at_once_with_its_place(tmp_path: Path) -> None:
    wrong = (
        shipped_text()
        .replace("value: 187 %", "value: 187")
        .replace("evidence: chosen", "evidence: me")
    )
    wrong = wrong.replace("  every:", "  evry:")
    messages = problems(tmp_path, wrong)
    assert any("levels › slow › pace › value" in line and "'187'" in line for line in messages)
    assert any("did you mean 'every'?" in line for line in messages)
    # the figure whose name is wrong is not read any further
    assert sum("'me'" in line for line in messages) == shipped_text().count("evidence: chosen") - 1
    assert all(line.startswith("skills.yaml:") for line in messages)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no file of this name"):
        load_skills(tmp_path / "nothing.yaml")


def test_one_level_alone_is_not_enough(tmp_path: Path) -> None:
    start, _, rest = shipped_text().partition("  usual:\n")
    _, shared, tail = rest.partition("# What all teams share.")
    assert any(
        "from slow to steady, of at least 2" in line
        for line in problems(tmp_path, start + shared + tail)
    )
