"""A session's bundle: one zip that another copy of the program can open and verify.

Rules of this file:

- It holds the log, the scenario, its vocabulary with the equipment and the physiology that it
  names, the protocol and those that it extends, the score, the debrief, and a manifest with the
  SHA-256 of each. Nothing else may be in it.
- The same session gives the same bytes: files in a fixed order, with a fixed date, stored as they
  are, since what a compressor makes of them differs from one version to the next.
- People are codes in it, as in the log. No name goes out.
- It shows that nothing in it was changed or lost on the way. Who made it, it can't show: for that
  the last hash has to come by another way.
"""

from __future__ import annotations

import io
import json
import tempfile
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from simengine import __version__
from simengine.debrief import write_debrief
from simengine.exchange.placing import Placing
from simengine.scoring.as_json import card_as_json
from simengine.scoring.card import ScoreCard
from simengine.session.log_file import as_line
from simengine.session.record import Session
from simengine.store.scenario_files import Files

FORMAT = "simengine bundle 1"
SUFFIX = ".bundle.zip"
MANIFEST = "manifest.json"
LOG = "log.session.jsonl"
SCORE = "score.json"
CAUTION = (
    "For training only. It gives no advice for a real patient: "
    "local guidelines and licensed practice decide."
)

_DATE = (1980, 1, 1, 0, 0, 0)
_PLAIN_FILE = 0o100644 << 16
_UNIX = 3


@dataclass(frozen=True, slots=True)
class Bundle:
    """A bundle's name and bytes."""

    name: str
    content: bytes


def bundle_of(session: Session, run: Files, card: ScoreCard, *, unit: str | None = None) -> Bundle:
    """Return the bundle of a session. ``run``: the files that its scenario was read from.

    ``card``: its score under just that scenario and protocol. ``unit``: where it was held.
    """
    html, pdf = _debrief(session)
    files: dict[str, bytes] = {
        LOG: b"".join(as_line(event) for event in session.events),
        **run,
    }
    files[SCORE] = as_bytes(card_as_json(card))
    files["debrief.html"] = html
    files["debrief.pdf"] = pdf
    manifest = {
        "format": FORMAT,
        "caution": CAUTION,
        "program": __version__,
        "session": session.session_id,
        "unit": unit,
        "last_hash": session.last_hash,
        "scenario": {
            "id": session.scenario.id,
            "version": session.scenario.version,
            "digest": session.scenario.digest,
        },
        "protocol": {
            "id": session.scenario.protocol.id,
            "digest": session.scenario.protocol.digest,
        },
        "files": [
            {"name": name, "size": len(content), "sha256": sha256(content).hexdigest()}
            for name, content in files.items()
        ],
    }
    name = f"{session.scenario.id}-{session.session_id[:8]}{SUFFIX}"
    return Bundle(name, _zipped({MANIFEST: as_bytes(manifest), **files}))


def as_bytes(value: Any) -> bytes:
    """Return JSON as a file holds it."""
    text = json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False)
    return text.encode() + b"\n"


def write_bundle(bundle: Bundle, folder: Path) -> Path:
    """Write a bundle into ``folder`` and return its file."""
    with Placing(folder) as placing:
        placing.place(bundle.name).write_bytes(bundle.content)
    return placing.files[0]


def _debrief(session: Session) -> tuple[bytes, bytes]:
    with tempfile.TemporaryDirectory(prefix="simengine-") as folder:
        (files,) = write_debrief([session], folder)
        return files.html.read_bytes(), files.pdf.read_bytes()


def _zipped(files: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, _DATE)
            entry.create_system = _UNIX
            entry.external_attr = _PLAIN_FILE
            archive.writestr(entry, content)
    return out.getvalue()
