"""The form that plans a session: read, and filled in from what is known.

Rules of this file:

- Whatever is wrong is told at once, and nothing is kept meanwhile.
- A team is told line by line: a role and who takes it (``airway: Ada Example``), or who comes
  alone, of whom nobody has said yet what they do. Roles are those of the scenario, by name or
  label.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from simengine.coordinator.typed_people import codes_of
from simengine.people.alike import same_key
from simengine.people.bookings import Booking, Team, new_booking_id, read_time
from simengine.people.roster import Trainee
from simengine.people.whereabouts import unit_of_roster
from simengine.web.shelf import ShelfScenario

MOST_MINUTES = 1440
AHEAD = timedelta(days=731)
"""So far ahead sessions are planned and looked for."""
_MOST_WORDS = 120


def read_booking(
    form: Mapping[str, str],
    scenarios: Mapping[str, ShelfScenario],
    trainees: Sequence[Trainee],
    today: date,
) -> tuple[Booking | None, list[str]]:
    """Return the session that a form tells, and what is wrong with it."""
    problems: list[str] = []
    scenario = scenarios.get(form.get("scenario", ""))
    if scenario is None:
        problems.append("Scenario: choose one from the list.")
    day = read_day(form.get("day", ""), today, problems)
    starts = read_start(form.get("starts", ""), problems)
    minutes = read_minutes(form.get("minutes", ""), problems)
    team, wrong = _team(form.get("team", ""), {} if scenario is None else scenario.roles, trainees)
    problems += wrong
    if problems or scenario is None:
        return None, problems
    unit = _line(form, "unit")
    units = {stay.unit for trainee in trainees for stay in trainee.postings}
    made = Booking(
        id=form.get("id", "") or new_booking_id(),
        day=day,
        scenario=scenario.id,
        starts=starts,
        minutes=minutes,
        place=_line(form, "place"),
        unit=unit_of_roster(unit, units) or unit,
        purpose="summative" if form.get("purpose") == "summative" else "formative",
        team_name=_line(form, "team_name"),
        team=team,
        note=_line(form, "note"),
    )
    return made, []


def read_day(typed: str, today: date, problems: list[str]) -> date:
    """Read the day of a session to come."""
    try:
        day = date.fromisoformat(typed)
    except ValueError:
        day = date.min
    if not today <= day <= today + AHEAD:
        problems.append(
            f"Day: expected a day from {today.isoformat()} to {(today + AHEAD).isoformat()}, "
            f"found '{typed[:20]}'."
        )
    return day


def read_start(typed: str, problems: list[str]) -> str:
    """Read when a session begins."""
    try:
        return read_time(typed)
    except ValueError as error:
        problems.append(f"Begins: {error}.")
        return ""


def read_minutes(typed: str, problems: list[str]) -> int:
    """Read how long a session takes."""
    typed = typed.strip()
    if not (typed.isascii() and typed.isdigit() and 1 <= int(typed[:5]) <= MOST_MINUTES):
        problems.append(
            f"How long: expected whole minutes from 1 to {MOST_MINUTES}, found '{typed[:20]}'."
        )
        return 0
    return int(typed)


def team_words(team: Team, roles: Mapping[str, str], names: Mapping[str, str]) -> str:
    """Return a team as the form takes it: by name where one alone has it, else by code."""
    several = [same_key(name) for name in names.values() if name]
    lines = []
    for role, codes in team.items():
        people = [
            names[code] if names.get(code) and several.count(same_key(names[code])) == 1 else code
            for code in codes
        ]
        lines += [f"{roles.get(role, role)}: {', '.join(people)}"] if role else people
    return "\n".join(lines)


def filled_from(
    booking: Booking, roles: Mapping[str, str], names: Mapping[str, str]
) -> dict[str, str]:
    """Return the form filled in with a session to come."""
    return {
        "id": booking.id,
        "scenario": booking.scenario,
        "purpose": booking.purpose,
        "day": booking.day.isoformat(),
        "starts": booking.starts,
        "minutes": str(booking.minutes),
        "place": booking.place,
        "unit": booking.unit,
        "team_name": booking.team_name,
        "note": booking.note,
        "team": team_words(booking.team, roles, names),
    }


def _team(
    typed: str, roles: Mapping[str, str], trainees: Sequence[Trainee]
) -> tuple[dict[str, tuple[str, ...]], list[str]]:
    known = {same_key(word): name for name, label in roles.items() for word in (label, name)}
    team: dict[str, list[str]] = {}
    problems: list[str] = []
    for line in typed.splitlines():
        before, colon, after = line.partition(":")
        role = known.get(same_key(before), "") if colon else ""
        if colon and not role and roles:
            problems.append(
                f"“{before.strip()[:40]}” is not a role in this scenario: expected "
                f"{', '.join(roles.values())}."
            )
            continue
        codes, wrong = codes_of(after if colon else line, trainees)
        problems += wrong
        team.setdefault(role, []).extend(codes)
    held = [code for codes in team.values() for code in codes]
    names = {trainee.code: trainee.name or trainee.code for trainee in trainees}
    problems += [
        f"{names[code]} is listed more than once."
        for code in dict.fromkeys(held)
        if held.count(code) > 1
    ]
    order = ["", *roles]
    return {
        role: tuple(team[role])
        for role in sorted(team, key=lambda name: order.index(name) if name in order else 0)
        if team[role]
    }, problems


def _line(form: Mapping[str, str], name: str) -> str:
    return " ".join(form.get(name, "").split())[:_MOST_WORDS]
