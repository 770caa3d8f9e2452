"""All the names that a scenario may use, with what an author has to know of each.

Rules of this file:

- One line for a name, under the heading of the place in the file in which it is used.
- Protocol values are those for this baby, each with its source; one that has none for it says so.
- The caution of the vocabulary comes last, since doses, pressures and times are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from simengine.quantities import Range, format_duration, format_quantity
from simengine.scenario.key import Avoid
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.protocol import Protocol, ProtocolValue
from simengine.scenario.read_protocol import NoValueError, value_for
from simengine.scenario.vocabulary import Action, Observation, Setting, Supply
from simengine.scenario.words import wanted_words

Entry = tuple[str, str, str]
"""A name, what people call it, and what else an author has to know."""


def name_lines(scenario: Scenario) -> Iterator[str]:
    """Go through the names that this scenario may use, as lines of text."""
    vocabulary, protocol = scenario.vocabulary, scenario.protocol
    groups: tuple[tuple[str, Iterable[Entry]], ...] = (
        ("Settings of the equipment", map(_setting, vocabulary.settings.values())),
        ("Observations of the baby", map(_observation, vocabulary.observations.values())),
        ("Actions of the team", map(_action, vocabulary.actions.values())),
        ("Supplies", map(_supply, vocabulary.supplies.values())),
        ("Roles", ((name, label, "") for name, label in vocabulary.roles.items())),
        (
            f"Values for this baby, written {{protocol: NAME}}: {_protocol(protocol)}",
            (_value(value, protocol, scenario.infant) for value in protocol.values.values()),
        ),
        ("Unsafe in any baby, by this protocol", map(_unsafe, scenario.never)),
    )
    for number, (heading, entries) in enumerate(groups):
        rows = list(entries)
        if not rows:
            continue
        if number:
            yield ""
        yield heading
        first = max((len(name) for name, _, _ in rows), default=0)
        for name, label, more in rows:
            yield f"  {name:<{first}}  {label}{f' ({more})' if more else ''}"
    yield ""
    yield vocabulary.caution


def _protocol(protocol: Protocol) -> str:
    signed = protocol.signed_by
    status = f"signed by {signed.name}, {signed.date}" if signed is not None else "unsigned"
    edition = f"{protocol.title} ({protocol.id}), edition {protocol.edition}, {status}"
    return (
        f"{edition}; superseded by {protocol.superseded_by}" if protocol.superseded_by else edition
    )


def _setting(setting: Setting) -> Entry:
    if setting.words:
        return setting.name, setting.label, ", ".join(setting.words)
    unit = setting.unit or ""
    parts = [setting.plausible.text if setting.plausible is not None else unit]
    if setting.tolerance:
        parts.append(f"tolerance {format_quantity(setting.tolerance, unit)}")
    return setting.name, setting.label, ", ".join(parts)


def _observation(observation: Observation) -> Entry:
    parts = [", ".join(observation.words) or observation.unit or ""]
    if observation.revealed_by:
        ways = " or ".join(by.action for by in observation.revealed_by)
        parts.append(f"known by {ways}")
    return observation.name, observation.label, "; ".join(parts)


def _action(action: Action) -> Entry:
    parts = ["lasts" if action.lasting else ""]
    if action.settings:
        parts.append(f"with {', '.join(action.settings)}")
    if action.reads is not None:
        parts.append(f"reads {action.reads}")
    if action.dose is not None:
        parts.append(f"dose in {action.dose.unit} by {', '.join(action.dose.routes)}")
    parts += [words for is_so, words in _kinds(action) if is_so]
    if action.shortest_ms:
        parts.append(f"counts from {format_duration(action.shortest_ms)}")
    return action.name, action.label, "; ".join(part for part in parts if part)


def _kinds(action: Action) -> tuple[tuple[bool, str], ...]:
    return (
        (action.by_voice, "is speech"),
        (action.stays, "stays done"),
        (action.on_baby, "done to the baby"),
        (action.stops_care, "stops care"),
    )


def _unsafe(item: Avoid) -> Entry:
    return item.id.removeprefix("never:"), item.title, item.source


def _supply(supply: Supply) -> Entry:
    return supply.name, supply.label, f"holds {format_quantity(supply.capacity, supply.unit)}"


def _value(value: ProtocolValue, protocol: Protocol, infant: Infant) -> Entry:
    try:
        wanted = value_for(protocol, value.name, infant, value.unit)
    except NoValueError:
        return value.name, value.label, "not for this baby"
    sources = dict.fromkeys(row.source for row in value.rows if row.source)
    written = wanted.text if isinstance(wanted, Range) else ""
    figure = written or wanted_words(wanted, value.unit)
    return value.name, value.label, f"{figure}; {'; '.join(sources)}; {value.evidence}"
