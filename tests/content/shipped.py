"""The shipped content, as the tests of this folder look at it."""

from __future__ import annotations

from functools import cache

from simengine.resources import scenarios_dir
from simengine.scenario import load_protocol, load_scenario, load_vocabulary
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.protocol import Protocol
from simengine.scenario.vocabulary import Vocabulary

SCENARIOS = (
    "chest-one-side",
    "cot-preterm",
    "cot-term",
    "meconium-limp",
    "preterm-25-weeks",
    "preterm-30-weeks",
    "preterm-oxygen-fails",
    "suction-left-on",
    "term-blood-loss",
    "term-corrective-steps",
    "term-not-breathing",
    "term-responds",
    "term-vigorous",
    "ward-collapse",
)
PROTOCOLS = (
    "aha-2020",
    "anzcor-2021",
    "common-practice",
    "ercnls-2021",
    "example-local",
    "la-county-2024",
)


@cache
def vocabulary() -> Vocabulary:
    return load_vocabulary(scenarios_dir() / "vocabulary" / "newborn.yaml")


@cache
def protocol(name: str) -> Protocol:
    return load_protocol(scenarios_dir() / "protocols" / f"{name}.yaml")


@cache
def scenario(name: str, under: str | None = None) -> Scenario:
    return load_scenario(scenarios_dir() / f"{name}.yaml", protocol=under)


def baby(weeks: float, grams: float = 3000) -> Infant:
    return Infant(gestation_days=weeks * 7, weight_g=grams)
