"""`simengine console`: the facilitator's console."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from simengine.cli.stored import add_scenario_folders, add_store, scenario_folders, where_of
from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

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
    parser.add_argument(
        "--lan",
        action="store_true",
        help="open it to the network: not available yet, since it needs accounts",
    )


def run(args: argparse.Namespace) -> int:
    """Serve until stopped."""
    if args.lan:
        print(
            "simengine console: --lan is not available yet. On a network the console needs "
            "accounts, which are still to be built; without it, it serves this machine alone.",
            file=sys.stderr,
        )
        return 2
    from simengine.console.server import serve
    from simengine.store import StoreError
    from simengine.store.data_folder import data_folder
    from simengine.store.place import place_of

    where = where_of(args)
    data = where if isinstance(where, Path) else data_folder()

    def ready(address: str, link: str, coordinating: str) -> None:
        print(f"The console is at {address}. Open it with this link, which works once:")
        print(link)
        print("The coordinator's pages (who is current, who is due) open with this one, once:")
        print(coordinating, flush=True)
        print(
            f"Sessions are kept in {kept_in}. Ctrl-C stops it. Enter prints new links, should a "
            "browser be lost.",
            file=sys.stderr,
            flush=True,
        )
        if not args.no_browser:
            import webbrowser

            webbrowser.open(link)

    def renewed(link: str, coordinating: str) -> None:
        print("New links, each of which works once; those before open nothing more.")
        print(f"The console:\n{link}")
        print(f"The coordinator's pages:\n{coordinating}", flush=True)

    try:
        kept_in = place_of(where).words
        serve(args.port, where, data, scenario_folders(args), ready, renewed)
    except KeyboardInterrupt:
        print(
            "simengine console: stopped; running sessions go on when it is started again.",
            file=sys.stderr,
        )
    except StoreError as error:
        print(f"simengine console: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        place = f" {error.filename}" if error.filename else f" port {args.port}"
        print(
            f"simengine console:{place}: {error.strerror or error}. Another --port or --data may "
            "help.",
            file=sys.stderr,
        )
        return 1
    return 0


def _port(text: str) -> int:
    if not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"expected a port from 0 to 65535, found {text!r}")
    return int(text)
