"""Faults found and not found, and real ones as a list."""

from simengine.cohort.equipment_faults import planted_faults, real_faults
from tests.cohort.made import fault, result


def test_a_fault_that_was_never_found_counts_and_is_told_first() -> None:
    sessions = [
        result(0, faults=(fault(found_s=40.0), fault("gauge", found_s=None, put_right_s=None))),
        result(1, faults=(fault(found_s=80.0), fault("gauge", found_s=200.0, put_right_s=None))),
        result(2, faults=(fault(found_s=60.0), fault("gauge", found_s=None, put_right_s=None))),
    ]
    gauge, bag = planted_faults(sessions)
    assert (gauge.id, gauge.found.count, gauge.found.of) == ("gauge", 1, 3)
    assert gauge.until_found.median_s is None  # two of three never found it
    assert (bag.id, bag.found.count, bag.until_found.median_s) == ("no_bag", 3, 60.0)
    assert gauge.put_right.count == 0
    assert bag.found.low < 1.0
    assert bag.found.few


def test_the_same_fault_in_another_scenario_is_another() -> None:
    sessions = [result(0, faults=(fault(),)), result(1, faults=(fault(),), scenario="preterm")]
    assert [fault.scenario for fault in planted_faults(sessions)] == [
        "preterm",
        "term",
    ]


def test_real_faults_are_a_list_the_latest_first_and_nothing_is_reckoned_from_them() -> None:
    sessions = [
        result(0, faults=(fault("leak", planted=False, title="A leak"), fault())),
        result(5, faults=(fault("unavailable:oximeter", planted=False),), unit="Theatre"),
    ]
    later, earlier = real_faults(sessions)
    assert (later.unit, later.id) == ("Theatre", "unavailable:oximeter")
    assert (earlier.title, earlier.found_s) == ("A leak", 60.0)
    assert [fault.id for fault in planted_faults(sessions)] == ["no_bag"]
