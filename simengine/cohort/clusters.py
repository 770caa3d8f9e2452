"""How sure a slope or a mean is where sessions share a day and people.

Rules of this file:

- The error of a session is its own, plus one for its day, for each of its people (a team's is the
  mean of theirs) and for each of them in this scenario: all drawn at random, independent of one
  another, with a spread each (variance components).
- The spreads are found by equating the sums of squares of the residuals, over all sessions and
  over each group, with what is expected of them: MINQUE with equal weights (Rao 1971, Journal of
  Multivariate Analysis 1:257, from memory). No distribution is asked for, a spread may come out
  below 0, and it is left so, since on the whole the errors cancel out.
- The slope's variance is never taken as less than that of independent sessions.
- Degrees of freedom are Satterthwaite's (1946, Biometrics Bulletin 2:110): few days or few people
  make a wide interval.
- Where all sessions of a day have the same x, and days alone matter, this is exactly the regression
  of the days' means, with the days' degrees of freedom.
- Spreads are found in stretches of at most ``STRETCH`` sessions, of which at most ``STRETCHES`` are
  looked at, evenly spaced, so that the work grows in proportion to the number of sessions.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

from simengine.cohort.records import SessionResult

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

STRETCH = 300
STRETCHES = 10
EPSILON = 1e-10


class Shares(NamedTuple):
    """What a value has in common with others."""

    day: date
    people: tuple[str, ...]
    scenario: str


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One thing that values share: value ``row`` has ``weight`` of group ``column``."""

    row: Places
    column: Places
    weight: Floats

    def sums(self, values: Floats) -> Floats:
        """Return each group's weighted sum."""
        import numpy as np

        return np.asarray(
            np.bincount(self.column, self.weight * values[self.row]), dtype=np.float64
        )

    def groups(self) -> float:
        """Return how many groups of equal size would share as much."""
        import numpy as np

        held = np.bincount(self.column, self.weight)
        return float(held.sum() ** 2 / (held**2).sum())

    def table(self, rows: Places, n: int) -> Floats:
        """Return the weights of some values: (rows, the groups that they are in)."""
        import numpy as np

        place = np.full(n, -1)
        place[rows] = np.arange(len(rows))
        inside = place[self.row] >= 0
        columns, number = np.unique(self.column[inside], return_inverse=True)
        out = np.zeros((len(rows), len(columns)))
        np.add.at(out, (place[self.row[inside]], number), self.weight[inside])
        return out


def shares_of(result: SessionResult, people: tuple[str, ...] | None = None) -> Shares:
    """Return what a session's total has in common with others; ``people``: its team."""
    team = people if people is not None else tuple(sorted(_team(result)))
    return Shares(result.day, team, result.scenario)


def _team(result: SessionResult) -> set[str]:
    return {code for held in result.team.values() for code in held}


class Clusters:
    """What ``n`` values share, and how sure slopes and means of them are."""

    def __init__(self, values: Iterable[Shares]) -> None:
        """Take what each value shares, in the order of the values."""
        self.values = tuple(values)
        self.n = len(self.values)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """What they share. What parts them as something else does is left out."""
        partitions = [
            _part([[value.day] for value in self.values]),
            _part([value.people for value in self.values]),
            _part([[(who, value.scenario) for who in value.people] for value in self.values]),
        ]
        out: list[Part] = []
        for part in partitions:
            alone = len(part.row) == self.n and int(part.column.max(initial=-1)) + 1 == self.n
            if len(part.row) and not alone and not any(_same(part, other) for other in out):
                out.append(part)
        return tuple(out)

    def variances(
        self, values: Floats, left: Floats, basis: Callable[[Places], Floats]
    ) -> tuple[Floats, Floats]:
        """Return variance and degrees of freedom of Σ left · value ÷ Σ left², for each column.

        ``values``: (n, columns). ``left``: (n), what is left of x by what is held fixed.
        ``basis``: what is held fixed, and x itself, of some rows: (rows, columns).
        """
        import numpy as np

        parts = self.parts
        k = len(parts) + 1
        square = float(left @ left)
        amount = np.array([square, *(float((part.sums(left) ** 2).sum()) for part in parts)])
        amount /= square**2
        expected, observed = np.zeros((k, k)), np.zeros((k, values.shape[1]))
        fourth = np.zeros((k, k, k, k))
        for rows in _stretches(self.n):
            held = _orthogonal(basis(rows))
            rest = values[rows] - held @ (held.T @ values[rows])
            tables = [part.table(rows, self.n) for part in parts]
            free = [table - held @ (held.T @ table) for table in tables]
            chain = _Chain(
                len(rows) - held.shape[1],
                [[table.T @ other for other in free] for table in tables],
            )
            observed[0] += (rest**2).sum(axis=0)
            for number, table in enumerate(tables, start=1):
                observed[number] += ((table.T @ rest) ** 2).sum(axis=0)
            for row, other in product(range(k), repeat=2):
                expected[row, other] += chain.trace((row, other))
            for nodes in product(range(k), repeat=4):
                fourth[nodes] += chain.trace(nodes)
        # parts of very different size: solved on one scale
        scale = np.sqrt(np.maximum(np.diag(expected), EPSILON))
        inverse = np.linalg.pinv(expected / np.outer(scale, scale), rcond=1e-9)
        inverse /= np.outer(scale, scale)
        spreads = inverse @ observed
        alone = observed[0] / max(expected[0, 0], EPSILON)
        variance = np.maximum(amount @ spreads, amount[0] * alone)
        weights = inverse @ amount
        kept = np.maximum(spreads, 0.0)
        of_products = 2.0 * np.einsum("ambp,mc,pc->cab", fourth, kept, kept, optimize=True)
        spread = np.einsum("a,cab,b->c", weights, of_products, weights)
        with np.errstate(divide="ignore", invalid="ignore"):
            df = np.where(spread > 0.0, 2.0 * variance**2 / spread, expected[0, 0])
        return variance, np.clip(df, 1.0, max(1.0, expected[0, 0]))

    def of_means(self, values: Floats) -> tuple[Floats, Floats]:
        """Return variance and degrees of freedom of the mean of each column of (n, columns)."""
        import numpy as np

        ones = np.ones(self.n)
        return self.variances(values, ones, lambda rows: np.ones((len(rows), 1)))

    def worth(self, values: Sequence[float], confidence: float) -> float:
        """Return how many independent values the mean of ``n`` values is worth."""
        import numpy as np

        return float(self.worths(np.asarray(values, dtype=np.float64)[:, None], confidence)[0])

    def worths(self, values: Floats, confidence: float) -> Floats:
        """Return how many independent values each column's mean is worth, NaN being no value.

        The number of values divided by how much what they share widens the interval (design
        effect; Korn and Graubard 1998, Survey Methodology 24:193, from memory): the variance, and
        Student's t in place of the normal, with as many degrees of freedom as there are days, or
        people, less one, whichever are fewer (such as come often count more). Columns of one set
        tell of it together: no effect is taken as smaller than their mean.
        """
        import numpy as np
        from scipy.stats import norm, t

        there = ~np.isnan(values)
        n = there.sum(axis=0)
        if self.n < 2:
            return np.asarray(n, dtype=np.float64)
        safe = np.maximum(n, 1)
        gap = np.where(there, values, 0.0)
        gap = np.where(there, gap - gap.sum(axis=0) / safe, 0.0)
        # each value's part in the mean of those that are there
        variance, _ = self.of_means(gap * (self.n / safe))
        alone = (gap**2).sum(axis=0) / safe / np.maximum(n - 1, 1)
        varies = alone > EPSILON
        effect = np.where(varies, variance / np.where(varies, alone, 1.0), 1.0)
        usual = float(effect[varies].mean()) if varies.any() else 1.0
        effect = np.maximum(np.maximum(effect, usual), 1.0)
        at = (1.0 + confidence) / 2.0
        groups = min([np.inf, *(part.groups() for part in self.parts)])
        freedom = np.maximum(np.minimum(groups, n) - 1.0, 1.0)
        wider = t.ppf(at, freedom) / norm.ppf(at)
        return np.asarray(n / (effect * wider**2), dtype=np.float64)


class _Chain:
    """Traces of products of what parts share once what is held fixed is taken out."""

    def __init__(self, rank: int, blocks: Sequence[Sequence[Floats]]) -> None:
        self._rank = rank
        self._blocks = blocks
        self._products: dict[tuple[int, int, int], Floats] = {}
        self._traces: dict[tuple[int, ...], float] = {}

    def trace(self, nodes: tuple[int, ...]) -> float:
        """Return the trace round some parts; 0 is each value's own error, and adds nothing."""
        real = tuple(node - 1 for node in nodes if node)
        if real:  # a ring is the same wherever it begins
            real = min(real[turn:] + real[:turn] for turn in range(len(real)))
        if real not in self._traces:
            self._traces[real] = self._of(real)
        return self._traces[real]

    def _of(self, nodes: tuple[int, ...]) -> float:
        if not nodes:
            return float(self._rank)
        if len(nodes) == 1:
            return float(self._blocks[nodes[0]][nodes[0]].trace())
        if len(nodes) == 2:
            return float((self._blocks[nodes[0]][nodes[1]] ** 2).sum())
        first, two, three = nodes[:3]
        if len(nodes) == 3:
            return float((self._product(first, two, three) * self._blocks[first][three]).sum())
        return float(
            (self._product(first, two, three) * self._product(first, nodes[3], three)).sum()
        )

    def _product(self, first: int, two: int, three: int) -> Floats:
        key = (first, two, three)
        if key not in self._products:
            self._products[key] = self._blocks[first][two] @ self._blocks[two][three]
        return self._products[key]


def _part(groups: Sequence[Sequence[Hashable]]) -> Part:
    import numpy as np

    number: dict[Hashable, int] = {}
    rows, columns, weights = [], [], []
    for row, some in enumerate(groups):
        for group in some:
            rows.append(row)
            columns.append(number.setdefault(group, len(number)))
            weights.append(1.0 / len(some))
    return Part(
        np.array(rows, dtype=np.intp),
        np.array(columns, dtype=np.intp),
        np.array(weights, dtype=np.float64),
    )


def _same(part: Part, other: Part) -> bool:
    import numpy as np

    return np.array_equal(part.row, other.row) and np.array_equal(part.column, other.column)


def _stretches(n: int) -> list[Places]:
    import numpy as np

    some = np.array_split(np.arange(n), max(1, -(-n // STRETCH)))
    if len(some) <= STRETCHES:
        return some
    return [some[place] for place in np.linspace(0, len(some) - 1, STRETCHES).astype(int)]


def _orthogonal(basis: Floats) -> Floats:
    """Return orthogonal columns that span the same."""
    import numpy as np
    from scipy.linalg import qr

    if not basis.shape[1]:
        return basis
    columns, corner, _ = qr(basis, mode="economic", pivoting=True, check_finite=False)
    size = abs(corner.diagonal())
    rank = int((size > EPSILON * max(size[0], EPSILON)).sum())
    return np.asarray(columns[:, :rank], dtype=np.float64)
