"""`simengine account`: invitations, the list, closing; beside a console that runs."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.store import Store
from simengine.store.accounts import Invitation, Rights, accept, invitation_of
from simengine.web.local_time import local_day
from simengine.web.security import as_code
from tests.store.logs import WALL


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def test_an_invitation_is_printed_and_opens_what_was_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = ["--data", str(tmp_path)]
    assert main(["account", "invite", "--educator", "--coordinator", *data]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Invitation for an educator and a coordinator; it works once, within 7 days:"
    with Store.open(tmp_path, alone=True) as store:  # as the console has it
        invitation = invitation_of(store, as_code(lines[1]), now_ms())
        assert isinstance(invitation, Invitation)
        assert invitation.rights == Rights(educator=True, coordinator=True)
        made = accept(store, as_code(lines[1]), name="Greta", password="h", now_ms=0, wall=WALL)
        assert made is not None
        assert main(["account", "list", *data]) == 0
        assert capsys.readouterr().out == (
            f"Greta: an educator and a coordinator, since {local_day(WALL)}\n"
        )
        assert main(["account", "invite", "--again", " greta", *data]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert lines[0].endswith("a new password for Greta; it works once, within 7 days:")
        again = invitation_of(store, as_code(lines[1]), now_ms())
        assert again is not None
        assert again.account == made.id
        assert main(["account", "close", "GRETA", *data]) == 0
        assert "The account of Greta is closed" in capsys.readouterr().out
        assert main(["account", "list", *data]) == 0
        assert capsys.readouterr() == ("", "There are no accounts yet.\n")


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["invite"], "say whom it is for"),
        (["invite", "--educator", "--trainee", "N-104"], "say whom it is for"),
        (
            ["invite", "--trainee", "N-104"],
            "nobody has the code 'N-104', on the roster",
        ),
        (["invite", "--again", "Nora"], "no account is called 'Nora'"),
        (["close", "Nora"], "no account is called 'Nora'"),
    ],
)
def test_what_cannot_be_done_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], asked: list[str], words: str
) -> None:
    Store.open(tmp_path).close()
    assert main(["account", *asked, "--data", str(tmp_path)]) == 2
    assert words in capsys.readouterr().err
