"""How many random examples and seeds a test takes: few, the usual number, or many.

Rules:
- A test states its usual number: `@examples(200)`, `range(seeds(50))`. Without either it is
  hypothesis' own 100.
- `--hypothesis-profile=few` takes a tenth of each and `many` twenty times as many; all others are
  the usual number. `make test-fast` takes few, `make test-long` many.
- In CI the same few or usual examples come every time. Many are random everywhere: they look for
  what the usual ones never meet.
"""

import os
from typing import Any

import hypothesis

USUAL = 100
FEW = 10
MANY = 2000


def register_profiles() -> None:
    """Make the three amounts known to hypothesis, and take the usual one."""
    same_every_time = os.environ.get("CI") == "true"
    for name, number in (("few", FEW), ("usual", USUAL), ("many", MANY)):
        hypothesis.settings.register_profile(
            name,
            max_examples=number,
            deadline=None,
            derandomize=same_every_time and name != "many",
            print_blob=True,
        )
    hypothesis.settings.load_profile("usual")


def examples(usual: int, **settings: Any) -> hypothesis.settings:
    """Settings for a test that usually takes `usual` random examples."""
    return hypothesis.settings(max_examples=seeds(usual), **settings)


def seeds(usual: int) -> int:
    """How many seeds a test takes now that usually takes `usual`."""
    default = hypothesis.settings.default
    assert default is not None
    return max(1, usual * default.max_examples // USUAL)
