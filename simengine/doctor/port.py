"""Whether the console can have its port."""

from __future__ import annotations

import errno
import socket

from simengine.doctor.finding import Finding

HOST = "127.0.0.1"


def of_port(port: int, *, console_runs: bool) -> Finding:
    """Try the port on this machine alone. ``console_runs``: a console has the store now."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind((HOST, port))
        except OSError as error:
            if error.errno == errno.EADDRINUSE and console_runs:
                return Finding("port", "good", f"{port} is taken, and a console is running")
            do = "stop that program, or give the console another: --port"
            words = f"{port} can't be had: {error.strerror}"
            return Finding("port", "wrong", words, do)
    return Finding("port", "good", f"{port} is free")
