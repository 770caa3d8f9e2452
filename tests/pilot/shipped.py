"""The shipped scenarios and skill levels, loaded once for all tests of a pilot."""

from functools import cache

from simengine.pilot.skills import Skills, load_skills
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.model import Scenario

NAMES = sorted(path.stem for path in scenarios_dir().glob("*.yaml"))


@cache
def shipped(name: str) -> Scenario:
    return load_scenario(scenarios_dir() / f"{name}.yaml")


@cache
def skills() -> Skills:
    return load_skills()
