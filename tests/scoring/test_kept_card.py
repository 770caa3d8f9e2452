"""A card that is kept is read back the same, to the last digit."""

from __future__ import annotations

import orjson
import pytest

from simengine.scoring.kept_card import card_bytes, card_from
from tests import shipped


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_a_kept_card_is_the_same_card(name: str) -> None:
    card = shipped.card(name, 50)
    assert card_from(card_bytes(card)) == card


def test_a_card_of_another_edition_is_not_read() -> None:
    kept = orjson.loads(card_bytes(shipped.card(shipped.SESSIONS[0], 50)))
    assert card_from(orjson.dumps({**kept, "by": "another"})) is None
