"""From a scenario to its set-up pack: one pure function.

Rules of this file:

- The caution stands beside every table that holds a dose, a pressure or a limit.
- The pages for the team and the parent give nothing away: no fault, no state, no figure asked.
- Every text is put through ``clean`` last, so that it can be printed.
"""

from __future__ import annotations

from collections.abc import Mapping

from simengine.debrief.words import protocol_lines
from simengine.quantities import Range, format_duration, format_range
from simengine.quantities.wording import gestation, value_words, weight
from simengine.report.blocks import Fact, Listing, Picture, Table, map_text
from simengine.report.printable import clean
from simengine.scenario.model import Fault, MendedBySetting, Scenario
from simengine.scenario.wanted import Steps, Value, Wanted
from simengine.scenario.words import transition_words, wanted_words
from simengine.scoring.value_words import range_words
from simengine.setup_pack.asked import AsItShouldBe, actions_of, row_for, settings_asked
from simengine.setup_pack.contents import PackContents
from simengine.setup_pack.cylinders import lasting
from simengine.setup_pack.page import ParentCard, Prebrief, ReturnSheet, SetupPack
from simengine.setup_pack.sums import NOT_GIVEN, source_of, worked

BANNER = "Simulation: training only"

# Parts of a scenario's own briefing that have a place of their own in the pack.
_PLACED = ("learners", "facilitator", "risk", "cord_plan", "parent")
_CONTRACT = {
    "fiction_contract": "Our agreement",
    "what_counts": "What counts",
    "confidentiality": "Confidential",
    "consent": "Consent",
    "distress": "If it is hard",
    "stop": "A real emergency",
}


def setup_pack(
    scenario: Scenario, contents: PackContents, *, day: tuple[int, int, int]
) -> SetupPack:
    """Return the set-up pack of a scenario for its baby, under its protocol."""
    as_set = settings_asked(scenario)
    caution = scenario.vocabulary.caution
    pack = SetupPack(
        lang="en-GB",
        day=day,
        banner=BANNER,
        title=f"Set-up pack: {scenario.title}",
        subtitle="For the facilitator. Do not leave it where the team can read it.",
        caution=caution,
        facts=_facts(scenario),
        protocol=protocol_lines(scenario.protocol),
        not_to_start=Listing(
            "When not to start", "If any of these is so, do it another day:", contents.not_to_start
        ),
        facilitator=Listing(
            "What you do",
            "",
            (scenario.briefing.get("facilitator", ""), *_cues(scenario)),
        ),
        faults=_faults(scenario, caution),
        settings=_settings(scenario, as_set, caution),
        sums=_sums(scenario, contents, as_set, caution),
        figures=_figures(scenario, contents, caution),
        cylinders=_cylinders(scenario, contents, as_set, caution),
        lay_out=_lay_out(scenario, contents),
        steps=_steps(scenario),
        prebrief=_prebrief(scenario, contents),
        parent=_parent(scenario, contents),
        returning=_returning(scenario, contents),
        diagram=_diagram(scenario),
    )
    return map_text(pack, lambda text: clean(text.replace(" %", "\u00a0%")))


def _facts(scenario: Scenario) -> tuple[Fact, ...]:
    protocol = scenario.protocol
    return (
        Fact("Scenario", f"{scenario.id}, version {scenario.version}"),
        Fact("Digest", scenario.digest),
        Fact("Baby", _baby(scenario)),
        Fact("Planned time", format_duration(scenario.planned_ms)),
        Fact("Protocol", f"{protocol.id}, edition {protocol.edition}, digest {protocol.digest}"),
    )


def _baby(scenario: Scenario) -> str:
    return f"{gestation(scenario.infant.gestation_days)}, {weight(scenario.infant.weight_g)}"


def _cues(scenario: Scenario) -> tuple[str, ...]:
    actions = scenario.vocabulary.actions
    return tuple(
        f"Planned cue: “{cue.text}”"
        + (f" (prompts: {actions[cue.prompts].label})" if cue.prompts else "")
        for cue in scenario.cues
    )


def _faults(scenario: Scenario, caution: str) -> Table | None:
    faults = scenario.start.faults.values()
    if not faults:
        return None
    return Table(
        "Faults to plant",
        ("Fault", "How to plant it", "When", "Put right by"),
        tuple(
            (
                fault.shows,
                fault.plant or "as you can",
                "before the start" if fault.planted_at_start else "during the session",
                _put_right(scenario, fault),
            )
            for fault in faults
        ),
        lead="Before you plant any: check another cot and write down where it is, here and in the "
        "console before the start. Write down each fault as you plant it. None may stay in the "
        "cot afterwards.",
        note=caution,
    )


def _put_right(scenario: Scenario, fault: Fault) -> str:
    mended = fault.mended_by
    if isinstance(mended, MendedBySetting):
        setting = scenario.vocabulary.settings[mended.setting]
        return f"{setting.label} {_wanted(mended.wanted, setting.unit)}"
    return scenario.vocabulary.actions[mended].label if mended else "said to be put right"


def _settings(scenario: Scenario, as_set: Mapping[str, AsItShouldBe], caution: str) -> Table:
    known = scenario.vocabulary.settings
    names = [name for name in known if name in scenario.start.settings or name in as_set]
    rows = []
    for name in names:
        setting, found = known[name], scenario.start.settings.get(name)
        asked = as_set.get(name)
        rows.append(
            (
                setting.label,
                "not known" if found is None else value_words(found, setting.unit),
                "as found" if asked is None else _asked(asked, setting.unit),
                "not asked for" if asked is None else _from(scenario, asked),
            )
        )
    return Table(
        "Settings",
        ("Setting", "As the team finds it", "As it should be", "Asked by, and source"),
        tuple(rows),
        lead="Set every dial as the team is to find it, and read it back.",
        note=caution,
    )


def _asked(asked: AsItShouldBe, unit: str | None) -> str:
    if asked.direction is not None:
        return "turned up" if asked.direction == "higher" else "turned down"
    return _wanted(asked.wanted, unit) if asked.wanted is not None else ""


def _wanted(wanted: Wanted, unit: str | None) -> str:
    return wanted_words(wanted, unit) if isinstance(wanted, Steps) else range_words(wanted, unit)


def _from(scenario: Scenario, asked: AsItShouldBe) -> str:
    protocol = getattr(asked.wanted, "protocol", None)
    if protocol is None:
        return f"{asked.item}; this scenario"
    value = scenario.protocol.values[protocol]
    return f"{asked.item}; {source_of(value, scenario.infant)}"


def _sums(
    scenario: Scenario,
    contents: PackContents,
    as_set: Mapping[str, AsItShouldBe],
    caution: str,
) -> Table | None:
    turned_on = actions_of(scenario)
    rows = tuple(
        (done.title, done.how, done.result, done.source)
        for sum_ in contents.sums
        if not sum_.actions or turned_on & set(sum_.actions)
        for done in (worked(scenario, sum_, as_set),)
    )
    if not rows:
        return None
    return Table(
        "Sums for this baby",
        ("What", "Sum", "Result", "Source"),
        rows,
        lead=f"{caution} Work them out again before you rely on them.",
    )


def _figures(scenario: Scenario, contents: PackContents, caution: str) -> Table | None:
    rows = []
    for name in contents.figures:
        value = scenario.protocol.values[name]
        row = row_for(value, scenario.infant)
        said = NOT_GIVEN if row is None else format_range(row.range, value.unit)
        rows.append((value.label, said, source_of(value, scenario.infant)))
    if not rows:
        return None
    return Table(
        "The protocol's figures for this baby", ("What", "Figure", "Source"), tuple(rows), caution
    )


def _cylinders(
    scenario: Scenario,
    contents: PackContents,
    as_set: Mapping[str, AsItShouldBe],
    caution: str,
) -> Table | None:
    if not scenario.start.supplies:
        return None
    rows = lasting(scenario, _in_use(scenario, as_set), contents.cylinders_with)
    return Table(
        "How long the cylinders last",
        ("Cylinder", "As found", "In use", "Drawn", "Lasts, as found", "Lasts, full"),
        tuple(
            (row.supply, row.contents, row.use, row.drawn, row.as_found, row.full) for row in rows
        ),
        lead=caution,
        note="With the sizes of this vocabulary; put in your own cylinders' litres.",
    )


def _in_use(scenario: Scenario, as_set: Mapping[str, AsItShouldBe]) -> dict[str, Value]:
    """Return the settings in use: as they should be, else as found."""
    values = dict(scenario.start.settings)
    for name, asked in as_set.items():
        wanted = asked.wanted
        if isinstance(wanted, Range) and abs(wanted.low) != abs(wanted.high):
            middle = (wanted.low + wanted.high) / 2
            if abs(middle) < 1e300:
                values[name] = middle
    return values


def _lay_out(scenario: Scenario, contents: PackContents) -> Listing:
    turned_on = actions_of(scenario)
    return Listing(
        "What to lay out",
        "Apart from what a fault takes away:",
        tuple(
            laid.what
            for laid in contents.lay_out
            if not laid.actions or turned_on & set(laid.actions)
        ),
    )


def _steps(scenario: Scenario) -> Table:
    rows = []
    for state in scenario.states.values():
        ways = [
            f"{_words(scenario, transition)} → {scenario.states[transition.to].title}"
            for transition in state.next
        ]
        ends = "the session ends" + (
            f" {format_duration(state.linger_ms)} later" if state.linger_ms else ""
        )
        rows.append((state.title, state.trend or "–", "; ".join(ways) or ends))
    return Table(
        "What happens, and what makes it happen",
        ("State", "Course", "Goes on when"),
        tuple(rows),
        lead="You can hold any automatic step, or go to any state by hand.",
        note=scenario.vocabulary.caution,
    )


def _words(scenario: Scenario, transition: object) -> str:
    words = getattr(transition, "words", "")
    return words or transition_words(transition, scenario.vocabulary)  # type: ignore[arg-type]


def _prebrief(scenario: Scenario, contents: PackContents) -> Prebrief:
    briefing = scenario.briefing
    answers = [
        Fact("Risk", briefing["risk"]) if "risk" in briefing else None,
        Fact("Cord plan", briefing["cord_plan"]) if "cord_plan" in briefing else None,
    ]
    contract = [
        Fact(label, said)
        for name, label in _CONTRACT.items()
        if (said := briefing.get(name) or contents.prebrief.get(name, ""))
    ]
    return Prebrief(
        title=f"Prebrief: {scenario.title}",
        lead="For the whole team, read aloud.",
        learners=briefing.get("learners", ""),
        answers=tuple(fact for fact in answers if fact is not None),
        questions=Listing("Questions to ask before the birth", "", contents.questions),
        contract=tuple(contract),
        roles=Table(
            "Roles",
            ("Role", "Who"),
            tuple((label, "") for label in scenario.roles.values()),
            lead="Roles may be shared, and may change hands; say so aloud when they do.",
        ),
        acknowledged="We have read this and agree.",
        lines=("The other cot, checked and ready, is at", "Initials of all", "Date"),
    )


def _parent(scenario: Scenario, contents: PackContents) -> ParentCard | None:
    if "parent" not in scenario.roles or not contents.parent_lines:
        return None
    own = scenario.briefing.get("parent")
    return ParentCard(
        title="Card for the parent",
        lead=own or contents.parent_lead,
        lines=contents.parent_lines,
        after=contents.parent_after,
    )


def _returning(scenario: Scenario, contents: PackContents) -> ReturnSheet | None:
    if not contents.return_sheet and not scenario.start.faults:
        return None
    return ReturnSheet(
        title="Returning the cot to service",
        lead=(
            "Before anybody leaves, and after a stop for a real patient as well: until then no "
            "baby is brought to this cot. Two people look at it, each writes their own initials."
            if scenario.returns_cot
            else "Before anybody leaves."
        ),
        faults=tuple(f"Put right: {fault.shows}" for fault in scenario.start.faults.values()),
        lines=contents.return_sheet,
        initials=("First initials", "Second initials", "Date and time"),
    )


def _diagram(scenario: Scenario) -> Picture:
    ways = [
        f"{state.title} to {scenario.states[transition.to].title}: {_words(scenario, transition)}"
        for state in scenario.states.values()
        for transition in state.next
    ]
    return Picture(
        picture="states",
        title="States",
        sentences=(
            "Drawn from the scenario itself. This page may be larger than A4: print it to fit.",
            scenario.vocabulary.caution,
        ),
        own_page=True,
        alt=f"Diagram of {len(scenario.states)} states. {'; '.join(ways)}.",
    )
