"""Standard setting: from a panel's judgements to a pass total with its error.

Rules of this file:

- Angoff (1971, in Educational Measurement): each judge says for each item how likely somebody who
  only just meets the standard does it. A judge's cut is the weighted mean over the items, the
  weights being those of the marking guide's total; the cut is the mean of the judges' cuts, its
  standard error their standard deviation ÷ the root of their number.
- Borderline regression: judges who watched gave each session a global grade beside the score. The
  cut is what the least-squares line of score on grade has at the borderline grade; the standard
  error is that of the line there. It needs scores that rise with the grade.
- Fewer than five judges, or ten sessions, are few, and that is said with the result.
- Shares are fractions of 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev
from typing import Literal

from simengine.quantities.formatting import percent

Method = Literal["angoff", "borderline"]

FEW_JUDGES = 5
FEW_SESSIONS = 10


class NoStandardError(ValueError):
    """The judgements give no standard; the message says why, in words for the panel."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A pass total with its standard error (fractions of 1), and what it rests on.

    ``judges``: how many (0 where nobody said who judged); ``items`` or ``sessions``: how many were
    judged. ``by_judge``: each judge's own cut (Angoff). ``line``: intercept and slope, ``at`` the
    borderline grade (borderline regression).
    """

    method: Method
    cut: float
    error: float
    judges: int
    items: int = 0
    sessions: int = 0
    by_judge: tuple[float, ...] = ()
    line: tuple[float, float] | None = None
    at: float | None = None

    @property
    def few(self) -> bool:
        """Whether the panel, or what it judged, was small."""
        if self.method == "angoff":
            return self.judges < FEW_JUDGES
        return self.sessions < FEW_SESSIONS


def angoff(
    judged: Mapping[str, Mapping[str, float]], weights: Mapping[str, float] | None = None
) -> Cut:
    """Return the cut of a panel: ``judged`` has each judge's chance (0 to 1) for each item.

    ``weights``: each item's weight in the total; all alike where not given. Raises
    ``NoStandardError`` with fewer than two judges, or where they did not judge the same items.
    """
    if len(judged) < 2:
        raise NoStandardError(
            f"a panel needs at least two judges, since its error is how far they lie apart; "
            f"there is {len(judged) or 'none'}"
        )
    items = set(next(iter(judged.values())))
    if not items or any(set(chances) != items for chances in judged.values()):
        raise NoStandardError("every judge has to judge every item")
    weight = {item: 1.0 if weights is None else weights[item] for item in sorted(items)}
    whole = sum(weight.values())
    if whole <= 0:
        raise NoStandardError("the items judged have no weight in the total")
    cuts = tuple(
        sum(weight[item] * chances[item] for item in weight) / whole for chances in judged.values()
    )
    return Cut(
        "angoff", fmean(cuts), stdev(cuts) / sqrt(len(cuts)), len(cuts), len(items), by_judge=cuts
    )


def borderline(grades: Sequence[float], scores: Sequence[float], at: float, judges: int = 0) -> Cut:
    """Return the cut where the line of score (0 to 1) on global grade has the borderline grade.

    Raises ``NoStandardError`` with fewer than three sessions, where the scores do not rise with
    the grades, or where the cut would not lie between 0 and 1.
    """
    from scipy.stats import linregress

    n = len(grades)
    if n < 3 or n != len(scores):
        raise NoStandardError(f"a line and its error need at least three sessions; there are {n}")
    mean = fmean(grades)
    spread = sum((grade - mean) ** 2 for grade in grades)
    if spread == 0:
        raise NoStandardError("every session has the same grade, so there is no line")
    line = linregress(grades, scores)
    intercept, slope = float(line.intercept), float(line.slope)
    if slope <= 0:
        raise NoStandardError("the scores do not rise with the global grades")
    cut = intercept + slope * at
    if not 0 <= cut <= 1:
        raise NoStandardError(
            f"the line has {percent(cut, 1)} at the grade {at:g}, which no total can be"
        )
    rest = sum((y - intercept - slope * x) ** 2 for x, y in zip(grades, scores, strict=True))
    error = sqrt(rest / (n - 2) * (1 / n + (at - mean) ** 2 / spread))
    return Cut("borderline", cut, error, judges, sessions=n, line=(intercept, slope), at=at)
