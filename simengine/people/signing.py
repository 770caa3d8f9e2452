"""May this be signed, appealed or superseded? The event's data, or a refusal in words.

Rules of this file:

- An outcome is signed for a summative session that was finished and whose record is confirmed, and
  only where the program proposes one: without a recorded standard there is none. The person who
  signs decides, and may decide otherwise than proposed; both are kept.
- Nobody signs twice, and nobody signs what is their own.
- Whoever disagrees with an outcome that stands supersedes it or has it appealed first.
- With a signature goes what the program had worked out, so that a later score stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from simengine.people.decisions import OUTCOMES, Outcomes, SignedScore, same_person
from simengine.session.live import RefusedError
from simengine.session.signatures import why_not_signed


def signing(
    outcomes: Outcomes,
    *,
    name: str,
    credentials: str,
    outcome: str,
    score: SignedScore | None,
    person: str | None = None,
    learners: Iterable[str] = (),
) -> dict[str, Any]:
    """Return the data of a ``signed`` event.

    ``score``: what the program worked out, ``None`` where it proposes no outcome. ``person``: the
    code of whose outcome alone it is. ``learners``: the names of who took part, as far as the
    roster has them. Raises ``RefusedError``.
    """
    name, credentials = " ".join(name.split()), " ".join(credentials.split())
    if not name or not credentials:
        raise RefusedError("no-name", "Whoever signs gives a name and credentials.")
    if outcome not in OUTCOMES:
        raise RefusedError("unknown-outcome", f"An outcome is one of: {', '.join(OUTCOMES)}.")
    no_outcome = why_not_signed(outcomes.purpose, outcomes.closed, standard=None)
    if no_outcome:
        raise RefusedError("no-outcome", no_outcome)
    if not outcomes.confirmed:
        words = "Confirm the record first: till then what looks missed may only not have been seen."
        raise RefusedError("not-confirmed", words)
    if score is None:
        words = (
            "No outcome is proposed: the scenario needs a pass mark with a recorded standard "
            "(method, panel, date), and an essential item that applied."
        )
        raise RefusedError("no-standard", words)
    _is_in_team(outcomes, person)
    if any(same_person(name, learner) for learner in learners):
        words = f"{name} took part in this session, and nobody signs their own outcome."
        raise RefusedError("own-outcome", words)
    before = outcomes.of(person)
    if before is not None and before.standing(person) != "superseded":
        if any(same_person(name, signer.name) for signer in before.signers) and (
            before.person == person or before.open_appeals(person)
        ):
            words = f"{name} has signed this outcome already. Somebody else countersigns."
            raise RefusedError("signed-already", words)
        stands = before.person == person and before.standing(person) == "stands"
        if stands and not same_person(before.outcome, outcome):
            words = (
                f"{before.signature.name} signed “{before.outcome}”, which stands. Supersede that "
                "outcome first, or have it appealed."
            )
            raise RefusedError("signed-otherwise", words)
    data: dict[str, Any] = {"name": name, "credentials": credentials, "outcome": outcome}
    return {**data, **_of(person), "score": asdict(score)}


def appealing(outcomes: Outcomes, *, text: str, person: str | None = None) -> dict[str, Any]:
    """Return the data of an ``appealed`` event against an outcome. Raises ``RefusedError``."""
    if not text.strip():
        raise RefusedError("no-words", "Say in a few words what should be looked at again.")
    _is_in_team(outcomes, person)
    decision = outcomes.of(person)
    if decision is None or decision.standing(person) == "superseded":
        raise RefusedError("nothing-signed", "There is no outcome to appeal against.")
    return {"text": text.strip(), **_of(person)}


def remarking(*, item: str, text: str, person: str | None = None) -> dict[str, Any]:
    """Return the data of an ``appealed`` event that is a remark at an item; nothing else changes.

    Raises ``RefusedError``.
    """
    if not text.strip():
        raise RefusedError("no-words", "Say in a few words how you see it.")
    return {"item": item, "text": text.strip(), **_of(person)}


def superseding(outcomes: Outcomes, *, by: str, person: str | None = None) -> dict[str, Any]:
    """Return the data of a ``superseded`` event.

    ``by``: the id of the session that takes its place, or words where nothing does. Raises
    ``RefusedError``.
    """
    if not by.strip():
        raise RefusedError("no-words", "Say what takes its place, or why nothing does.")
    _is_in_team(outcomes, person)
    decision = outcomes.of(person)
    if decision is None or decision.standing(person) == "superseded":
        raise RefusedError("nothing-signed", "There is no outcome to supersede.")
    return {"by": by.strip(), **_of(person)}


def _is_in_team(outcomes: Outcomes, person: str | None) -> None:
    if person is not None and person not in outcomes.roles:
        raise RefusedError("not-in-team", f"{person} held no role in this session.")


def _of(person: str | None) -> dict[str, str]:
    return {} if person is None else {"person": person}
