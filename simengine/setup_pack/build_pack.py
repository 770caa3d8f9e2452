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
from simengine.quantities.formatting import capitalised, gestation, percent, value_words, weight
from simengine.report.blocks import Fact, Listing, Picture, Table, map_text
from simengine.report.printable import clean
from simengine.scenario.model import Fault, MendedBySetting, Scenario
from simengine.scenario.wanted import Steps, Value, Wanted
from simengine.scenario.words import range_words, transition_words, wanted_words
from simengine.setup_pack.contents import PackContents
from simengine.setup_pack.cylinders import lasting
from simengine.setup_pack.equipment_asked import AsItShouldBe, actions_of, row_for, settings_asked
from simengine.setup_pack.pack_page import ParentCard, Prebrief, ReturnSheet, SetupPack
from simengine.setup_pack.pack_sentences import say
from simengine.setup_pack.sums import NOT_GIVEN, source_of, worked

BANNER = say("banner")

_CONTRACT = {
    "fiction_contract": say("contract_our_agreement"),
    "what_counts": say("contract_what_counts"),
    "confidentiality": say("contract_confidential"),
    "consent": say("contract_consent"),
    "distress": say("contract_if_hard"),
    "stop": say("contract_real_emergency"),
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
        title=say("title", title=scenario.title),
        subtitle=say("subtitle"),
        caution=caution,
        facts=_facts(scenario),
        protocol=protocol_lines(scenario.protocol),
        not_to_start=Listing(
            say("not_to_start_title"), say("not_to_start_lead"), contents.not_to_start
        ),
        facilitator=Listing(
            say("facilitator_title"),
            "",
            (scenario.briefing.get("facilitator", ""), *_cues(scenario)),
        ),
        faults=_faults(scenario, caution),
        settings=_settings(scenario, as_set, caution),
        sums=_sums(scenario, contents, as_set, caution),
        figures=_figures(scenario, contents, caution),
        others=_others(scenario),
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
        Fact(say("facts_scenario"), say("facts_version", id=scenario.id, version=scenario.version)),
        Fact(say("facts_digest"), scenario.digest),
        Fact(say("facts_baby"), _baby(scenario)),
        Fact(say("facts_planned_time"), format_duration(scenario.planned_ms)),
        Fact(
            say("facts_protocol"),
            say(
                "facts_edition_digest",
                id=protocol.id,
                edition=protocol.edition,
                digest=protocol.digest,
            ),
        ),
        *(
            Fact(
                say("facts_waived"),
                say("facts_waived_why", name=name.replace("_", " "), reason=reason),
            )
            for name, reason in scenario.waives.items()
        ),
    )


def _baby(scenario: Scenario) -> str:
    return f"{gestation(scenario.infant.gestation_days)}, {weight(scenario.infant.weight_g)}"


def _cues(scenario: Scenario) -> tuple[str, ...]:
    actions = scenario.vocabulary.actions
    return tuple(
        say("cues_planned_cue", text=cue.text)
        + (say("cues_prompts", action=actions[cue.prompts].label) if cue.prompts else "")
        for cue in scenario.cues
    )


def _faults(scenario: Scenario, caution: str) -> Table | None:
    faults = scenario.start.faults.values()
    if not faults:
        return None
    return Table(
        say("faults_title"),
        (
            say("faults_fault"),
            say("faults_how_plant"),
            say("faults_when"),
            say("faults_put_right_by"),
            say("faults_brought_back_by"),
        ),
        tuple(
            (
                fault.shows,
                fault.plant or say("faults_as_you_can"),
                say("faults_before_start")
                if fault.planted_at_start
                else say("faults_during_session"),
                _put_right(scenario, fault),
                fault.put_back or say("faults_as_it_was"),
            )
            for fault in faults
        ),
        lead=say("faults_lead"),
        note=caution,
    )


def _put_right(scenario: Scenario, fault: Fault) -> str:
    mended = fault.mended_by
    if isinstance(mended, MendedBySetting):
        setting = scenario.vocabulary.settings[mended.setting]
        stands = f"{setting.label} {_wanted(mended.wanted, setting.unit)}"
        return f"{capitalised(fault.put_right)}: {stands}" if fault.put_right else stands
    if fault.put_right:
        return capitalised(fault.put_right)
    return scenario.vocabulary.actions[mended].label if mended else say("put_right_said_be_put")


def _settings(scenario: Scenario, as_set: Mapping[str, AsItShouldBe], caution: str) -> Table:
    known = scenario.vocabulary.settings
    names = [name for name in known if name in scenario.start.settings or name in as_set]
    rows = []
    for name in names:
        setting, as_found = known[name], scenario.start.settings.get(name)
        wanted = as_set.get(name)
        rows.append(
            (
                setting.label,
                say("settings_not_known")
                if as_found is None
                else value_words(as_found, setting.unit),
                say("settings_as_found") if wanted is None else _asked(wanted, setting.unit),
                say("settings_not_asked_for") if wanted is None else _from(scenario, wanted),
            )
        )
    return Table(
        say("settings_title"),
        (
            say("settings_setting"),
            say("settings_as_team_finds"),
            say("settings_as_should_be"),
            say("settings_asked_by_source"),
        ),
        tuple(rows),
        lead=say("settings_lead"),
        note=caution,
    )


def _asked(should_be: AsItShouldBe, unit: str | None) -> str:
    if should_be.direction is not None:
        return (
            say("asked_turned_up") if should_be.direction == "higher" else say("asked_turned_down")
        )
    return _wanted(should_be.wanted, unit) if should_be.wanted is not None else ""


def _wanted(wanted: Wanted, unit: str | None) -> str:
    return wanted_words(wanted, unit) if isinstance(wanted, Steps) else range_words(wanted, unit)


def _from(scenario: Scenario, should_be: AsItShouldBe) -> str:
    protocol = getattr(should_be.wanted, "protocol", None)
    if protocol is None:
        return say("from_this_scenario", item=should_be.item)
    value = scenario.protocol.values[protocol]
    return f"{should_be.item}; {source_of(value, scenario.infant)}"


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
        say("sums_title"),
        (say("sums_what"), say("sums_sum"), say("sums_result"), say("sums_source")),
        rows,
        lead=say("sums_lead", caution=caution),
    )


def _figures(scenario: Scenario, contents: PackContents, caution: str) -> Table | None:
    rows = []
    for name in contents.figures:
        value = scenario.protocol.values[name]
        row = row_for(value, scenario.infant)
        words = NOT_GIVEN if row is None else format_range(row.range, value.unit)
        rows.append((value.label, words, source_of(value, scenario.infant)))
    if not rows:
        return None
    return Table(
        say("figures_title"),
        (say("sums_what"), say("figures_figure"), say("sums_source")),
        tuple(rows),
        caution,
    )


def _others(scenario: Scenario) -> Table | None:
    rows = tuple(
        (say("others_of", what=capitalised(what), where=where), source)
        for where, sources in (
            (say("others_scenario"), scenario.sources),
            (say("others_vocabulary"), scenario.vocabulary.sources),
        )
        for what, source in sources.items()
    )
    if not rows:
        return None
    return Table(say("others_title"), (say("sums_what"), say("sums_source")), rows)


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
        say("cylinders_title"),
        (
            say("cylinders_cylinder"),
            say("cylinders_as_found"),
            say("cylinders_use"),
            say("cylinders_drawn"),
            say("cylinders_lasts_as_found"),
            say("cylinders_lasts_full"),
        ),
        tuple(
            (row.supply, row.contents, row.use, row.drawn, row.as_found, row.full) for row in rows
        ),
        lead=caution,
        note=" ".join((say("cylinders_note"), *_kept_back(scenario))),
    )


def _in_use(scenario: Scenario, as_set: Mapping[str, AsItShouldBe]) -> dict[str, Value]:
    """Return the settings in use: as they should be, else as found."""
    values = dict(scenario.start.settings)
    for name, should_be in as_set.items():
        wanted = should_be.wanted
        if isinstance(wanted, Range) and abs(wanted.low) != abs(wanted.high):
            middle = (wanted.low + wanted.high) / 2
            if abs(middle) < 1e300:
                values[name] = middle
    return values


def _lay_out(scenario: Scenario, contents: PackContents) -> Listing:
    turned_on = actions_of(scenario)
    return Listing(
        say("lay_out_title"),
        say("lay_out_lead"),
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
        ends = say("steps_session_ends") + (
            say("steps_later", linger=format_duration(state.linger_ms)) if state.linger_ms else ""
        )
        rows.append((state.title, state.trend or "–", "; ".join(ways) or ends))
    return Table(
        say("steps_title"),
        (say("steps_state"), say("steps_course"), say("steps_goes_when")),
        tuple(rows),
        lead=say("steps_lead"),
        note=scenario.vocabulary.caution,
    )


def _words(scenario: Scenario, transition: object) -> str:
    words = getattr(transition, "words", "")
    return words or transition_words(transition, scenario.vocabulary)  # type: ignore[arg-type]


def _prebrief(scenario: Scenario, contents: PackContents) -> Prebrief:
    briefing = scenario.briefing
    answers = [
        Fact(say("prebrief_risk"), briefing["risk"]) if "risk" in briefing else None,
        Fact(say("prebrief_cord_plan"), briefing["cord_plan"]) if "cord_plan" in briefing else None,
    ]
    contract = [
        Fact(label, text)
        for name, label in _CONTRACT.items()
        if (text := briefing.get(name) or contents.prebrief.get(name, ""))
    ]
    return Prebrief(
        title=say("prebrief_title", title=scenario.title),
        lead=say("prebrief_lead"),
        learners=briefing.get("learners", ""),
        answers=tuple(fact for fact in answers if fact is not None),
        questions=Listing(say("prebrief_questions"), "", contents.questions),
        contract=tuple(contract),
        roles=Table(
            say("prebrief_roles"),
            (say("prebrief_role"), say("prebrief_who")),
            tuple((label, "") for label in scenario.roles.values()),
            lead=say("prebrief_roles_lead"),
        ),
        acknowledged=say("prebrief_acknowledged"),
        lines=(
            say("prebrief_other_cot_checked"),
            say("prebrief_initials_all"),
            say("prebrief_date"),
        ),
    )


def _parent(scenario: Scenario, contents: PackContents) -> ParentCard | None:
    if "parent" not in scenario.roles or not contents.parent_lines:
        return None
    own = scenario.briefing.get("parent")
    return ParentCard(
        title=say("parent_title"),
        lead=own or contents.parent_lead,
        lines=contents.parent_lines,
        after=contents.parent_after,
    )


def _returning(scenario: Scenario, contents: PackContents) -> ReturnSheet | None:
    if not contents.return_sheet and not scenario.start.faults:
        return None
    return ReturnSheet(
        title=say("returning_title"),
        lead=(say("returning_lead") if scenario.returns_cot else say("returning_lead_short")),
        faults=tuple(
            say("returning_put_right", shows=fault.shows)
            + (f". {fault.put_back}" if fault.put_back else "")
            for fault in scenario.start.faults.values()
        ),
        lines=contents.return_sheet,
        initials=(
            say("returning_first_initials"),
            say("returning_second_initials"),
            say("returning_date_time"),
        ),
    )


def _kept_back(scenario: Scenario) -> list[str]:
    shares = {
        percent(scenario.vocabulary.supplies[name].reserve) for name in scenario.start.supplies
    }
    return [say("cylinders_kept_back", share=share) for share in sorted(shares - {percent(0.0)})]


def _diagram(scenario: Scenario) -> Picture:
    ways = [
        say(
            "diagram_to",
            title=state.title,
            next=scenario.states[transition.to].title,
            words=_words(scenario, transition),
        )
        for state in scenario.states.values()
        for transition in state.next
    ]
    return Picture(
        picture="states",
        title=say("diagram_title"),
        sentences=(
            say("diagram_lead"),
            scenario.vocabulary.caution,
        ),
        own_page=True,
        alt=say("diagram_alt", states=len(scenario.states), ways="; ".join(ways)),
    )
