"""What a person agrees to: they give it, narrow it and take it back themselves, and see when.

Rules of this file:

- Only the person says it, on their own pages. What it means and what it doesn't stands beside each
  question, and so does what holds while nothing was said.
- The coordinator reads what was said on the person's page.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.record_contexts import ConsentPage, SaidRow, UseLine
from simengine.coordinator.who_may_read import OWN_PAGES, person_address, the_trainee
from simengine.people.consent import USES, Said, Use, last_said
from simengine.store import consents
from simengine.web.app_state import state_of
from simengine.web.clock import wall
from simengine.web.forms import form_of
from simengine.web.local_time import local, local_day
from simengine.web.note_read import note_read
from simengine.web.pages import page, see

_FIELDS: dict[Use, str] = {use: use.replace(" ", "_") for use in USES}
_TITLES: dict[Use, str] = {
    "taking part": say("use_taking_part"),
    "figures": say("use_figures"),
    "research": say("use_research"),
}
_MEANS: dict[Use, str] = {
    "taking part": say("consent_means_taking_part"),
    "figures": say("consent_means_figures"),
    "research": say("consent_means_research"),
}
_SILENCE: dict[Use, str] = {
    "taking part": say("consent_silence_taking_part"),
    "figures": say("consent_silence_figures"),
    "research": say("consent_silence_research"),
}


async def ask(request: Request) -> Response:
    """``GET /cohort/people/CODE/consent``."""
    code = request.path_params["code"]
    note_read(request, the_trainee(request, code), "what the person agrees to", [code])
    history = consents.of_person(state_of(request).store, code)
    address = person_address(code)
    data = ConsentPage(
        here=f"{address}/consent",
        readers=OWN_PAGES,
        back=address,
        uses=use_lines(history),
        said=tuple(
            SaidRow(local(consent.wall), title_of(consent.use), answer_of(consent))
            for consent in reversed(history)
        ),
    )
    return page(request, "cohort/consent.html.j2", data)


async def change(request: Request) -> Response:
    """``POST /cohort/people/CODE/consent``: for each use ``yes`` or ``no``."""
    code = request.path_params["code"]
    visitor = the_trainee(request, code)
    form = await form_of(request, visitor)
    state = state_of(request)
    now = wall(state.clock.wall_ms())
    for use, name in _FIELDS.items():
        if form.get(name) in ("yes", "no"):
            consents.say(state.store, Said(code, use, form[name] == "yes", now))
    return see(f"{person_address(code)}/consent")


def use_lines(said: Iterable[Said]) -> tuple[UseLine, ...]:
    """Return each use with what one person said of it last; ``said`` in the order of saying."""
    last = last_said(said)
    return tuple(_line(use, last.get(use)) for use in USES)


def _line(use: Use, last: Said | None) -> UseLine:
    stands = (
        _SILENCE[use]
        if last is None
        else say("consent_stands", answer=answer_of(last), day=local_day(last.wall))
    )
    return UseLine(
        name=_FIELDS[use],
        title=title_of(use),
        means=_MEANS[use],
        answer="" if last is None else answer_of(last),
        stands=stands,
    )


def title_of(use: Use) -> str:
    """Name a use, as the page asks about it."""
    return _TITLES[use]


def answer_of(said: Said) -> str:
    """Return ``yes`` or ``no``."""
    return "yes" if said.given else "no"
