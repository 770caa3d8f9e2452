"""What somebody who looks after the server sees: whether it is well, and nobody's name."""

from __future__ import annotations

import logging
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from simengine.console.fault_log import NamelessFormatter
from simengine.store import Store
from tests.console.consoles import Desk

NAME = "Anna Zoë Berg"


def test_a_console_that_is_well_says_so_to_anybody(desk: Desk) -> None:
    answer = desk.another().client.get("/health")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain")
    assert "store can be read" in answer.text


def test_a_console_without_its_store_says_so(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr("sqlalchemy.engine.default.DefaultDialect.do_execute", gone)
    answer = desk.another().client.get("/health")
    assert answer.status_code == 503
    assert "its store can't be read" in answer.text


def test_what_a_database_was_given_stands_in_no_error(where: Path | str) -> None:
    with Store.open(where) as store, store.engine.connect() as connection:
        with pytest.raises(DBAPIError) as raised:
            connection.execute(text("SELECT :name FROM no_such_table"), {"name": NAME})
        connection.rollback()
    assert NAME not in str(raised.value)


def test_the_file_of_faults_has_kinds_and_lines_and_no_words_of_an_exception() -> None:
    def fails() -> None:
        raise KeyError(NAME)

    try:
        try:
            fails()
        except KeyError as error:
            raise ValueError(f"nobody is called {NAME}") from error
    except ValueError as error:
        record = logging.LogRecord(
            "simengine.console", logging.ERROR, __file__, 1, "a stream broke off", (),
            (ValueError, error, error.__traceback__),
        )  # fmt: skip
    noted = NamelessFormatter().format(record)
    assert "ERROR simengine.console: a stream broke off" in noted
    assert "builtins.KeyError\n-- which led to --\n" in noted
    assert noted.endswith("builtins.ValueError")
    assert "in fails" in noted
    assert NAME not in noted
