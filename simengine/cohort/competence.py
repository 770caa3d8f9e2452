"""What the attempts of a person say about an objective.

Rules of this file:

- An attempt is a session that is evidence (``evidence.is_evidence``) in which the person alone did
  at least one applied item of the objective.
- It meets the standard if the weighted mean credit of those own items reaches the pass total that
  the scenario's recorded standard asks, and none of them stops a pass by itself. This applies a
  standard that was set for the whole session to a part of it; there is none for the part.
- A miss that no role was named for is the team's and nobody's own. So what is a person's own was
  more often done than not, and a guide that names no roles measures people kindly or not at all.
- Objectives are the same where their names are, in whatever scenario; their words are the latest's.
- A person seen in one scenario has not been measured: of the variance of such scores 52 % lay
  between persons on scenarios and 17 % between persons (Donoghue 2010). Fewer than ``least``
  attempts, or attempts in fewer than ``scenarios`` different ones, are too few to tell. In these
  cases there is no figure at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

from simengine.cohort.chance import TARGET, Chance, next_attempt
from simengine.cohort.evidence import LEAST_SCENARIOS, is_evidence
from simengine.cohort.records import SessionResult
from simengine.cohort.too_few import FEW
from simengine.quantities.formatting import count, percent, percent_span

Status = Literal["not measured", "too few attempts", "too few scenarios", "told"]
Key = tuple[str, str]
"""(trainee's code, objective's name)."""

EQUAL = 1e-9


class Attempt(NamedTuple):
    """One person's attempt at an objective. ``share`` and ``standard`` are fractions of 1.

    ``items``: how many own items it rests on. ``met``: whether it meets the standard.
    """

    session: str
    day: date
    scenario: str
    scenario_title: str
    share: float
    standard: float
    items: int
    met: bool


@dataclass(frozen=True, slots=True)
class Competence:
    """What a person's attempts say about an objective; ``attempts``, one at least, are in
    order of time.

    ``chance`` is ``None`` unless ``status`` is ``told``.
    """

    trainee: str
    objective: str
    title: str
    attempts: tuple[Attempt, ...]
    status: Status
    chance: Chance | None
    least: int = FEW
    least_scenarios: int = LEAST_SCENARIOS

    @property
    def last(self) -> Attempt:
        """The latest attempt."""
        return self.attempts[-1]

    @property
    def met(self) -> int:
        """How many attempts met the standard."""
        return sum(attempt.met for attempt in self.attempts)

    @property
    def scenarios(self) -> int:
        """In how many different scenarios."""
        return len({attempt.scenario for attempt in self.attempts})

    def words(self) -> str:
        """Return a sentence for the person and the coordinator."""
        n, scenarios = len(self.attempts), self.scenarios
        met = f"{self.met} of {count(n, 'attempt')} met the standard"
        if self.status == "not measured":
            return f"Has not been measured: seen in one scenario alone ({met})."
        if self.status == "too few attempts":
            return f"Too few to tell: {met}, and at least {self.least} are needed."
        if self.status == "too few scenarios":
            return (
                f"Too few to tell: {met}, in {count(scenarios, 'scenario')}; "
                f"at least {self.least_scenarios} different ones are needed."
            )
        assert self.chance is not None
        return (
            f"{met}, in {count(scenarios, 'scenario')}. The chance that the next one does is "
            f"about {percent(self.chance.mean)}, and with 90 % certainty from "
            f"{percent_span(self.chance.low, self.chance.high)}."
        )


def competence(
    results: Iterable[SessionResult],
    *,
    target: float = TARGET,
    least: int = FEW,
    scenarios: int = LEAST_SCENARIOS,
) -> dict[Key, Competence]:
    """Return what the results say, by (trainee, objective); who has no attempt is left out.

    ``results`` may come in any order and are read once. ``target``: a fraction of 1.
    """
    attempts: dict[Key, list[tuple[str, Attempt]]] = {}
    titles: dict[str, tuple[str, str]] = {}
    for result in results:
        if not is_evidence(result):
            continue
        for name, words in result.objectives.items():
            titles[name] = max(titles.get(name, ("", "")), (result.wall, words))
        for key, attempt in _attempts(result):
            attempts.setdefault(key, []).append((result.wall, attempt))
    out = {}
    for (trainee, objective), timed in attempts.items():
        ordered = tuple(attempt for _, attempt in sorted(timed, key=lambda pair: pair[0]))
        title = titles.get(objective, ("", objective))[1]
        out[trainee, objective] = _competence(
            trainee, objective, title, ordered, target, least, scenarios
        )
    return out


def _attempts(result: SessionResult) -> Iterator[tuple[Key, Attempt]]:
    """Yield each person's attempt at each objective of a session that is evidence."""
    sums: dict[Key, tuple[float, float, int]] = {}
    stopped: set[Key] = set()
    for item in result.items:
        if item.person is None or item.objective is None:
            continue
        key = (item.person, item.objective)
        if item.stops_pass:
            stopped.add(key)
        if item.credit is not None:
            got, weight, items = sums.get(key, (0.0, 0.0, 0))
            sums[key] = got + item.weight * item.credit, weight + item.weight, items + 1
    standard = result.standard
    assert standard is not None
    for key, (got, weight, items) in sums.items():
        if weight:
            share = got / weight
            met = share >= standard - EQUAL and key not in stopped
            yield (
                key,
                Attempt(
                    result.session,
                    result.day,
                    result.scenario,
                    result.scenario_title,
                    share,
                    standard,
                    items,
                    met,
                ),
            )


def _competence(
    trainee: str,
    objective: str,
    title: str,
    attempts: tuple[Attempt, ...],
    target: float,
    least: int,
    least_scenarios: int,
) -> Competence:
    scenarios = len({attempt.scenario for attempt in attempts})
    status: Status
    if scenarios == 1 and least_scenarios > 1:
        status = "not measured"
    elif len(attempts) < least:
        status = "too few attempts"
    elif scenarios < least_scenarios:
        status = "too few scenarios"
    else:
        status = "told"
    chance = None
    if status == "told":
        chance = next_attempt(
            sum(attempt.met for attempt in attempts), len(attempts), target=target
        )
    return Competence(trainee, objective, title, attempts, status, chance, least, least_scenarios)
