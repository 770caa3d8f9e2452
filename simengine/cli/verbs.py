"""The verbs of the command line, in the order of the help, each with what it does.

They stand here and not in their modules, so that the help needs none of these.
"""

from __future__ import annotations

VERBS = {
    "demo": (
        "play a shipped session, score it, write its debrief, and a report over an invented cohort"
    ),
    "new": (
        "write a commented scenario to start from, which passes check, and two plays of "
        "it, or a roster's tables to fill in"
    ),
    "check": "list every problem in scenarios, vocabularies, protocols and plays",
    "play": "play what a team does in a scenario, and check what comes of it against what should",
    "draw": "draw the state diagram of a scenario, as SVG or as Mermaid text",
    "brief": "write the set-up pack and prebrief of a scenario as PDF",
    "pilot": "let simulated teams play a scenario, to see how well it tells slow from steady",
    "console": "run a mock resuscitation from a page in the browser on this machine",
    "account": "invite people to the console on a network, list them, close an account",
    "score": "score a recorded session against its scenario's marking guide",
    "debrief": "write the debrief of a session: two pages to take home, and the whole",
    "replay": "show a session in time order, at one instant, or its curves as a table",
    "verify": "check a log's chain and order, and that each automatic transition was due",
    "import": "bring a roster (CSV), session logs and bundles into the store",
    "export": (
        "write what the store holds: tables, statements, a bundle, the roster, one person's data"
    ),
    "erase": "forget one person: name and code go, the anonymous figures stay",
    "rescore": (
        "score all stored sessions under the scenario and protocol of today, and say what changed"
    ),
    "standard": "set a scenario's pass total from a panel's judgements",
    "cohort": (
        "write the cohort report: who is current and due, what the unit does badly, "
        "whether it is getting better, and what proves it"
    ),
    "store": "back up, restore, move or check what is kept of sessions and people",
    "doctor": "look over store, chains, keys, rights of files, versions, disk, clock and port",
}
"""Each has a module of its name; `import` is a word of Python's, so its module is `import_`."""
