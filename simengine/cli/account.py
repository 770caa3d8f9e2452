"""`simengine account`: who may come in where the console is on a network.

Rules of this file:

- No password is typed or shown here: an invitation is printed, and whoever it is for sets one.
- It works beside a console that runs.
"""

from __future__ import annotations

import argparse
import sys
import time

from simengine.cli.stored import add_store, open_store
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "account",
        VERBS["account"],
        "simengine account invite --educator",
        run,
    )
    what = parser.add_subparsers(dest="what", metavar="WHAT", required=True)
    invite = what.add_parser("invite", help="print an invitation; it works once, within 7 days")
    invite.add_argument("--educator", action="store_true", help="to run and review sessions")
    invite.add_argument(
        "--coordinator", action="store_true", help="for roster, outcomes and accounts"
    )
    invite.add_argument("--trainee", metavar="CODE", help="for this trainee's own pages alone")
    invite.add_argument(
        "--again",
        metavar="NAME",
        help="reset the password of this account; the old one works until the new one is set",
    )
    listed = what.add_parser("list", help="list all accounts and what each may open")
    close = what.add_parser("close", help="close an account; it is signed out everywhere")
    close.add_argument("name", metavar="NAME")
    for command in (invite, listed, close):
        add_store(command)


def run(args: argparse.Namespace) -> int:
    """Do what is asked."""
    return {"invite": _invite, "list": _list, "close": _close}[args.what](args)


def _invite(args: argparse.Namespace) -> int:
    from simengine.store import accounts
    from simengine.store.accounts import Rights
    from simengine.store.lists import is_known
    from simengine.web.account_pages import new_invitation, rights_words

    rights = Rights(args.educator, args.coordinator, args.trainee or "")
    choices = [rights.teaches, bool(args.trainee), bool(args.again)]
    if sum(choices) != 1:
        return _refused(
            "say whom it is for: --educator, --coordinator or both, --trainee CODE, or --again NAME"
        )
    with open_store(args, new=not args.again) as store:
        whose, account = "", None
        if args.again:
            account = accounts.account_named(store, args.again)
            if account is None:
                return _refused(f"no account is called {args.again!r}")
            rights, whose = account.rights, f", a new password for {account.name}"
        elif args.trainee and not is_known(store, args.trainee):
            return _refused(f"nobody has the code {args.trainee!r}, on the roster or in a session")
        elif args.trainee and accounts.account_of_trainee(store, args.trainee) is not None:
            return _refused(
                f"{args.trainee} has an account already; to reset its password: --again NAME"
            )
        now_ms = time.time_ns() // 1_000_000
        code = new_invitation(store, rights, now_ms, account.id if account is not None else "")
    print(f"Invitation for {rights_words(rights)}{whose}; it works once, within 7 days:")
    print("-".join(code[start : start + 4] for start in range(0, len(code), 4)))
    print(
        "Type it in at the console's address followed by /invitation, such as "
        "https://10.20.30.40:8420/invitation",
        file=sys.stderr,
    )
    return 0


def _list(args: argparse.Namespace) -> int:
    from simengine.store.accounts import all_accounts
    from simengine.web.account_pages import rights_words
    from simengine.web.local_time import local_day

    with open_store(args) as store:
        listed = all_accounts(store)
    for account in listed:
        print(f"{account.name}: {rights_words(account.rights)}, since {local_day(account.wall)}")
    if not listed:
        print("There are no accounts yet.", file=sys.stderr)
    return 0


def _close(args: argparse.Namespace) -> int:
    from simengine.store.accounts import account_named, close_account

    with open_store(args) as store:
        account = account_named(store, args.name)
        if account is None:
            return _refused(f"no account is called {args.name!r}")
        close_account(store, account.id)
    print(f"The account of {account.name} is closed; what was recorded with it stays.")
    return 0


def _refused(words: str) -> int:
    print(f"simengine account: {words}", file=sys.stderr)
    return 2
