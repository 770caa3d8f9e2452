"""People as they are typed in a form: by code or by name, one after the other."""

from __future__ import annotations

import re
from collections.abc import Sequence

from simengine.people.alike import same_key
from simengine.people.roster import Trainee


def codes_of(typed: str, trainees: Sequence[Trainee]) -> tuple[list[str], list[str]]:
    """Return the codes of people typed by code or name, and what is wrong with any."""
    codes = {trainee.code: trainee.code for trainee in trainees}
    named: dict[str, list[str]] = {}
    for trainee in trainees:
        if trainee.name:
            named.setdefault(same_key(trainee.name), []).append(trainee.code)
    codes_typed, problems = [], []
    for word in filter(None, (" ".join(part.split()) for part in re.split(r"[,;\n]", typed))):
        some = [codes[word]] if word in codes else named.get(same_key(word), [])
        if len(some) == 1:
            codes_typed += some
        elif some:
            problems.append(f"“{word[:60]}” is the name of several people: give the code.")
        else:
            problems.append(f"“{word[:60]}” is nobody's code or name on the roster.")
    return list(dict.fromkeys(codes_typed)), problems
