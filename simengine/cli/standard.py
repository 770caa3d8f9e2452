"""`simengine standard`: set a scenario's pass total from a panel's judgements."""

from __future__ import annotations

import argparse
import json
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.cli.verb import Verbs, verb
from simengine.cli.verbs import VERBS

if TYPE_CHECKING:
    from simengine.cohort.standards import Cut
    from simengine.scenario.model import Scenario


def register(verbs: Verbs) -> None:
    """Add the verb."""
    parser = verb(
        verbs,
        "standard",
        VERBS["standard"],
        "simengine standard cot-term.yaml judgements.csv --method angoff --date 2026-03-31",
        run,
    )
    parser.add_argument("scenario", metavar="SCENARIO", type=Path, help="the scenario's file")
    parser.add_argument(
        "judgements",
        metavar="JUDGEMENTS",
        type=Path,
        help="CSV with judge, item, chance (angoff), or with global, score (borderline)",
    )
    parser.add_argument("--method", required=True, choices=("angoff", "borderline"))
    parser.add_argument(
        "--date", required=True, type=_day, metavar="DAY", help="when the panel met, 2026-03-31"
    )
    parser.add_argument(
        "--panel", metavar="WORDS", help="who the panel were (default: how many judges)"
    )
    parser.add_argument(
        "--borderline",
        metavar="GRADE",
        type=float,
        default=2.0,
        help="the borderline global grade (default: 2)",
    )
    parser.add_argument(
        "--write", action="store_true", help="write it into the scenario (else nothing is changed)"
    )
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise argparse.ArgumentTypeError(f"a day such as 2026-03-31, not {text!r}") from None


def run(args: argparse.Namespace) -> int:
    """Work out the standard, show what it would change, and write it if asked."""
    from simengine.problems import InputError, Problem
    from simengine.scenario import load_scenario
    from simengine.scenario.set_standard import NewStandard, with_standard

    scenario = load_scenario(args.scenario)
    cut = _cut(args, scenario)
    panel = args.panel or (f"{cut.judges} judges" if cut.judges else "Judges not named")
    standard = NewStandard(
        pass_mark=_share(cut.cut),
        method=_method(cut),
        panel=panel,
        date=args.date,
        error=_share(cut.error),
    )
    before = args.scenario.read_bytes().decode()
    after = with_standard(before, standard)
    if after is None:
        raise InputError(
            [
                Problem(
                    str(args.scenario), 0, 0, "scoring", "a layout that can be edited safely",
                    "another one", "standard-not-written",
                    hint=f"write it by hand: pass: {standard.pass_mark}, standard: "
                    f"method '{standard.method}', panel '{panel}', date {standard.date}, "
                    f"error {standard.error}",
                )
            ]
        )  # fmt: skip
    if args.json:
        _print_json(cut, standard.pass_mark, written=args.write)
    else:
        _print_words(cut)
        _print_change(args.scenario, before, after)
    if args.write:
        _write(args.scenario, after)
        print(
            f"Written into {args.scenario}. It is a new version of the scenario: sessions that "
            "were recorded before are scored under it with --any-version or rescore. Comments "
            "were left as they are; read those about the old standard.",
            file=sys.stderr,
        )
    else:
        print("Nothing was written. To write it into the scenario, add --write.", file=sys.stderr)
    return 0


def _cut(args: argparse.Namespace, scenario: Scenario) -> Cut:
    from simengine.cohort.judgements import read_angoff, read_borderline
    from simengine.cohort.standards import NoStandardError, angoff, borderline
    from simengine.people.csv_table import read_table
    from simengine.problems import InputError, Problem

    problems: list[Problem] = []
    table = read_table(args.judgements, problems)
    if table is None or any(problem.level == "error" for problem in problems):
        raise InputError(problems)
    for warning in problems:
        print(warning, file=sys.stderr)
    try:
        if args.method == "angoff":
            weights = {
                item.id: scenario.scoring.weights[item.importance]
                for item in scenario.key
                if item.credited
            }
            return angoff(read_angoff(table, weights), weights)
        graded = read_borderline(table)
        return borderline(graded.grades, graded.scores, args.borderline, graded.judges)
    except NoStandardError as error:
        raise InputError(
            [
                Problem(
                    str(args.judgements), 0, 0, "", "judgements that give a standard", str(error),
                    "no-standard",
                )
            ]
        ) from None  # fmt: skip


def _method(cut: Cut) -> str:
    if cut.method == "angoff":
        return f"Angoff, {cut.judges} judges, {cut.items} items"
    return f"Borderline regression, {cut.sessions} sessions, cut at the global grade {cut.at:g}"


def _print_words(cut: Cut) -> None:
    print(f"{_method(cut)}: pass total {_share(cut.cut)}, standard error {_share(cut.error)}.")
    if cut.line is not None:
        from simengine.quantities.formatting import percent

        intercept, slope = cut.line
        print(f"The line: score = {percent(intercept, 1)} + {percent(slope, 1)} x grade.")
    if cut.by_judge:
        print(f"The judges' own cuts: {', '.join(_share(each) for each in sorted(cut.by_judge))}.")
    if cut.few:
        small = "A small panel" if cut.method == "angoff" else "Few sessions"
        print(f"{small}: another one may set the standard elsewhere.")


def _print_change(file: Path, before: str, after: str) -> None:
    from difflib import unified_diff

    lines = unified_diff(
        before.splitlines(), after.splitlines(), str(file), str(file), n=1, lineterm=""
    )
    print("\n".join(lines) or "The scenario has this standard already.")


def _print_json(cut: Cut, pass_mark: str, *, written: bool) -> None:
    values = {
        "method": cut.method,
        "cut": cut.cut,
        "error": cut.error,
        "pass": pass_mark,
        "judges": cut.judges,
        "items": cut.items,
        "sessions": cut.sessions,
        "by_judge": list(cut.by_judge),
        "few": cut.few,
        "written": written,
    }
    print(json.dumps(values, indent=2))


def _write(file: Path, text: str) -> None:
    """Put the new text in the file's place, once a reading of it has found it good."""
    import shutil

    from simengine.scenario import load_scenario

    file = file.resolve()  # a link stays one
    beside = file.with_name(f".{file.stem}.new{file.suffix}")
    try:
        beside.write_bytes(text.encode())
        load_scenario(beside)
        shutil.copymode(file, beside)
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)


def _share(share: float) -> str:
    """Tell a share as the scenario states it: ``73.33 %``, ``75 %``."""
    return f"{100 * share:.2f}".rstrip("0").rstrip(".") + " %"
