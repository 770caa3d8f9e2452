"""The file of what playing alone needs: a slip in it is told with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.rehearsal import alone_rules
from simengine.rehearsal.alone_rules import load_alone_rules

SHIPPED = Path(alone_rules.__file__).with_name("alone.yaml")
TEXT = SHIPPED.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ("prepare: 60 s", "prepare: 60", "expected a time such as 20 s"),
        ("hint: 20 s", "hint: 20 L", "expected a time such as 20 s"),
        ("late_fault:", "late_falt:", "did you mean 'late_fault'?"),
        ("skips: [10 s, 30 s]", "skips: []", "a list of times of at least 1"),
        ("  dry: {hands: 1,", "  dry: {hands: many,", "expected a whole number"),
        ("arrived: {after: clamp_cord,", "arrived: {", "expected the key 'after', found none"),
    ],
)
def test_a_slip_is_told_with_its_line(tmp_path: Path, right: str, wrong: str, said: str) -> None:
    assert TEXT.count(right) == 1
    file = tmp_path / "alone.yaml"
    file.write_text(TEXT.replace(right, wrong), encoding="utf-8")
    with pytest.raises(InputError) as raised:
        load_alone_rules(file)
    messages = [str(problem).removeprefix(f"{tmp_path}/") for problem in raised.value.problems]
    assert any(said in line and line.startswith("alone.yaml:") for line in messages), messages
