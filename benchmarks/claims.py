"""How often the cohort report says what is not so, and how often its intervals hold.

Hospitals are made (``simengine.cohort.hospital``), each with a seed of its own, in which nothing is
so of what a claim says: no better or worse, no drift, no unit sooner, no learning, no fading, all
steps alike, no steps that fail together. What makes it hard is there: days that share luck, people
who come again, habits, more and more assessments, a better unit that trains more. Then others in
which something is so, to see how often that is seen. Asked: each claim is made wrongly in 5 % of
hospitals at most, one of the four of the first page in 10 %, and 95 % intervals hold in 95 %.

Shares stand with their 95 % intervals (Wilson). Run as ``python -m benchmarks.claims [HOSPITALS]``,
with ``--world`` (a part of its words) and ``--claim`` for one of them; the tables are in
``docs/statistics.md``, and a short part is a test.
"""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache

from scipy.stats import false_discovery_control

from simengine.cohort.change import middle_day, per_quarter
from simengine.cohort.claims import WRONGLY
from simengine.cohort.clusters import Clusters, shares_of
from simengine.cohort.decay import decay, returns
from simengine.cohort.drift import sessions_tried, units_drift
from simengine.cohort.evidence import doubles, each_once
from simengine.cohort.hospital import Effects, hospital
from simengine.cohort.items import fail_together
from simengine.cohort.learning import learning_curve, practised
from simengine.cohort.observer_agreement import observers_agree
from simengine.cohort.records import SessionResult
from simengine.cohort.shares import mean_share, wilson
from simengine.cohort.survival import holm, sooner, timed_sessions
from simengine.cohort_report.weak import perhaps_weakest, steps

HOSPITALS = 120
NOTHING = Effects(unit=0.0, step=0.0)
HARD = replace(NOTHING, a_day=3, day=0.5, person=0.5, habit=0.4, quirk=0.5)
FIRST_PAGE = ("better or worse", "a unit drifts", "the weakest step", "steps fail together")
Claims = dict[str, bool]


@dataclass(frozen=True, slots=True)
class World:
    """A kind of hospital, and which claims are wrong in it."""

    words: str
    effects: Effects
    wrong: tuple[str, ...]


LATER = ("learning", "fading", "a half was sooner")
EVERY = (*FIRST_PAGE, *LATER, "a unit was sooner")
WORLDS = (
    World("nothing is so, sessions independent", NOTHING, EVERY),
    World("people have weak steps of their own", replace(NOTHING, quirk=0.8), EVERY),
    World(
        "days share luck, people recur",
        HARD,
        ("better or worse", "a unit drifts", "the weakest step", *LATER, "a unit was sooner"),
    ),
    World(
        "and more and more is assessed, which is easier",
        replace(HARD, assessed=(0.1, 0.9), easier=0.8),
        ("better or worse", "a unit drifts", "the weakest step", *LATER, "a unit was sooner"),
    ),
    World(
        "and the better unit trains more and more",
        replace(HARD, unit=0.8, busier=0.8),
        ("better or worse", "a unit drifts", "the weakest step", *LATER),
    ),
    World(
        "one small unit",
        replace(HARD, units=1, sessions=80, people=15),
        ("better or worse", "a unit drifts", "the weakest step", *LATER),
    ),
)
TRUE = (
    World("better by 0.4 log odds a quarter", replace(HARD, growth=0.4), ("better or worse",)),
    World("one unit worse by 1.5 from the middle on", replace(HARD, worse=1.5), ("a unit drifts",)),
    World("a time of 80 % for each doubling", replace(HARD, doubling=-0.223), ("learning",)),
    World("fading by 0.3 log odds a month", replace(HARD, fading=-0.3), ("fading",)),
    World("steps differ by 1.5 log odds", replace(HARD, step=1.5), ("the weakest step",)),
)


def trend(sessions: Iterable[SessionResult]) -> bool:
    """Whether it is said that the hospital gets better or worse."""
    return per_quarter(sessions).verdict.startswith("getting")


def drifts(sessions: Iterable[SessionResult]) -> bool:
    """Whether any unit is said to drift."""
    units: dict[str, list[SessionResult]] = {}
    for session in sessions:
        units.setdefault(session.unit or "", []).append(session)
    charts = units_drift({unit: sessions_tried(some) for unit, some in units.items()})
    return any(chart.signals for chart in charts.values())


def weakest(sessions: Iterable[SessionResult]) -> bool:
    """Whether one step is called the weakest."""
    return len(perhaps_weakest(steps(sessions))) == 1


def together(sessions: Iterable[SessionResult]) -> bool:
    """Whether any steps are said to fail together."""
    scenarios = _by(sessions, lambda session: session.scenario)
    pairs = [pair for some in scenarios for pair in fail_together(some)]
    if not pairs:
        return False
    q = false_discovery_control([pair.p for pair in pairs])
    return any(pair.phi > 0 and q_value <= WRONGLY for pair, q_value in zip(pairs, q, strict=True))


def learns(sessions: Iterable[SessionResult]) -> bool:
    """Whether a step's time is said to fall or rise with practice."""
    curve = learning_curve(practised(sessions, "step-1"))
    return curve is not None and curve.direction != "either"


def fades(sessions: Iterable[SessionResult]) -> bool:
    """Whether what people earn is said to fall or rise with the months away."""
    slope_a_month = decay(returns(sessions)).per_month
    return slope_a_month is not None and slope_a_month.direction != "either"


def half_sooner(sessions: Iterable[SessionResult]) -> bool:
    """Whether either half was sooner at any of three steps, told in the first scenario."""
    some = next(iter(_by(sessions, lambda session: session.scenario)))
    middle = middle_day(some)
    assert middle is not None
    comparisons = [
        sooner(
            timed_sessions(some, name),
            lambda session: session.day < middle,
            lambda session: (session.unit, session.purpose),
        )
        for name in ("step-0", "step-1", "step-2")
    ]
    return any(
        corrected.which != "either"
        for corrected in holm([comparison for comparison in comparisons if comparison is not None])
    )


def unit_sooner(sessions: Iterable[SessionResult]) -> bool:
    """Whether any of three units was sooner than another at any of three steps."""
    some = next(iter(_by(sessions, lambda session: session.scenario)))
    comparisons = []
    for name in ("step-0", "step-1", "step-2"):
        for left_out in ("Unit 0", "Unit 1", "Unit 2"):
            two = [timed for timed in timed_sessions(some, name) if timed[0].unit != left_out]
            first = "Unit 0" if left_out != "Unit 0" else "Unit 1"
            comparisons.append(sooner(two, _held_by(first), _purpose))
    return any(
        corrected.which != "either"
        for corrected in holm([comparison for comparison in comparisons if comparison is not None])
    )


SAID: Mapping[str, Callable[[Iterable[SessionResult]], bool]] = {
    "better or worse": trend,
    "a unit drifts": drifts,
    "the weakest step": weakest,
    "steps fail together": together,
    "learning": learns,
    "fading": fades,
    "a half was sooner": half_sooner,
    "a unit was sooner": unit_sooner,
}


def said(world: World, seed: int) -> Claims:
    """Return which of a world's claims are made of its hospital of a seed."""
    sessions = each_once(hospital(world.effects, seed).sessions)
    claimed = {claim: SAID[claim](sessions) for claim in world.wrong}
    first = [claimed[claim] for claim in FIRST_PAGE if claim in claimed]
    if len(first) > 1:
        claimed["any of the first page"] = any(first)
    return claimed


def holds(world: World, seed: int) -> Claims:
    """Return which of the intervals hold the truth in a world's hospital of a seed."""
    made = hospital(replace(world.effects, twice=0.15, slip=0.15), seed)
    sessions = each_once(made.sessions)
    clusters = Clusters(shares_of(session) for session in sessions)
    totals = [session.total or 0.0 for session in sessions]
    mean = mean_share(totals, 0.95, clusters.worth(totals, 0.95))
    worst = steps(sessions)[0]
    agreed = observers_agree(doubles(made.sessions)).verdicts
    slope = per_quarter(sessions).slope
    assert mean is not None
    assert mean.low is not None
    assert mean.high is not None
    out = {
        "mean total (95 %)": mean.low <= made.mean_total <= mean.high,
        "the step picked as weakest (97.5 %)": worst.done.low
        <= made.in_time[worst.id]
        <= worst.done.high,
    }
    if slope is not None and "better or worse" in world.wrong:
        out["change a quarter (97.5 %)"] = slope.low <= 0.0 <= slope.high
    if agreed is not None and agreed.low is not None and agreed.high is not None:
        out["kappa of two observers (95 %)"] = agreed.low <= true_kappa(world) <= agreed.high
    return out


@cache
def true_kappa(world: World) -> float:
    """Return the kappa of observers over very many sessions of a world's hospitals."""
    many = replace(world.effects, sessions=300, twice=1.0, slip=0.15)
    pairs = [
        pair for seed in range(20) for pair in doubles(hospital(many, 100_000 + seed).sessions)
    ]
    kappa = observers_agree(pairs).verdicts
    assert kappa is not None
    return kappa.value


def _held_by(unit: str) -> Callable[[SessionResult], bool]:
    return lambda session: session.unit == unit


def _purpose(session: SessionResult) -> str:
    return session.purpose


def _by(
    sessions: Iterable[SessionResult], group: Callable[[SessionResult], str]
) -> Iterable[list[SessionResult]]:
    out: dict[str, list[SessionResult]] = {}
    for session in sessions:
        out.setdefault(group(session), []).append(session)
    return out.values()


def tallied(found: Iterable[Claims]) -> dict[str, tuple[int, int]]:
    """Return, for each claim, in how many hospitals it was made, and of how many."""
    out: dict[str, tuple[int, int]] = {}
    for outcome in found:
        for claim, made in outcome.items():
            count, of = out.get(claim, (0, 0))
            out[claim] = count + made, of + 1
    return out


def _print(words: str, tallies: Iterable[Claims]) -> None:
    print(f"\n{words}")
    for claim, (count, of) in tallied(tallies).items():
        share = wilson(count, of)
        assert share is not None
        ends = f"{100 * share.low:.1f} to {100 * share.high:.1f}"
        print(f"  {claim:<40} {100 * share.share:5.1f} %  ({ends}), {count} of {of}", flush=True)


def main(hospitals: int, part: str = "", claim: str = "") -> None:
    """Print how often each claim is made where it is wrong, and where it is right.

    ``part``: of the words of the worlds that are tried; ``claim``: this one alone.
    """
    for world in _chosen(WORLDS, part, claim):
        _print(f"wrongly: {world.words}", (said(world, seed) for seed in range(hospitals)))
        if not claim:
            _print("  intervals hold", (holds(world, seed) for seed in range(hospitals // 2)))
    for world in _chosen(TRUE, part, claim):
        _print(f"rightly: {world.words}", (said(world, seed) for seed in range(hospitals // 4)))


def _chosen(worlds: Iterable[World], part: str, claim: str) -> list[World]:
    chosen = [world for world in worlds if part in world.words]
    if not claim:
        return chosen
    return [replace(world, wrong=(claim,)) for world in chosen if claim in world.wrong]


if __name__ == "__main__":
    parser = ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("hospitals", nargs="?", type=int, default=HOSPITALS)
    parser.add_argument("--world", default="", help="a part of the words of the worlds to try")
    parser.add_argument("--claim", default="", choices=("", *SAID), help="this claim alone")
    args = parser.parse_args()
    main(args.hospitals, args.world, args.claim)
