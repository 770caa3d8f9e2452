"""From a session and its score card to the page: one pure function.

Rules of this file:

- A formative session, and a rehearsal, show findings and no outcome; the learners' own account
  comes first, and no percentage before something kind.
- Nothing that has no entry stands against a person. Days and times of day are local.
- The team's page names no person. A trainee's page names that trainee's code and nobody else's.
- Every text is put through ``clean`` last, so that both outputs can print it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from simengine.debrief import review, tables
from simengine.debrief.debrief_page import Account, DebriefPage, Difference, Outcome, Points
from simengine.debrief.debrief_sentences import say
from simengine.debrief.first_try import beside_first_try, notice, retry, since_then
from simengine.debrief.highlights import (
    key_times,
    share,
    summary_lines,
    went_well,
    work_on,
)
from simengine.debrief.marking import marking
from simengine.debrief.picture_in_words import picture_alt, picture_note, picture_sentences
from simengine.debrief.scene import Scene
from simengine.debrief.scores_told import scores_told
from simengine.debrief.shown import counting, shown, unsafe
from simengine.debrief.story import story
from simengine.debrief.trend import held_on, trend
from simengine.debrief.what_if import WhatIf, asks_of, one_person_asks
from simengine.debrief.words import protocol_lines, signs_of
from simengine.debrief.wrote import Wrote, goal_of, views_of
from simengine.quantities import format_duration
from simengine.quantities.formatting import (
    capitalised,
    count,
    gestation,
    listed,
    minute,
    percent,
    percent_span,
    weight,
)
from simengine.report.blocks import Fact, Link, Listing, Picture, Table, map_text
from simengine.report.printable import clean
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.kinds import item_asked
from simengine.scoring.people import everybody, roles_of, without_names
from simengine.session.record import Session
from simengine.session.signatures import why_no_signature_counts

BANNER = say("banner")


def debrief_page(
    session: Session,
    card: ScoreCard,
    scene: Scene,
    *,
    trainee: str | None = None,
    earlier: Sequence[tuple[Session, ScoreCard]] = (),
    what_if: Sequence[WhatIf] = (),
    first_try: tuple[Session, ScoreCard] | None = None,
    wrote: Wrote | None = None,
    ask_at: str = "",
) -> DebriefPage:
    """Return the debrief of a session as a page.

    ``scene`` is what its picture shows. ``trainee``: the personal page of this person key, with
    a trend where there are ``earlier`` sessions (in order of time). ``what_if``: what would
    have come of some items in time; the picture shows the first. ``first_try``: the session that
    this one is a retry of, where it is one and the other is at hand. ``wrote``: what the trainee
    wrote of the session. ``ask_at``: where a server answers "what if?" of any other item about time
    or a setting; empty where none does.
    """
    again = retry(session)
    roles = roles_of(session, trainee) if trainee else tuple(session.scenario.roles)
    items = shown(session, card, trainee)
    own = [score for score, _ in items]
    counted = counting(session, own, trainee)
    personal = one_person_asks(session, trainee)
    askable = (*unsafe(session, card, trainee), *counted)
    asks = asks_of(session, askable, ask_at, personal=personal) if ask_at else {}
    deductions = () if trainee or again is not None else card.deductions
    title = say("title_personal" if trainee else "title_team", scenario=session.scenario.title)
    to_work_on = _with_what_if(
        work_on(
            session,
            counted,
            deductions,
            {score.id: score.sentence for score in (*card.items, *card.unsafe)},
        ),
        what_if,
        asks,
    )
    if asks:
        to_work_on = replace(to_work_on, ask=Link(say("ask_any"), ask_at))
    note = picture_note(session, scene)
    if what_if:
        note = f"{_thin_line(to_work_on, what_if[0])} {note}"
    sentences, alt = (" ".join(picture_sentences(session, scene)),), picture_alt(scene)
    page = DebriefPage(
        lang="en-GB",
        day=day_of(session),
        banner=BANNER,
        title=title,
        subtitle=subtitle(session, trainee),
        facts=_facts(session, trainee, roles),
        caution=session.scenario.vocabulary.caution,
        protocol=protocol_lines(session.scenario.protocol),
        readers=_readers(trainee),
        notices=_notices(session, trainee, counted),
        account=_account(trainee),
        story=Listing(
            say("story_heading"), "", story(session, card, "the team" if trainee else "you")
        ),
        first_try=beside_first_try(first_try, (session, card)) if first_try is not None else None,
        goal=goal_of(wrote),
        views=views_of(wrote, session.scenario),
        difference=_difference(trainee, wrote),
        outcome=None if trainee else _outcome(session, card),
        summary=_summary(card, trainee, own, counted) if again is None else None,
        well=went_well(session, counted),
        work_on=to_work_on,
        slips=_slips(card),
        key_times=key_times(
            session,
            card.items if again is None else since_then(card.items, again),
            signs_of(trainee),
        ),
        brief=Picture("brief", say("picture_title"), (), alt, note, fills=True),
        picture=Picture("session", say("picture_title"), sentences, alt, note),
        own=_own(session, items, roles) if trainee else None,
        marking=marking(session, items, trainee, asks),
        scores=tables.scores(session, card, roles, personal=bool(trainee))
        if again is None
        else None,
        told=scores_told(session),
        equipment=tables.equipment(session),
        unseen=None if trainee else review.likely_unseen(session, card.items),
        findings=None if trainee else review.findings(session),
        trend=trend([*earlier, (session, card)], trainee) if trainee and earlier else None,
        versions=tables.versions(session),
        closing=_closing(trainee),
        whole_title=say("title_whole", title=title),
        whole_where=say("whole_where"),
    )
    if trainee:
        others = [person for person in everybody(session) if person != trainee]
        for before, _ in earlier:
            others += [person for person in everybody(before) if person != trainee]
    else:
        others = list(everybody(session))
    return map_text(page, lambda text: clean(without_names(text, others)))


def subtitle(session: Session, trainee: str | None) -> str:
    """Tell what a session was for and when it was held, and for whom a personal page is."""
    return say(
        "subtitle_personal" if trainee else "subtitle",
        purpose=say("purpose_retry") if retry(session) is not None else _purpose(session),
        when=_when(session),
        trainee=trainee or "",
    )


def _purpose(session: Session) -> str:
    return {
        "formative": say("purpose_formative"),
        "summative": say("purpose_summative"),
        "rehearsal": say("purpose_rehearsal"),
    }[session.purpose]


def _when(session: Session) -> str:
    wall = session.events[0].wall if session.events else ""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        return held_on(session)
    return minute(moment)


def day_of(session: Session) -> tuple[int, int, int]:
    """Return the local day on which a session was held: year, month and day."""
    wall = session.events[0].wall if session.events else ""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        return (1970, 1, 1)
    moment = moment.astimezone()
    return (moment.year, moment.month, moment.day)


def _facts(session: Session, trainee: str | None, roles: Sequence[str]) -> tuple[Fact, ...]:
    scenario = session.scenario
    labels = {**scenario.vocabulary.roles, **scenario.roles}
    facts = []
    if trainee:
        held = listed([labels.get(role, role) for role in roles])
        facts.append(Fact(say("fact_trainee"), f"{trainee} ({held})"))
    infant = scenario.infant
    facts += [
        Fact(
            say("fact_scenario"),
            say("fact_scenario_version", title=scenario.title, version=scenario.version),
        ),
        Fact(say("fact_baby"), f"{gestation(infant.gestation_days)}, {weight(infant.weight_g)}"),
        Fact(
            say("fact_length"),
            f"{format_duration(1000 * round(session.end_ms / 1000))}{_ending(session)}",
        ),
        Fact(
            say("fact_record"),
            say("record_confirmed") if session.record.confirmed else say("record_unconfirmed"),
        ),
    ]
    return tuple(facts)


def _ending(session: Session) -> str:
    return {
        "finished": say("ending_finished"),
        "stopped early": say("ending_stopped_early"),
        "safety stop": say("ending_safety_stop"),
        None: say("ending_unknown"),
    }[session.closed]


def _readers(trainee: str | None) -> str:
    if trainee:
        return say("readers_personal", trainee=trainee)
    return say("readers_team")


def _notices(
    session: Session, trainee: str | None, counted: Sequence[ItemScore]
) -> tuple[str, ...]:
    notices = []
    if not session.record.confirmed:
        notices.append(say("notice_nothing_own_yet" if trainee else "notice_unconfirmed"))
    elif trainee and not counted:
        notices.append(say("notice_nothing_own"))
    if session.closed == "stopped early":
        notices.append(say("notice_stopped_early"))
    if session.closed == "safety stop":
        notices.append(say("notice_safety_stop"))
    if session.closed is None:
        notices.append(say("notice_not_closed"))
    if session.purpose == "rehearsal":
        notices.append(say("notice_rehearsal"))
    again = retry(session)
    if again is not None:
        notices.append(notice(session, again))
    return tuple(notices)


def _difference(trainee: str | None, wrote: Wrote | None) -> Difference:
    return Difference(
        title=say("difference_title"),
        lead=say("difference_lead"),
        question=say("difference_question_personal" if trainee else "difference_question"),
        written=f"“{wrote.along}”" if wrote is not None and wrote.along else "",
    )


def _with_what_if(points: Points, what_if: Sequence[WhatIf], asks: Mapping[str, Link]) -> Points:
    words = {answer.item: answer.words for answer in what_if}
    worded = tuple(
        replace(point, what_if=words[point.item])
        if point.item in words
        else replace(point, ask=asks.get(point.item))
        for point in points.points
    )
    limits = say("what_if_limits") if any(point.what_if for point in worded) else ""
    return replace(points, points=worded, note=limits)


def _thin_line(points: Points, drawn: WhatIf) -> str:
    """Return what the thin line of the picture is, and what came of it unless a point tells it."""
    line = f"{capitalised(say('what_if_line', what=drawn.what))}."
    if any(point.item == drawn.item for point in points.points):
        return line
    return f"{line} {drawn.words} {say('what_if_limits')}"


def _own(
    session: Session, shown: Sequence[tuple[ItemScore, tuple[str, ...]]], roles: Sequence[str]
) -> Table | None:
    """Lay what a person's roles were asked beside what is written down of it."""
    labels = {**session.scenario.vocabulary.roles, **session.scenario.roles}
    items = {item.id: item for item in session.scenario.key}
    rows = []
    for score, _ in shown:
        if not score.applied:
            continue
        rows.append((score.title, item_asked(session.scenario, items[score.id]), _done(score)))
    if not rows:
        return None
    return Table(
        title=say("own_title"),
        columns=(say("own_step"), say("own_asked"), say("own_done")),
        rows=tuple(rows),
        lead=say("own_lead", roles=listed([labels.get(role, role) for role in roles])),
    )


def _done(score: ItemScore) -> str:
    """Tell what was done of an item, and nothing of what has no entry."""
    if score.verdict != "missed":
        return score.sentence
    done = [part.sentence for part in score.occasions if part.done_ms is not None]
    return " ".join(done) or say("not_recorded")


def _account(trainee: str | None) -> Account:
    whose = say("account_whose_personal") if trainee else say("account_whose_team")
    return Account(
        title=say("account_title", whose=whose),
        lead=say("account_lead"),
        questions=(say("account_happened"), say("account_well"), say("account_hard")),
    )


def _outcome(session: Session, card: ScoreCard) -> Outcome | None:
    if session.purpose != "summative":
        return None
    standard = session.scenario.scoring.standard
    reasons = list(card.reasons)
    if card.outcome is not None:
        text = say("outcome_proposed", outcome=card.outcome)
    else:
        text = say("outcome_none")
        if session.closed != "finished":
            reasons.append(say("outcome_not_finished"))
    if standard is not None and not standard.demonstration:
        text += say(
            "outcome_pass_mark",
            pass_mark=percent(session.scenario.scoring.pass_mark),
            method=standard.method,
            panel=standard.panel,
            date=standard.date,
        )
    return Outcome(
        title=say("outcome_title"),
        text=text,
        reasons=tuple(dict.fromkeys(reasons)),
        standing=_standing(session),
        signatures=()
        if card.outcome is None
        else (
            say("outcome_decided"),
            say("outcome_assessor"),
            say("outcome_countersigned"),
        ),
    )


def _standing(session: Session) -> tuple[str, ...]:
    """Tell what was said of the team's outcome; one person's own is no business of the team."""
    titles = {item.id: item.title for item in session.scenario.key}
    lines = []
    in_vain = why_no_signature_counts(session)
    for event in session.effective:
        data = event.data
        if data.get("person") or (in_vain and event.kind in ("signed", "superseded")):
            continue
        if event.kind == "signed":
            lines.append(
                say(
                    "standing_signed",
                    outcome=data.get("outcome", ""),
                    name=data.get("name", ""),
                    credentials=data.get("credentials", ""),
                )
            )
        elif event.kind == "appealed" and data.get("item"):
            item = str(data["item"])
            lines.append(
                say(
                    "standing_item_appealed", item=titles.get(item, item), text=data.get("text", "")
                )
            )
        elif event.kind == "appealed" and not in_vain:
            lines.append(say("standing_appealed", text=data.get("text", "")))
        elif event.kind == "superseded":
            lines.append(say("standing_superseded"))
    return tuple(lines)


def _summary(
    card: ScoreCard, trainee: str | None, own: Sequence[ItemScore], counted: Sequence[ItemScore]
) -> Listing:
    key = "summary_total_personal" if trainee else "summary_total"
    whole = say(key, total=percent(card.total))
    if card.total is None:
        whole = say("summary_no_total")
    elif card.interval is not None:
        whole += say("summary_interval", interval=percent_span(*card.interval))
    lines = [f"{whole}.", *summary_lines(own, signs_of(trainee), personal=bool(trainee))]
    if trainee and counted:
        applied = sum(score.applied for score in counted)
        few = say("summary_few") if applied < tables.FEW else ""
        lines.append(
            say("summary_own", share=percent(share(counted)), items=count(applied, "item"), few=few)
        )
    return Listing(say("summary_title"), "", tuple(line for line in lines if line))


def _slips(card: ScoreCard) -> Listing | None:
    if not card.slips:
        return None
    return Listing(
        say("slips_title"),
        say("slips_lead"),
        tuple(slip.words for slip in card.slips),
    )


def _closing(trainee: str | None) -> tuple[str, ...]:
    lines = [
        say("closing"),
    ]
    if trainee:
        lines.append(say("closing_personal"))
    return tuple(lines)
