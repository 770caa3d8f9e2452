"""Python in a process of its own, beside the server: what is large ends with it."""

from __future__ import annotations

import asyncio
import sys

import anyio

PYTHON = sys.executable
"""What runs it."""


class EndedBadlyError(Exception):
    """The process ended with an error; the words are what it wrote to standard error."""


async def ran(program: str, *arguments: str, told: bytes = b"") -> bytes:
    """Run a program on ``told`` and return its output; it ends with whoever waits for it.

    Raises ``EndedBadlyError``.
    """
    process = await asyncio.create_subprocess_exec(
        PYTHON,
        "-c",
        program,
        *arguments,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        out, words = await process.communicate(told)
    except asyncio.CancelledError:
        process.kill()
        # Whoever is called away by a scope of anyio's, as by a server's, is so again and again.
        with anyio.CancelScope(shield=True):
            await process.communicate()  # not its end alone: its pipes are closed too
        raise
    if process.returncode != 0:
        raise EndedBadlyError(words.decode("utf-8", "replace"))
    return out
