"""A reading of a gauge is held against what the gauge showed as it was read, worked by hand.

The tank holds 80 L of 100, so its gauge shows 160 bar of 200; each second of the pump is 1 L, and
so 2 bar. Near is within 10 bar.
"""

from __future__ import annotations

import pytest

from tests.scoring.case import card, item

READ = """
- expect: read_gauge
  from: birth
  ideal: 60 s
  latest: 90 s
  settings: {gauge: as shown, pressure: 20 cmH2O}
"""
END = "400 closed finished"


@pytest.mark.parametrize(
    ("record", "credit", "verdict"),
    [
        ("20 done read_gauge gauge=160", 1.0, "on time"),
        ("20 done read_gauge gauge=170", 1.0, "on time"),
        ("20 done read_gauge gauge=171", 0.0, "told wrong"),
        # 20 s of the pump are 20 L: 120 bar now, and what it showed before is not near
        ("10 start pump\n30 stop pump\n40 done read_gauge gauge=120", 1.0, "on time"),
        ("10 start pump\n30 stop pump\n40 done read_gauge gauge=160", 0.0, "told wrong"),
        # the pump still runs: at 40 s 30 L are gone, and 100 bar are left
        ("10 start pump\n40 done read_gauge gauge=100", 1.0, "on time"),
        # told wrong, and then rightly: the second one counts, (90 - 75) / 30 = 0.5
        ("20 done read_gauge gauge=60\n75 done read_gauge gauge=160", 0.5, "late"),
        # looked at, and nothing told: half of what is asked was written down
        ("20 done read_gauge", 1.0, "on time"),
        # written down 5 s later: held against what it showed then
        ("20 done read_gauge\n25 set gauge=160", 1.0, "on time"),
        ("20 done read_gauge\n25 set gauge=60", 0.0, "told wrong"),
        # read once, the pump on, looked at again with nothing told: the first reading was near
        ("5 set gauge=160\n10 start pump\n40 done read_gauge", 1.0, "on time"),
        ("0 set gauge=60\n70 done read_gauge", 0.0, "told wrong"),
    ],
)
def test_a_reading_is_near_what_the_gauge_showed_then(
    record: str, credit: float, verdict: str
) -> None:
    marked = item(READ, f"0 birth\n{record}\n{END}")
    assert (marked.credit, marked.verdict) == (credit, verdict)


def test_no_part_of_an_item_earns_where_its_gauge_was_told_wrong() -> None:
    # pressure is right, and the mean of both would be a half
    assert item(READ, f"0 birth\n20 done read_gauge gauge=60\n{END}").credit == 0.0


def test_what_it_showed_is_said() -> None:
    scored = card(READ, f"0 birth\n20 done read_gauge gauge=60\n{END}")
    assert "The gauge was read as 60 bar; it showed 160 bar." in scored.items[0].sentence
    assert [(concern.code, concern.evidence.words) for concern in scored.found] == [
        ("told wrong", "At 0:20 you read the gauge as 60 bar; it showed 160 bar.")
    ]


def test_a_gauge_told_wrong_is_a_finding_whether_an_item_asks_for_it_or_not() -> None:
    scored = card("- {expect: call, from: birth, ideal: 60 s}", f"0 birth\n20 set gauge=60\n{END}")
    assert [concern.code for concern in scored.found] == ["told wrong"]
    near = card("- {expect: call, from: birth, ideal: 60 s}", f"0 birth\n20 set gauge=160\n{END}")
    assert not near.found
