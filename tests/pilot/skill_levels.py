"""The shipped scenarios and skill levels, loaded once for all tests of a pilot."""

from functools import cache

from simengine.pilot.skills import Skills, load_skills
from tests.shipped import SCENARIOS as NAMES
from tests.shipped import scenario as shipped

__all__ = ["NAMES", "shipped", "skills"]


@cache
def skills() -> Skills:
    return load_skills()
