"""Requirements, leaves, certificates and attendances from roster files.

Rules of this file:

- A requirement names scenarios and roles that there are. A unit or profession that nobody in the
  roster has is a warning: people may be yet to come.
- Whoever reads a certificate or a leave has read trainees and requirements before.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from simengine.nearest_name import name_hint
from simengine.people.alike import same_key
from simengine.people.roster import Attendance, Certificate, Leave, Requirement
from simengine.people.roster_people import People
from simengine.people.roster_rows import Reader, quoted
from simengine.problems import Problem

Scenarios = Mapping[str, Collection[str]]
"""The scenarios that there are, each with its roles."""

_ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")


def requirement(
    reader: Reader, people: People, scenarios: Scenarios | None, problems: list[Problem]
) -> Requirement:
    """Read a requirement; ``scenarios`` is ``None`` where nobody knows which there are."""
    line = reader.line
    name = same_key(line.text("requirement"))
    if not _ID.fullmatch(name):
        reader.say("requirement", "a short name of small letters, digits, - or _")
    need = Requirement(
        id=name,
        title=reader.words("title"),
        every_months=reader.whole("every_months"),
        professions=_spelt(reader, "professions", people.professions(), problems),
        units=_spelt(reader, "units", people.units(), problems),
        scenarios=reader.several("scenarios"),
        role=line.text("role") or None,
        warn_days=reader.whole("warn_days"),
        starter_days=reader.whole("starter_days"),
        since=reader.day("since"),
    )
    if scenarios is None:
        return need
    for scenario in need.scenarios:
        if scenario not in scenarios:
            hint = name_hint(scenario, scenarios)
            reader.say("scenarios", "ids of scenarios", quoted(scenario), hint)
    named = [scenarios[id_] for id_ in need.scenarios if id_ in scenarios]
    roles = {role for some in (named or scenarios.values()) for role in some}
    if need.role is not None and roles and need.role not in roles:
        reader.say("role", "a role of these scenarios", hint=name_hint(need.role, sorted(roles)))
    return need


def leave(reader: Reader, people: People) -> Leave:
    """Read days away."""
    code = people.code(reader)
    since = reader.needed_day("since")
    until = reader.until("until", since)
    if until is None and not reader.line.text("until"):
        reader.say("until", "the last day away, as far as it is known")
    reason = reader.words("reason")
    return Leave(code, since, until or since, reason)


def certificate(
    reader: Reader, people: People, requirements: Mapping[str, Requirement]
) -> Certificate:
    """Read a certificate from outside; it names a requirement by its short name or its title."""
    code = people.code(reader)
    name = reader.line.text("requirement")
    called = {same_key(requirement.title): requirement.id for requirement in requirements.values()}
    called |= {same_key(requirement): requirement for requirement in requirements}
    name = called.get(same_key(name), name)
    if name not in requirements:
        hint = name_hint(name, requirements)
        reader.say("requirement", "the short name of a requirement", hint=hint)
    issued = reader.needed_day("issued")
    return Certificate(
        code,
        name,
        issued,
        reader.words("issuer"),
        reader.until("expires", issued, "issued"),
    )


def attendance(reader: Reader, people: People) -> Attendance:
    """Read that a person was at a training."""
    return Attendance(
        people.code(reader),
        reader.needed_day("attended"),
        reader.words("title"),
        reader.whole("minutes"),
        reader.words("place"),
    )


def _spelt(
    reader: Reader, column: str, known: Collection[str], problems: list[Problem]
) -> tuple[str, ...]:
    """Read a list of words as the trainees files spell them, whatever the case."""
    spelt = {same_key(word): word for word in known}
    whole = same_key(reader.line.text(column))
    if whole in spelt:
        return (spelt[whole],)  # a name that holds a comma
    out = []
    for word in reader.several(column):
        if same_key(word) not in spelt and spelt:
            what = f"{column} of somebody in the roster"
            hint = name_hint(word, sorted(known))
            problems.append(
                reader.line.problem(column, what, quoted(word), "nobody-has", hint, warning=True)
            )
        out.append(spelt.get(same_key(word), word))
    return tuple(dict.fromkeys(out))
