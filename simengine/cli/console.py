"""`simengine console`: the facilitator's console."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.stored import add_scenario_folders, add_store, scenario_folders, where_of
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.console.server import Started

PORT = 8420


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "console",
        VERBS["console"],
        "simengine console --data ~/mock-resuscitations",
        run,
    )
    parser.add_argument(
        "--port", type=_port, default=PORT, help=f"the port (default: {PORT}; 0: any free one)"
    )
    add_store(parser)
    add_scenario_folders(parser)
    parser.add_argument(
        "--no-browser", action="store_true", help="print the address and open no browser"
    )
    network = parser.add_argument_group("over the network, to tablets, phones and displays")
    network.add_argument(
        "--lan",
        action="store_true",
        help="open it to the network over HTTPS, for people with an account or a session's code",
    )
    network.add_argument(
        "--address",
        action="append",
        default=[],
        type=_host,
        metavar="HOST",
        help="a name or IPv4 address by which others reach this machine, with a port if it is not "
        "--port; the first stands in links and QR codes (default: its address on the network)",
    )
    network.add_argument(
        "--certificate",
        type=Path,
        metavar="FILE",
        help="the hospital's certificate for this machine, with those that signed it (PEM); "
        "without it one is made and its fingerprint printed",
    )
    network.add_argument("--key", type=Path, metavar="FILE", help="the key of --certificate (PEM)")


def run(args: argparse.Namespace) -> int:
    """Serve until stopped."""
    if problem := _wrong_together(args):
        print(f"simengine console: {problem}", file=sys.stderr)
        return 2
    from simengine.cli.garbage import look_for_garbage_as_ever
    from simengine.console.addresses import NoAddressError
    from simengine.console.certificate import CertificateError
    from simengine.console.server import OverNetwork, serve
    from simengine.store import StoreError
    from simengine.store.data_folder import data_folder
    from simengine.store.place import place_of

    where = where_of(args)
    data = where if isinstance(where, Path) else data_folder()

    def ready(started: Started) -> None:
        look_for_garbage_as_ever()
        opens = _say_network(started) if args.lan else _say_links(started)
        print(
            f"Sessions are kept in {kept_in}. Press Ctrl-C to stop, or Enter for "
            + (
                "an invitation, in case every password is lost."
                if args.lan
                else "new links, in case a browser is lost."
            ),
            file=sys.stderr,
            flush=True,
        )
        if not args.no_browser:
            import webbrowser

            webbrowser.open(opens)

    def renewed(started: Started) -> None:
        if args.lan:
            print("Invitation for an educator and coordinator; it works once, within 1 h:")
            print(started.first, flush=True)
            return
        print("New links; each works once, and earlier ones no longer work.")
        print(f"The console:\n{started.link}")
        print(f"The coordinator's pages:\n{started.coordinating}", flush=True)

    try:
        kept_in = place_of(where).words
        network = OverNetwork(args.address, args.certificate, args.key) if args.lan else None
        serve(args.port, where, data, scenario_folders(args), ready, renewed, network)
    except KeyboardInterrupt:
        print(
            "simengine console: stopped; running sessions carry on when it is started again.",
            file=sys.stderr,
        )
    except (StoreError, CertificateError, NoAddressError) as error:
        print(f"simengine console: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        place = f" {error.filename}" if error.filename else f" port {args.port}"
        print(
            f"simengine console:{place}: {error.strerror or error}. Try another --port or --data.",
            file=sys.stderr,
        )
        return 1
    return 0


def _say_links(started: Started) -> str:
    print(f"The console is at {started.address}. Open it with this link, which works once:")
    print(started.link)
    print("For the coordinator's pages (who is current, who is due), this one, also once:")
    print(started.coordinating, flush=True)
    return started.link


def _say_network(started: Started) -> str:
    assert started.lan is not None
    print(f"The console is on the network at {started.address}")
    print("Before a device trusts it, compare the fingerprint (SHA-256) of its certificate:")
    print(started.lan.fingerprint)
    if started.first:
        print(
            "There are no accounts yet. This link makes the first, for an educator and "
            "coordinator; it works once, within 1 h:"
        )
    else:
        print("People sign in with their accounts at:")
    opens = started.first or f"{started.address}/sign-in"
    print(opens, flush=True)
    return opens


def _wrong_together(args: argparse.Namespace) -> str:
    """Return in words what can't be asked for together; empty if all can."""
    if not args.lan and (args.address or args.certificate or args.key):
        return "--address, --certificate and --key only work with --lan; add it"
    if (args.certificate is None) != (args.key is None):
        return "--certificate and --key go together: give both, or neither to have them made"
    return ""


def _host(text: str) -> str:
    from simengine.console.addresses import host

    try:
        return host(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _port(text: str) -> int:
    if not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"expected a port from 0 to 65535, found {text!r}")
    return int(text)
