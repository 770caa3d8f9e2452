"""Limits of connections and streams, with small figures and a clock that is set."""

from __future__ import annotations

import asyncio
import socket
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import uvicorn
from starlette.types import Message, Receive, Scope, Send

from simengine.console.connections import Connection
from simengine.desk.event_stream import LONGEST_MS, RENEW_MS, EventStream
from simengine.desk.screens import Screen
from simengine.desk.stream_limits import StreamLimits

IN_TIME_S = 20.0
ASK = b"GET / HTTP/1.1\r\nhost: x\r\nconnection: keep-alive\r\n\r\n"


class Few(Connection):
    """Three may wait."""

    most_waiting = 3


class Hurried(Connection):
    """A request is whole within an instant."""

    whole_within_s = 0.05


async def _answer(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "http":
        while (await receive()).get("more_body"):
            pass
        headers = [(b"content-length", b"2")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": b"ok"})


@contextmanager
def served(http: type[Connection]) -> Iterator[tuple[str, int]]:
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(_answer, http=http, log_config=None, lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield listening.getsockname()[:2]
    finally:
        server.should_exit = True
        thread.join(IN_TIME_S)
        listening.close()


def is_answered(one: socket.socket) -> bool:
    """Whether a whole answer comes, which is waited for."""
    answer = b""
    while not answer.endswith(b"ok"):
        part = one.recv(500)
        if not part:
            return False
        answer += part
    return True


def has_ended(one: socket.socket) -> bool:
    """Whether the other side lets go of a connection, which is waited for."""
    try:
        return one.recv(100) == b""
    except ConnectionResetError:
        return True


def test_past_the_limit_the_connection_that_waited_longest_gives_way() -> None:
    with served(Few) as address:
        idle = []
        for _ in range(3):
            idle.append(socket.create_connection(address, IN_TIME_S))
            idle[-1].sendall(ASK)
            assert is_answered(idle[-1])  # and waits from now on
        newest = socket.create_connection(address, IN_TIME_S)
        newest.sendall(ASK)
        assert is_answered(newest)
        assert has_ended(idle[0])
        idle[1].sendall(ASK)
        assert is_answered(idle[1])
        for connection in (*idle, newest):
            connection.close()


def test_a_request_that_does_not_come_whole_is_given_up() -> None:
    with served(Hurried) as address:
        for part in (b"", ASK[:10], b"POST / HTTP/1.1\r\nhost: x\r\ncontent-length: 9\r\n\r\nabc"):
            connection = socket.create_connection(address, IN_TIME_S)
            connection.sendall(part)
            assert has_ended(connection)
            connection.close()


def test_a_client_has_so_many_streams_and_its_oldest_gives_way() -> None:
    limits = StreamLimits(most_of_one=2, most_in_all=10)
    mine, other = [Screen("bedside") for _ in range(3)], Screen("bedside")
    limits.admit(other, "b")
    for screen in mine:
        limits.admit(screen, "a")
    assert [screen.closed for screen in (*mine, other)] == [True, False, False, False]


def test_displays_give_way_before_who_records_and_who_has_most_before_others() -> None:
    limits = StreamLimits(most_of_one=5, most_in_all=4)
    facilitator, lone = Screen("console"), Screen("bedside")
    limits.admit(facilitator, "facilitator")
    limits.admit(lone, "lone")
    many = [Screen("bedside") for _ in range(6)]
    for screen in many:
        limits.admit(screen, "many")
    assert not facilitator.closed
    assert not lone.closed
    assert sum(screen.closed for screen in many) == 4
    limits.leave(lone)
    limits.admit(Screen("bedside"), "new")
    assert sum(screen.closed for screen in many) == 4, "a place that was left is taken first"


def test_a_stream_whose_client_says_nothing_is_renewed_or_dropped_within_a_minute() -> None:
    clock = {"ms": 0}
    sent: list[bytes] = []
    left: list[Screen] = []

    async def receive() -> Message:  # a client that has gone without a word never says so
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: Message) -> None:
        sent.append(message.get("body", b""))
        clock["ms"] += 5_000

    screen = Screen("bedside")
    stream = EventStream(screen, lambda: clock["ms"], left.append, beat_s=0.0)
    dropped = stream({"type": "http"}, receive, send)
    # in a thread of its own, since a browser's loop may run in this one
    with ThreadPoolExecutor(1) as apart:
        apart.submit(lambda: asyncio.run(asyncio.wait_for(dropped, IN_TIME_S))).result()
    assert left == [screen]
    assert clock["ms"] < 70_000
    assert sum(b"event: renew" in part for part in sent) == 1
    assert RENEW_MS < LONGEST_MS <= 60_000 - 5_000  # and a beat, and a stalled client
