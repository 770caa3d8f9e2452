"""From a session and its score card to the page: one pure function.

Rules of this file:

- A formative session, and a rehearsal, show findings and no outcome; the team's own account comes
  before any figure.
- The team's page names no person. A trainee's page names that trainee's code and nobody else's.
- Every text is put through ``clean`` last, so that both outputs can print it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from simengine.debrief import review, tables
from simengine.debrief.alternative import picture_alt, picture_sentences
from simengine.debrief.highlights import (
    key_times,
    share,
    summary_lines,
    went_well,
    work_on,
)
from simengine.debrief.marking import marking
from simengine.debrief.page import Account, DebriefPage, Outcome
from simengine.debrief.scene import Scene
from simengine.debrief.trend import held_on, trend
from simengine.debrief.words import protocol_lines
from simengine.quantities import format_duration
from simengine.quantities.wording import (
    count,
    gestation,
    listed,
    minute,
    percent,
    percent_span,
    weight,
)
from simengine.report.blocks import Fact, Listing, Picture, map_text
from simengine.report.printable import clean
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.scoring.people import everybody, roles_of, standing, without_names
from simengine.session.record import Session
from simengine.session.signatures import why_no_signature_counts

BANNER = "Simulation: training only"

_STANDING_MARKS = {
    "own": (),
    "unconfirmed": ("not yet yours: the record is not confirmed",),
    "shared": ("role shared or changed hands: counts for the team, not for one person",),
}


def debrief_page(
    session: Session,
    card: ScoreCard,
    scene: Scene,
    *,
    trainee: str | None = None,
    earlier: Sequence[tuple[Session, ScoreCard]] = (),
) -> DebriefPage:
    """Return the debrief of a session as a page.

    ``scene`` is what its picture shows. ``trainee``: the personal page of this person key, with
    a trend where there are ``earlier`` sessions (in order of time).
    """
    roles = roles_of(session, trainee) if trainee else tuple(session.scenario.roles)
    shown = _shown(session, card, trainee)
    own = [score for score, _ in shown]
    counted = (
        [score for score in own if standing(session, score, trainee) == "own"] if trainee else own
    )
    deductions = () if trainee else card.deductions
    page = DebriefPage(
        lang="en-GB",
        day=_day(session),
        banner=BANNER,
        title=f"{'Personal debrief' if trainee else 'Debrief'}: {session.scenario.title}",
        subtitle=f"{_purpose(session)} of {_when(session)}",
        facts=_facts(session, trainee, roles),
        caution=session.scenario.vocabulary.caution,
        protocol=protocol_lines(session.scenario.protocol),
        readers=_readers(trainee),
        notices=_notices(session, trainee, counted),
        account=_account(session, trainee),
        outcome=None if trainee else _outcome(session, card),
        summary=_summary(session, card, trainee, counted),
        well=went_well(session, counted),
        work_on=work_on(session, counted, deductions),
        slips=_slips(card),
        key_times=key_times(session, card.items),
        picture=Picture(
            picture="session",
            title="The session on one clock",
            sentences=(" ".join(picture_sentences(session, card, scene)),),
            alt=picture_alt(scene),
            note=f"Training only. {' '.join(protocol_lines(session.scenario.protocol)[::2])}",
        ),
        marking=marking(session, shown),
        scores=tables.scores(session, card, roles),
        equipment=tables.equipment(session),
        unseen=None if trainee else review.likely_unseen(session, card.items),
        findings=None if trainee else review.findings(session),
        trend=trend([*earlier, (session, card)], trainee) if trainee and earlier else None,
        versions=tables.versions(session),
        closing=_closing(trainee),
    )
    if trainee:
        others = [person for person in everybody(session) if person != trainee]
        for before, _ in earlier:
            others += [person for person in everybody(before) if person != trainee]
    else:
        others = list(everybody(session))
    return map_text(page, lambda text: clean(without_names(text, others)))


def _shown(
    session: Session, card: ScoreCard, trainee: str | None
) -> list[tuple[ItemScore, tuple[str, ...]]]:
    if trainee is None:
        return [(score, ()) for score in card.items]
    out = []
    for score in card.items:
        how = standing(session, score, trainee)
        if how != "other":
            out.append((score, _STANDING_MARKS[how]))
    return out


def _purpose(session: Session) -> str:
    return {
        "formative": "Session for learning (formative)",
        "summative": "Session for assessment (summative)",
        "rehearsal": "Rehearsal, never evidence",
    }[session.purpose]


def _when(session: Session) -> str:
    wall = session.events[0].wall if session.events else ""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        return held_on(session)
    return minute(moment)


def _day(session: Session) -> tuple[int, int, int]:
    wall = session.events[0].wall if session.events else ""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        return (1970, 1, 1)
    return (moment.year, moment.month, moment.day)


def _facts(session: Session, trainee: str | None, roles: Sequence[str]) -> tuple[Fact, ...]:
    scenario = session.scenario
    labels = {**scenario.vocabulary.roles, **scenario.roles}
    facts = []
    if trainee:
        held = listed([labels.get(role, role) for role in roles])
        facts.append(Fact("This page is for", f"{trainee} ({held})"))
    infant = scenario.infant
    facts += [
        Fact("Scenario", f"{scenario.title}, version {scenario.version}"),
        Fact("Baby", f"{gestation(infant.gestation_days)}, {weight(infant.weight_g)}"),
        Fact("Length", f"{format_duration(1000 * round(session.end_ms / 1000))}{_ending(session)}"),
        Fact(
            "Record",
            "confirmed by a person" if session.record.confirmed else "not confirmed yet",
        ),
    ]
    return tuple(facts)


def _ending(session: Session) -> str:
    return {
        "finished": ", finished",
        "stopped early": ", stopped early",
        "safety stop": ", stopped for safety",
        None: ", not closed in the record",
    }[session.closed]


def _readers(trainee: str | None) -> str:
    if trainee:
        return (
            f"Who can read this: whoever is given this file; it is not locked. It holds the "
            f"results of one person ({trainee}) by a random code, and nobody else's. Whoever holds "
            "the session's log can make it again."
        )
    return (
        "Who can read this: whoever is given this file; it is not locked. It names no person. "
        "Whoever holds the session's log can make it again, and a personal page for each code in "
        "the team."
    )


def _notices(
    session: Session, trainee: str | None, counted: Sequence[ItemScore]
) -> tuple[str, ...]:
    notices = []
    if not session.record.confirmed:
        notices.append(
            "The record has not been confirmed by a person yet: “missed” means only that there is "
            "no entry, and is provisional."
        )
        if trainee:
            notices.append("Until it is confirmed, nothing on this page counts as your own result.")
    elif trainee and not counted:
        notices.append("No confirmed item can be called your own alone in this session.")
    if session.closed == "stopped early":
        notices.append("The session was stopped early: what was not reached is not counted.")
    if session.closed == "safety stop":
        notices.append("The session was stopped for safety. There is nothing to assess in it.")
    if session.closed is None:
        notices.append("The record does not say that the session was closed.")
    if session.purpose == "rehearsal":
        notices.append("A rehearsal is practice alone and never becomes evidence.")
    return tuple(notices)


def _account(session: Session, trainee: str | None) -> Account | None:
    if session.purpose == "summative":
        return None
    whose = "Your" if trainee else "The team's"
    return Account(
        title=f"{whose} own account",
        lead="Before you read on: say, or write, what you remember. Your account comes first.",
        questions=("What happened?", "What went well?", "What was hard?"),
    )


def _outcome(session: Session, card: ScoreCard) -> Outcome | None:
    if session.purpose != "summative":
        return None
    standard = session.scenario.scoring.standard
    reasons = list(card.reasons)
    if card.outcome is not None:
        text = f"Proposed by the program: {card.outcome}. A person decides and signs."
    else:
        text = "No outcome is proposed."
        if session.closed != "finished":
            reasons.append("The session was not closed as finished.")
    if standard is not None and not standard.demonstration:
        text += (
            f" Pass mark {percent(session.scenario.scoring.pass_mark)}, set by {standard.method}; "
            f"panel: {standard.panel}; {standard.date}."
        )
    return Outcome(
        title="Proposed outcome",
        text=text,
        reasons=tuple(dict.fromkeys(reasons)),
        standing=_standing(session),
        signatures=()
        if card.outcome is None
        else (
            "Outcome decided:",
            "Assessor, credentials, date:",
            "Countersigned, credentials, date:",
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
                f"Signed: {data.get('outcome', '')}, by {data.get('name', '')} "
                f"({data.get('credentials', '')})."
            )
        elif event.kind == "appealed" and data.get("item"):
            item = str(data["item"])
            lines.append(f"Seen differently, {titles.get(item, item)}: {data.get('text', '')}")
        elif event.kind == "appealed" and not in_vain:
            lines.append(f"Appealed: {data.get('text', '')}")
        elif event.kind == "superseded":
            lines.append("A later record supersedes this one.")
    return tuple(lines)


def _summary(
    session: Session, card: ScoreCard, trainee: str | None, counted: Sequence[ItemScore]
) -> Listing:
    whole = f"The team met {percent(card.total)} of what the marking guide asked"
    if card.total is None:
        whole = "Nothing that the marking guide asks applied in this session"
    elif card.interval is not None:
        whole += f" (90 % interval for recording error: {percent_span(*card.interval)})"
    lines = [f"{whole}.", *summary_lines(session, card.items)]
    if trainee and counted:
        applied = sum(score.applied for score in counted)
        few = ", which is few" if applied < tables.FEW else ""
        lines.append(
            f"Your own items: {percent(share(counted))} met, over {count(applied, 'item')}{few}."
        )
    return Listing("In short", "", tuple(line for line in lines if line))


def _slips(card: ScoreCard) -> Listing | None:
    if not card.slips:
        return None
    return Listing(
        "Doses to check together",
        "Ten times too much or too little is the slip of the pen, or of the syringe, to look for.",
        tuple(slip.words for slip in card.slips),
    )


def _closing(trainee: str | None) -> tuple[str, ...]:
    lines = [
        "This page is about one simulated session, seen by people who had much to do at once. It "
        "says nothing about how anybody works with real patients.",
    ]
    if trainee:
        lines.append(
            "If you see an item differently, tell the facilitator: an entry can be corrected, and "
            "your view is kept beside it."
        )
    return tuple(lines)
