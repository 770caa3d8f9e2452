"""The shipped content, as the tests of this folder look at it."""

from simengine.scenario.model import Infant
from tests.shipped import protocol, scenario, vocabulary

__all__ = ["PROTOCOLS", "SCENARIOS", "baby", "protocol", "scenario", "vocabulary"]

SCENARIOS = (
    "chest-one-side",
    "cot-after-use",
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
    "aha-2025",
    "anzcor-2021",
    "common-practice",
    "erc-2025",
    "ercnls-2021",
    "example-local",
    "la-county-2024",
)


def baby(weeks: float, grams: float = 3000) -> Infant:
    return Infant(gestation_days=weeks * 7, weight_g=grams)
