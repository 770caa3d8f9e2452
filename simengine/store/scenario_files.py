"""The files that sessions ran: scenario, vocabulary, protocols, kept once for all sessions of them.

Rules of this file:

- They are known by the digests that are in each log, and never changed once they are kept.
- A name is one inside a scenario's folder (``scenario.yaml``, ``protocols/x.yaml``).
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping

import orjson
from sqlalchemy import Connection, insert, select

from simengine.store.tables import scenario_files

Files = Mapping[str, bytes]


def keep_files(
    connection: Connection, scenario_digest: str, protocol_digest: str, files: Files
) -> None:
    """Keep the files of a scenario and protocol, unless they are kept already."""
    if kept_files(connection, scenario_digest, protocol_digest) is not None:
        return
    as_json = orjson.dumps({name: content.decode() for name, content in files.items()})
    connection.execute(
        insert(scenario_files).values(
            scenario_digest=scenario_digest,
            protocol_digest=protocol_digest,
            files=zlib.compress(as_json),
        )
    )


def kept_files(
    connection: Connection, scenario_digest: str, protocol_digest: str
) -> dict[str, bytes] | None:
    """Return the files with these digests, ``None`` if they are not kept."""
    c = scenario_files.c
    packed = connection.execute(
        select(c.files).where(
            c.scenario_digest == scenario_digest, c.protocol_digest == protocol_digest
        )
    ).scalar()
    if packed is None:
        return None
    return {name: text.encode() for name, text in orjson.loads(zlib.decompress(packed)).items()}
