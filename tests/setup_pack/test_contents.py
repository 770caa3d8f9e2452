"""The file of a set-up pack's texts."""

from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.scenario.model import Scenario
from simengine.setup_pack.build_pack import setup_pack
from simengine.setup_pack.contents import PackContents, load_contents, read_contents
from tests import shipped


def shipped_text() -> str:
    return (scenarios_dir() / "setup_pack" / "newborn.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return shipped.scenario("cot-term")


def problems(tmp_path: Path, scenario: Scenario, text: str) -> list[str]:
    file = tmp_path / "newborn.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as raised:
        read_contents(file, scenario)
    return [str(problem) for problem in raised.value.problems]


def test_a_hospitals_own_texts_come_first(tmp_path: Path, scenario: Scenario) -> None:
    (tmp_path / "setup_pack").mkdir()
    own = tmp_path / "setup_pack" / "newborn.yaml"
    own.write_text("format: 1\nvocabulary: newborn\nnot_to_start: [On Sundays.]\n")
    assert load_contents(scenario, [tmp_path]).not_to_start == ("On Sundays.",)
    assert len(load_contents(scenario).not_to_start) > 1


def test_a_pack_can_be_made_without_any_texts(scenario: Scenario) -> None:
    pack = setup_pack(scenario, PackContents(), day=(2026, 1, 31))
    assert pack.sums is None
    assert pack.faults is not None


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ("equation: tube_depth,", "equation: tube_dept,", "did you mean 'tube_depth'?"),
        ("figures: [tube_size,", "figures: [tube_sise,", "did you mean 'tube_size'?"),
        ("{setting: gas_flow}", "{setting: gas_flo}", "did you mean 'gas_flow'?"),
        ("for: [listen_to_heart]", "for: [listen_to_hart]", "did you mean 'listen_to_heart'?"),
        ("not_to_start:", "not_too_start:", "did you mean 'not_to_start'?"),
        (
            "strength: {protocol: adrenaline_strength}}}\n  - {title: Volume",
            "}}\n  - {title: Volume",
            "a value for 'strength'",
        ),
        ("flow: {setting: gas_flow}", "flow: 8 kg", "kg"),
    ],
)
def test_a_slip_is_told_with_its_place_and_the_right_name(
    tmp_path: Path, scenario: Scenario, right: str, wrong: str, said: str
) -> None:
    assert right in shipped_text()
    messages = problems(tmp_path, scenario, shipped_text().replace(right, wrong))
    assert any(said in line and "newborn.yaml:" in line for line in messages), messages


def test_several_slips_are_told_at_once(tmp_path: Path, scenario: Scenario) -> None:
    text = shipped_text().replace("tube_size,", "tube_sise,").replace("lay_out:", "layout:")
    assert len(problems(tmp_path, scenario, text)) == 2
