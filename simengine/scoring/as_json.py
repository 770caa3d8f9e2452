"""A score card as JSON for programs: fractions of 1, unrounded, and times in ms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from simengine.scoring.card import (
    Deduction,
    Evidence,
    ItemScore,
    OccasionScore,
    Part,
    ScoreCard,
)
from simengine.scoring.edition import EDITION


def card_as_json(card: ScoreCard) -> dict[str, Any]:
    """Return the card as JSON values.

    ``total`` and a ``credit`` are ``None`` where nothing applied or was reached, ``outcome`` where
    none is proposed, ``interval`` where the times were not redrawn. ``phases``, ``objectives`` and
    ``roles`` map a name to its total.
    """
    return {
        "total": card.total,
        "outcome": card.outcome,
        "reasons": list(card.reasons),
        "interval": None if card.interval is None else list(card.interval),
        "confirmed": card.confirmed,
        "items": [_item(item) for item in card.items],
        "deductions": [_deduction(deduction) for deduction in card.deductions],
        "phases": _totals(card.phases),
        "objectives": _totals(card.objectives),
        "roles": _totals(card.roles),
        "unsafe": [_item(item) for item in card.unsafe],
        "slips": _evidence(card.slips),
        "found": [
            {"code": finding.code, **_evidence((finding.evidence,))[0]} for finding in card.found
        ],
        "unrecorded": card.unrecorded,
        "edition": EDITION,
    }


def _item(item: ItemScore) -> dict[str, Any]:
    return {
        "id": item.id,
        "kind": item.kind,
        "title": item.title,
        "importance": item.importance,
        "weight": item.weight,
        "applied": item.applied,
        "credit": item.credit,
        "verdict": item.verdict,
        "with_cue": item.with_cue,
        "role": item.role,
        "objective": item.objective,
        "phase": item.phase or None,
        "occasions": [_occasion(occasion) for occasion in item.occasions],
        "part_ms": item.part_ms,
        "whole_ms": item.whole_ms,
        "flip": item.flip,
        "too_close": item.too_close,
        "unrecorded": item.unrecorded,
        "sentence": item.sentence,
        "evidence": _evidence(item.evidence),
    }


def _occasion(occasion: OccasionScore) -> dict[str, Any]:
    return {
        "opened_ms": occasion.opened_ms,
        "done_ms": occasion.done_ms,
        "delay_ms": occasion.delay_ms,
        "time_credit": occasion.time_credit,
        "settings_credit": occasion.settings_credit,
        "credit": occasion.credit,
        "verdict": occasion.verdict,
        "role": occasion.role,
        "settings": [
            {
                "name": setting.name,
                "read": setting.read if setting.recorded else None,
                "asked": setting.asked,
                "credit": setting.credit,
            }
            for setting in occasion.settings
        ],
        "evidence": _evidence(occasion.evidence),
    }


def _deduction(deduction: Deduction) -> dict[str, Any]:
    return {
        "id": deduction.id,
        "title": deduction.title,
        "occurrences": deduction.occurrences,
        "amount": deduction.amount,
        "stops_pass": deduction.stops_pass,
        "evidence": _evidence(deduction.evidence),
    }


def _evidence(evidence: Sequence[Evidence]) -> list[dict[str, Any]]:
    return [
        {"event": proof.event_id, "at_ms": proof.at_ms, "words": proof.words} for proof in evidence
    ]


def _totals(parts: Mapping[str, Part]) -> dict[str, float | None]:
    return {name: part.total for name, part in parts.items()}
