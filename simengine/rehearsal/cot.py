"""The cot as it is worked alone: its parts, what they show, and what working them writes down.

Rules of this file:

- This is all that a page needs of ``simengine.rehearsal.bench``: no clock, no web, no store in it.
- The log alone is the state: record the entries in order at one instant, ask for the cot again, and
  then record what ``drifted``. A session that is resumed or tried again needs nothing else.
"""

from simengine.rehearsal.bench.bench_model import Hold, Scale
from simengine.rehearsal.bench.blender import arrival_of, arrives
from simengine.rehearsal.bench.parts import (
    LOOK,
    NOT_RIGHT,
    Handle,
    Part,
    is_put_right,
    parts_of,
    places_of,
    row_of,
)
from simengine.rehearsal.bench.read import Bench, bench_of, load_bench
from simengine.rehearsal.bench.stand import Cot, cot_of
from simengine.rehearsal.bench.what_a_part_shows import (
    Needle,
    Reading,
    Stand,
    heard,
    manometer,
    shown,
)
from simengine.rehearsal.bench.work import (
    Entry,
    NotWorkedError,
    Worked,
    called_words,
    drifted,
    worked,
)

__all__ = [
    "LOOK",
    "NOT_RIGHT",
    "Bench",
    "Cot",
    "Entry",
    "Handle",
    "Hold",
    "Needle",
    "NotWorkedError",
    "Part",
    "Reading",
    "Scale",
    "Stand",
    "Worked",
    "arrival_of",
    "arrives",
    "bench_of",
    "called_words",
    "cot_of",
    "drifted",
    "heard",
    "is_put_right",
    "load_bench",
    "manometer",
    "parts_of",
    "places_of",
    "row_of",
    "shown",
    "worked",
]
