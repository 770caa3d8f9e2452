"""From a session and its score card to the scene that the picture shows.

Rules of this file:

- Which curves and settings are drawn follows from the scenario: those that its marking guide and
  its guards name most come first. No observation, setting or action is known here by name.
- A curve is solid where a sensor could read it, dashed where the team could not know it, and a
  single reading is a dot.
- Thresholds are those at which the marking guide asks for something; without any, those of the
  guards.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from math import inf

from simengine.debrief.debrief_sentences import say
from simengine.debrief.interest import (
    clock_target,
    curves_by_interest,
    setting_interest,
    words_by_interest,
)
from simengine.debrief.scene import (
    Band,
    Curve,
    Entry,
    Piece,
    Row,
    Scene,
    SettingLine,
    SettingPanel,
    Step,
    Strip,
    Target,
    Threshold,
)
from simengine.debrief.words import CUE, SIGNS, UNASKED, at, signs_of, team_clock, zero_words
from simengine.quantities import Range, format_quantity, format_range
from simengine.quantities.formatting import times, value_words
from simengine.report.blocks import Sign
from simengine.report.printable import clean
from simengine.scenario.conditions import Observed, leaves
from simengine.scenario.key import AskedSetting, Item, Windowed
from simengine.scenario.model import Scenario
from simengine.scenario.words import asked_words
from simengine.scoring.card import ItemScore, OccasionScore, ScoreCard, Verdict
from simengine.scoring.guide import phase_of
from simengine.session.dynamics import curve_at
from simengine.session.readings import Sensing, session_sensing
from simengine.session.record import Performance, Session

MOST_CURVES = 3
MOST_STRIPS = 1
MOST_PANELS = 3
_STEP_MS = 2_000
_WHOLE = 10.0
"""No dial is read closer than to a tenth from here on."""
_GOOD = frozenset({"on time", "kept", "in order"})
_BESIDE_THE_POINT = frozenset({SIGNS["on time"], UNASKED, CUE})
"""Signs of marks that a picture in brief does without."""


def scene_of(
    session: Session,
    card: ScoreCard,
    other: Session | None = None,
    *,
    trainee: str | None = None,
) -> Scene:
    """Return what the picture of a session shows; ``other``: its other course, as a thin line.

    For a ``trainee`` what has no entry reads as that.
    """
    scenario = session.scenario
    verdict_signs = signs_of(trainee)
    start = team_clock(session, 0) / 1000
    end = team_clock(session, session.end_ms) / 1000
    sensed = session_sensing(session)
    order = list(scenario.vocabulary.observations)
    chosen = sorted(curves_by_interest(session)[:MOST_CURVES], key=order.index)
    curves = tuple(
        replace(_curve(session, name, sensed[name]), other=_other_course(session, name, other))
        for name in chosen
    )
    strips = tuple(
        strip
        for name in words_by_interest(session)[:MOST_STRIPS]
        if (strip := _word_strip(session, name)) is not None
    )
    panels, unchanged = _panels(session, MOST_PANELS + MOST_CURVES - len(curves))
    rows = _rows(session, card, verdict_signs)
    zero = zero_words(scenario) if session.record.clock_ms is not None else None
    signs = tuple(dict.fromkeys(entry.sign for row in rows for entry in row.entries))
    ordered = [sign for sign in dict.fromkeys(verdict_signs.values()) if sign in signs]
    ordered += [sign for sign in signs if sign not in ordered]
    return Scene(
        start=start,
        end=max(end, start + 1),
        zero=zero and clean(zero),
        axis=clean(say("axis_team_clock", zero=zero) if zero else say("axis_since_start")),
        states=_states(session),
        strips=strips,
        curves=curves,
        settings=panels,
        unchanged=unchanged,
        rows=rows,
        signs=tuple(ordered),
    )


def in_brief(scene: Scene) -> Scene:
    """Return what of a scene fits on half a page: the course, what lasted, and what to look at."""
    rows = []
    for row in scene.rows:
        entries = tuple(
            entry for entry in row.entries if entry.bar or entry.sign not in _BESIDE_THE_POINT
        )
        if entries:
            rows.append(replace(row, entries=entries))
    signs = {entry.sign for row in rows for entry in row.entries}
    return replace(
        scene,
        strips=(),
        curves=scene.curves[:2],
        settings=scene.settings[:1],
        unchanged="",
        rows=tuple(rows),
        signs=tuple(sign for sign in scene.signs if sign in signs),
    )


# --- states and words --------------------------------------------------------------------------


def _states(session: Session) -> Strip:
    bands = []
    for stay in session.stays:
        state = session.scenario.states[stay.state]
        begin, end = stay.entry_ms, min(stay.exit_ms, session.end_ms)
        if end > begin:
            bands.append(
                Band(
                    team_clock(session, begin) / 1000,
                    team_clock(session, end) / 1000,
                    clean(state.title),
                    state.trend,
                )
            )
    return Strip(say("states_state"), tuple(bands))


def _word_strip(session: Session, name: str) -> Strip | None:
    steps = session.words[name]
    bands: list[Band] = []
    for index, (since, word) in enumerate(steps):
        until = steps[index + 1][0] if index + 1 < len(steps) else session.end_ms
        begin = team_clock(session, since) / 1000
        end = team_clock(session, min(until, session.end_ms)) / 1000
        if end <= begin:
            continue
        if bands and bands[-1].words == clean(word):
            bands[-1] = Band(bands[-1].start, end, bands[-1].words)
        else:
            bands.append(Band(begin, end, clean(word)))
    if not bands:
        return None
    return Strip(clean(session.scenario.vocabulary.observations[name].label), tuple(bands))


# --- curves ------------------------------------------------------------------------------------


def _curve(session: Session, name: str, sensed: Sensing) -> Curve:
    observation = session.scenario.vocabulary.observations[name]
    segments = session.curves[name]
    first = segments[0].start_ms
    cuts = sorted(
        {first, session.end_ms}
        | {segment.start_ms for segment in segments}
        | {edge for stream in sensed.streams for edge in stream if first < edge < session.end_ms}
    )
    cuts = [cut for cut in cuts if first <= cut <= session.end_ms]
    pieces: list[Piece] = []
    for begin, end in pairwise(cuts):
        times = [*range(begin, end, _STEP_MS), end - 1]
        values = [curve_at(segments, time) for time in times]
        sampled = tuple(team_clock(session, time) / 1000 for time in times)
        kept = tuple(0.0 if value is None else value for value in values)
        known = sensed.streams_at(begin)
        if pieces and pieces[-1].known == known:
            last = pieces[-1]
            pieces[-1] = Piece(known, last.times + sampled, last.values + kept)
        else:
            pieces.append(Piece(known, sampled, kept))
    readings = tuple(
        (team_clock(session, instant) / 1000, value)
        for instant in sensed.snapshots
        if instant <= session.end_ms and (value := curve_at(segments, instant)) is not None
    )
    notes: tuple[tuple[float, str], ...] = ()
    if observation.revealed_by:
        streams = [stream for stream in sensed.streams if stream[0] < session.end_ms]
        if streams:
            since = streams[0][0]
            notes = (
                (
                    team_clock(session, since) / 1000,
                    say("curve_sensor_from", since=at(session, since)),
                ),
            )
        elif not readings:
            notes = ((team_clock(session, first) / 1000, say("curve_never_read")),)
    return Curve(
        label=clean(observation.label),
        unit=clean(observation.unit or ""),
        pieces=tuple(pieces),
        readings=readings,
        thresholds=_thresholds(session.scenario, name, observation.unit or ""),
        target=_target(session, name, observation.unit),
        notes=notes,
        decimals=observation.decimals,
    )


def _other_course(
    session: Session, name: str, other: Session | None
) -> tuple[tuple[float, float], ...]:
    """Return how a curve would have gone, from where it parts from how it went."""
    if other is None or name not in other.curves:
        return ()
    end = min(session.end_ms, other.end_ms)
    out: list[tuple[float, float]] = []
    for instant in range(other.curves[name][0].start_ms, end, _STEP_MS):
        went, would = (curve_at(each.curves[name], instant) for each in (session, other))
        if would is not None and (out or went != would):
            out.append((team_clock(session, instant) / 1000, would))
    return tuple(out)


def _end(value: float) -> float | None:
    return None if abs(value) == inf else value


def _thresholds(scenario: Scenario, name: str, unit: str) -> tuple[Threshold, ...]:
    asked_at: dict[Range, list[str]] = {}
    for item in scenario.key:
        if item.whenever is None or item.asked is None:
            continue
        for leaf in leaves(item.whenever):
            if (
                isinstance(leaf, Observed)
                and leaf.observation == name
                and isinstance(leaf.wanted, Range)
            ):
                asked_at.setdefault(leaf.wanted, []).append(
                    asked_words(item.asked, scenario.vocabulary, dict(scenario.start.faults))
                )
    if not asked_at:
        for state in scenario.states.values():
            for transition in state.next:
                for leaf in leaves(transition.when) if transition.when else ():
                    if (
                        isinstance(leaf, Observed)
                        and leaf.observation == name
                        and isinstance(leaf.wanted, Range)
                    ):
                        asked_at.setdefault(leaf.wanted, [])
    return tuple(
        Threshold(
            _end(wanted.low),
            _end(wanted.high),
            clean(
                format_range(wanted, unit)
                + (f": {_some_of(list(dict.fromkeys(words)))}" if words else "")
            ),
        )
        for wanted, words in asked_at.items()
    )


def _some_of(labels: list[str]) -> str:
    """Name two of what is asked at a threshold and count the others, since a line holds no more."""
    if len(labels) <= 3:
        return ", ".join(labels)
    return f"{', '.join(labels[:2])} and {len(labels) - 2} more"


def _target(session: Session, name: str, unit: str | None) -> Target | None:
    value = clock_target(session.scenario, name, unit)
    if value is None or session.record.clock_ms is None:
        return None
    end = team_clock(session, session.end_ms) / 1000
    steps = []
    for index, row in enumerate(value.rows):
        begin = (row.since or 0.0) / 1000
        later = value.rows[index + 1 :]
        until = (later[0].since or 0.0) / 1000 if later else end
        if begin < end:
            steps.append(Step(begin, min(until, end), _end(row.range.low), _end(row.range.high)))
    protocol = session.scenario.protocol
    state = "" if protocol.signed_by else say("target_unsigned")
    words = say("target_by_minute", edition=protocol.edition, state=state)
    return Target(clean(words), tuple(steps)) if steps else None


# --- settings ----------------------------------------------------------------------------------


def _panels(session: Session, most: int) -> tuple[tuple[SettingPanel, ...], str]:
    """Return the settings worth drawing, and those that stayed as they were in words.

    Settings of one unit that one action carries share a panel.
    """
    vocabulary = session.scenario.vocabulary
    interest = setting_interest(session.scenario)
    order = list(vocabulary.settings)
    drawn = [
        name
        for name in order
        if vocabulary.settings[name].unit is not None
        and session.record.changes.get(name)
        and (interest[name] or sum(change.touched for change in session.record.changes[name]) > 1)
    ]
    drawn.sort(key=lambda name: (-interest[name], order.index(name)))
    groups: list[list[str]] = []
    for name in drawn:
        for group in groups:
            if vocabulary.settings[group[0]].unit == vocabulary.settings[name].unit and any(
                {group[0], name} <= set(action.settings) for action in vocabulary.actions.values()
            ):
                group.append(name)
                break
        else:
            groups.append([name])
    groups = [sorted(group, key=order.index) for group in groups]
    panels = [_panel(session, group) for group in groups]
    moved = [panel for panel in panels if any(len(line.points) > 1 for line in panel.lines)]
    still = [
        f"{line.label} {words} {panel.unit}".rstrip()
        for panel in panels
        if panel not in moved
        for line in panel.lines
        for _, _, words in line.points
    ]
    first = {
        panel.label: order.index(group[0]) for panel, group in zip(panels, groups, strict=True)
    }
    shown = sorted(moved[:most], key=lambda panel: first[panel.label])
    return tuple(shown), "; ".join(still)


def _panel(session: Session, names: list[str]) -> SettingPanel:
    settings = session.scenario.vocabulary.settings
    lines = []
    for name in names:
        points: list[tuple[float, float, str]] = []
        for change in session.record.changes[name]:
            if isinstance(change.value, str) or change.at_ms > session.end_ms:
                continue
            if points and points[-1][1] == change.value:
                continue
            points.append(
                (
                    team_clock(session, max(change.at_ms, 0)) / 1000,
                    change.value,
                    format_quantity(round(change.value, 1 if change.value >= _WHOLE else 2), ""),
                )
            )
        lines.append(SettingLine(clean(settings[name].label), tuple(points)))
    label = _common([settings[name].label for name in names])
    return SettingPanel(clean(label), clean(settings[names[0]].unit or ""), tuple(lines))


def _common(labels: list[str]) -> str:
    """Return the words that all labels share (a name for a panel), else ``Settings``."""
    first = labels[0].split()
    shared = [
        word for word in first if all(word.lower() in label.lower().split() for label in labels[1:])
    ]
    words = " ".join(shared)
    return words[:1].upper() + words[1:] if words else say("common_settings")


# --- marks -------------------------------------------------------------------------------------


def _rows(session: Session, card: ScoreCard, signs: Mapping[Verdict, Sign]) -> tuple[Row, ...]:
    scenario = session.scenario
    vocabulary = scenario.vocabulary
    entries: dict[str, list[Entry]] = {phase: [] for phase in vocabulary.phases}
    items = {item.id: item for item in scenario.key}
    unsafe = {item.id for item in scenario.never}
    phases = {item.id: phase_of(item, scenario) for item in (*scenario.key, *scenario.never)}
    judged: set[str] = set()
    by_event = {performance.event_id: performance for performance in session.record.performances}
    for score in card.items:
        item = items[score.id]
        for occasion in score.occasions:
            mark = _occasion_mark(session, item, score, occasion, by_event, signs)
            if mark is not None:
                entry, event_id = mark
                if event_id is not None and event_id in judged and entry.sign == SIGNS["on time"]:
                    continue
                entries[phases[score.id]].append(entry)
                if event_id is not None:
                    judged.add(event_id)
    for deduction in card.deductions:
        phase = phases[deduction.id]
        key = "row_unsafe" if deduction.id in unsafe else "row_not_advised"
        for evidence in deduction.evidence:
            if evidence.at_ms is None:
                continue
            entries[phase].append(
                Entry(
                    team_clock(session, evidence.at_ms) / 1000,
                    None,
                    SIGNS["done in error"],
                    clean(say(key, title=deduction.title)),
                )
            )
            if evidence.event_id is not None:
                judged.add(evidence.event_id)
    for performance in session.record.performances:
        if performance.event_id in judged or performance.start_ms > session.end_ms:
            continue
        action = vocabulary.actions[performance.action]
        entries[action.phase].append(
            _entry(session, performance, UNASKED, _performed_words(session, performance))
        )
    rows = [
        Row(clean(label), tuple(_merged(sorted(entries[phase], key=lambda entry: entry.start))))
        for phase, label in vocabulary.phases.items()
        if entries[phase]
    ]
    if session.record.cues:
        cues = tuple(
            Entry(team_clock(session, cue.at_ms) / 1000, None, CUE, clean(f"“{cue.text}”"))
            for cue in session.record.cues
        )
        rows.insert(0, Row(say("rows_cues"), cues))
    return tuple(rows)


def _merged(entries: list[Entry]) -> list[Entry]:
    """Join marks under the same words: those of one moment, and what was done again and again."""
    out: dict[tuple[str, Sign], Entry] = {}
    for entry in entries:
        key = (entry.words, entry.sign)
        before = out.get(key)
        if before is None:
            out[key] = entry
        elif entry.bar or before.bar:
            out[(f"{entry.words} {entry.start}", entry.sign)] = entry
        elif entry.start - (before.again[-1] if before.again else before.start) >= 1.0:
            out[key] = replace(before, again=(*before.again, entry.start))
    return [
        replace(entry, words=say("row_again", words=entry.words, times=times(len(entry.again) + 1)))
        if entry.again
        else entry
        for entry in out.values()
    ]


def _occasion_mark(
    session: Session,
    item: Item,
    score: ItemScore,
    occasion: OccasionScore,
    by_event: Mapping[str, Performance],
    signs: Mapping[Verdict, Sign],
) -> tuple[Entry, str | None] | None:
    if occasion.verdict == "not reached" or not isinstance(item, Windowed):
        return None
    sign = signs[occasion.verdict]
    event_id = next((part.event_id for part in occasion.evidence if part.event_id), None)
    performance = by_event.get(event_id) if event_id is not None else None
    if occasion.done_ms is None and performance is None:
        due = min(occasion.opened_ms + item.ideal_ms, session.end_ms)
        words = f"{_shorter(session, item, score)}, {sign.word}"
        return Entry(team_clock(session, due) / 1000, None, sign, clean(words)), None
    words = _shorter(session, item, score)
    if occasion.verdict not in _GOOD:
        words += f", {sign.word}"
    if occasion.with_cue:
        words += say("occasion_mark_with_cue")
    if performance is None:
        begin = team_clock(session, occasion.done_ms or occasion.opened_ms) / 1000
        return Entry(begin, None, sign, clean(words)), event_id
    return _entry(session, performance, sign, words), event_id


def _shorter(session: Session, item: Windowed, score: ItemScore) -> str:
    """Return the item's title or what it asks for, whichever is shorter: room is scarce."""
    scenario = session.scenario
    short = asked_words(item.asked, scenario.vocabulary, dict(scenario.start.faults))
    if isinstance(item.asked, AskedSetting) and item.asked.to is not None:
        return score.title
    return min(score.title, short, key=len)


def _entry(session: Session, performance: Performance, sign: Sign, words: str) -> Entry:
    begin = team_clock(session, performance.start_ms) / 1000
    if performance.stop_ms is None:
        return Entry(begin, None, sign, clean(words))
    end = team_clock(session, min(performance.stop_ms, session.end_ms)) / 1000
    return Entry(begin, max(begin, end), sign, clean(words), bar=True)


def _performed_words(session: Session, performance: Performance) -> str:
    vocabulary = session.scenario.vocabulary
    action = vocabulary.actions[performance.action]
    words = action.label
    if action.reads and action.reads in performance.spoken:
        reading = performance.spoken[action.reads]
        known = vocabulary.observations[action.reads].label
        words = f"{known} {value_words(reading.value, reading.unit)}"
    if performance.way not in ("done", "simulated"):
        words += f", {performance.way}"
    return words
