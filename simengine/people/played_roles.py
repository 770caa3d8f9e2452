"""Which roles somebody plays for the team, so that nobody is assessed in them.

Rules of this file:

- Their names stand in ``played_roles.yaml``, not here.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def played_roles() -> frozenset[str]:
    """Return the names of the roles that are played."""
    import yaml

    text = Path(__file__).with_name("played_roles.yaml").read_text(encoding="utf-8")
    return frozenset(yaml.safe_load(text)["played"])
