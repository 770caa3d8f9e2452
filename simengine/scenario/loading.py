"""Where scenarios, vocabularies and protocols are found, and reading one from its file.

Rules of this file:

- A vocabulary or protocol is looked for beside what names it (the same folder, ``vocabulary/``,
  ``protocols/``, and the same one level up), then in the folders given, then in the shipped ones.
- A file is found by its name, ``ID.yaml``, or else by the ``id:`` line in it.
- Nothing is read by the light of a vocabulary that has errors, nor of a protocol's value that has:
  those are told, and what can be told without them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Literal, NamedTuple

from simengine.limits import YAML_BYTES
from simengine.nearest_name import name_hint
from simengine.problems import InputError, Problem
from simengine.resources import scenarios_dir
from simengine.scenario.checks import check_whole
from simengine.scenario.checks.contradictions import check_agreement
from simengine.scenario.cot_check import CotCheck, check_rows, read_cot_check
from simengine.scenario.digest import is_stamping, not_stamped
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.opened import opened
from simengine.scenario.place import Book, Place, found_words, has_errors
from simengine.scenario.positions import Document, Mapping, read_yaml
from simengine.scenario.protocol import Protocol
from simengine.scenario.protocol_subjects import read_agreement
from simengine.scenario.read_conditions import Context, scope_of
from simengine.scenario.read_never import Unread, read_doses, read_never, read_strengths, unread
from simengine.scenario.read_protocol import read_protocol
from simengine.scenario.read_scenario import read_scenario
from simengine.scenario.read_start import every_fault, read_faults
from simengine.scenario.read_vocabulary import read_vocabulary, sound_vocabulary
from simengine.scenario.schema import settle
from simengine.scenario.vocabulary import Vocabulary
from simengine.schemas import SchemaName

FileKind = Literal["scenario", "vocabulary", "protocol", "equipment"]

_FOLDERS: dict[FileKind, str] = {
    "scenario": "",
    "vocabulary": "vocabulary",
    "protocol": "protocols",
    "equipment": "equipment",
}
_MARKS: dict[FileKind, frozenset[str]] = {
    "scenario": frozenset({"states", "start", "infant", "key", "vocabulary"}),
    "vocabulary": frozenset({"settings", "observations", "actions", "phases"}),
    "protocol": frozenset({"values", "edition", "status", "extends", "superseded_by"}),
    "equipment": frozenset({"rows", "places", "source"}),
}
_TEXTS: dict[str, SchemaName] = {
    "agreement": "agreement",
    "bench": "bench",
    "setup_pack": "setup_pack",
    "physiology": "physiology",
    "pilot": "skills",
}
"""Files known by their folder. Which names they may use only a scenario can tell."""


def load_scenario(
    path: str | Path,
    *,
    protocol: str | Path | None = None,
    infant: Infant | None = None,
    search: Sequence[Path] = (),
) -> Scenario:
    """Read a scenario with its vocabulary and protocol, checked. ``path``: its file, or its id.

    ``protocol``: another one than the scenario names, by id or file. ``infant``: another baby
    than the scenario's. ``search``: more folders. Raises ``InputError`` with every error.
    """
    scenario, problems = _scenario(_named("scenario", path, search), protocol, infant, search)
    _raise_errors(problems)
    assert scenario is not None
    return scenario


def load_cot_check(
    protocol: str | Path, infant: Infant, *, search: Sequence[Path] = ()
) -> CotCheck:
    """Read what a practice check goes through under a protocol, for the baby expected.

    Raises ``InputError`` with every error, or where the protocol's vocabulary names no cot.
    """
    path = _named("protocol", protocol, search)
    source, books = _protocol(path, search, ())
    problems = _settled(books)
    _raise_errors(problems)
    assert source is not None
    name = source.protocol.vocabulary
    folders = _search_path(path, search)
    file = _find("vocabulary", name, folders) if name is not None else None
    vocabulary, problems, cot = _vocabulary(file, search) if file is not None else (None, [], None)
    _raise_errors(problems)
    if vocabulary is None or vocabulary.equipment is None or cot is None:
        expected = "a protocol whose vocabulary names a catalogue of the cot"
        raise InputError([Problem(str(path), 1, 1, "", expected, "none", "unknown-name")])
    rows, listed = vocabulary.equipment.rows, source.protocol.cot_check
    _raise_errors(
        [
            Problem(
                *(str(path), 0, 0, "cot_check", "a row of the cot", f"'{name}'", "unknown-name"),
                hint=name_hint(name, rows),
            )
            for name in listed
            if name not in rows
        ]
    )
    check = read_cot_check(cot, Context(vocabulary, source.protocol, infant))
    _raise_errors(cot.book.problems)
    return check


def load_vocabulary(path: str | Path) -> Vocabulary:
    """Read a vocabulary: its file, or its id. Raises ``InputError`` with every error."""
    vocabulary, problems, _ = _vocabulary(_named("vocabulary", path), ())
    _raise_errors(problems)
    assert vocabulary is not None
    return vocabulary


def load_protocol(path: str | Path, *, search: Sequence[Path] = ()) -> Protocol:
    """Read a protocol (its file, or its id) and those that it extends.

    Raises ``InputError`` with every error.
    """
    source, books = _protocol(_named("protocol", path, search), search, ())
    _raise_errors(_settled(books))
    assert source is not None
    return source.protocol


class Sources(NamedTuple):
    """Files that a scenario is read from; ``protocols``: the one chosen, then those it extends.

    ``equipment``, ``physiology``: the catalogue of the cot and what care does to the baby, if the
    vocabulary names them.
    """

    scenario: Path
    vocabulary: Path
    protocols: tuple[Path, ...]
    equipment: Path | None = None
    physiology: Path | None = None


def source_files(
    path: str | Path, *, protocol: str | None = None, search: Sequence[Path] = ()
) -> Sources:
    """Return the files that ``load_scenario`` reads. Raises ``InputError`` if one is missing."""
    path = Path(path)
    root, book = opened("scenario", path)
    _raise_errors(book.problems)
    assert root is not None
    folders = _search_path(path, search)
    vocabulary = _named_file("vocabulary", root, folders)
    first = (
        _named_file("protocol", root, folders)
        if protocol is None
        else _find("protocol", protocol, folders)
    )
    if first is None and protocol is not None:
        raise InputError([_no_protocol(protocol, folders)])
    _raise_errors(book.problems)
    assert vocabulary is not None
    assert first is not None
    words, book = opened("vocabulary", vocabulary)
    above = _search_path(vocabulary, search)
    named = words is not None and words.get("equipment") is not None
    equipment = _named_file("equipment", words, above) if words and named else None
    care = words.get("physiology") if words is not None else None
    physiology = (
        _physiology_file(care.text("the id of a physiology"), above) if care is not None else None
    )
    chain = [first]
    while True:
        below, book = opened("protocol", chain[-1])
        _raise_errors(book.problems)
        extends = below.get("extends") if below is not None else None
        base = (
            _find("protocol", extends.text("the id of a protocol"), _search_path(chain[-1], search))
            if extends is not None
            else None
        )
        if base is None or base in chain:
            return Sources(path, vocabulary, tuple(chain), equipment, physiology)
        chain.append(base)


def check_file(
    path: str | Path, *, protocol: str | Path | None = None, search: Sequence[Path] = ()
) -> list[Problem]:
    """Return every problem of a scenario, vocabulary or protocol file, sorted by place.

    ``path``: the file, or a scenario's id.
    ``protocol``: hold a scenario to another one than it names, by id or file.
    """
    return checked_file(path, protocol=protocol, search=search)[1]


def checked_file(
    path: str | Path, *, protocol: str | Path | None = None, search: Sequence[Path] = ()
) -> tuple[Scenario | None, list[Problem]]:
    """Like ``check_file``, with the scenario, if it is one that can be played.

    It has no digest: it is for playing it to find out about it, and not for keeping a session.
    """
    with suppress(InputError):
        path = _named("scenario", path, search)
    with not_stamped():
        scenario, problems = _checked(Path(path), protocol, search)
    if has_errors(problems):
        scenario = None
    return scenario, sorted(set(problems))


def _checked(
    file: Path, protocol: str | Path | None, search: Sequence[Path]
) -> tuple[Scenario | None, list[Problem]]:
    scenario: Scenario | None = None
    document = read_yaml(file)
    kind = kind_of(document, file)
    texts = _TEXTS.get(file.resolve().parent.name)
    if document.root is None:
        problems = list(document.problems)
    elif texts is not None and not _looks_like_a_scenario(document):
        _, book = opened(texts, file, document)
        settle(book)
        problems = book.problems
    elif kind is None:
        content = found_words(document.root)
        if isinstance(document.root, Mapping):
            content = f"one with the keys {', '.join(document.root.items)[:60]}"
        problems = [
            *document.problems,
            Problem(
                str(file),
                1,
                1,
                "",
                "a scenario, vocabulary or protocol file",
                content,
                "unknown-kind",
            ),
        ]
    elif kind == "scenario":
        scenario, problems = _scenario(file, protocol, None, search, document, compare=True)
    elif kind == "vocabulary":
        problems = _vocabulary(file, search, document)[1]
    elif kind == "equipment":
        problems = _checked_equipment(file, search, document)
    else:
        problems = _checked_protocol(file, search, document)
    return scenario, problems


def kind_of(document: Document, path: Path) -> FileKind | None:
    """Say what a file is: by its keys, else by its folder; ``None`` if that can't be told."""
    if isinstance(document.root, Mapping):
        keys = document.root.items.keys()
        count = {kind: len(marks & keys) for kind, marks in _MARKS.items()}
        best = max(count, key=lambda kind: count[kind])
        if count[best]:
            return best
    for kind, folder in _FOLDERS.items():
        if folder and path.resolve().parent.name == folder:
            return kind
    return None


def _looks_like_a_scenario(document: Document) -> bool:
    root = document.root
    return isinstance(root, Mapping) and bool({"states", "start", "key"} & root.items.keys())


def scenario_file(name: str, folders: Iterable[Path] = ()) -> Path:
    """Return a scenario's file: ``name`` is the file itself, or the id of a scenario.

    It is looked for in the folder of today, its ``scenarios/``, the folders given and the shipped
    one. Raises ``InputError`` if there is none.
    """
    if name.endswith((".yaml", ".yml")) or Path(name).is_file():
        return Path(name)
    return _by_id("scenario", name, folders)


def _named(kind: FileKind, name: str | Path, folders: Iterable[Path] = ()) -> Path:
    """Return the file that ``name`` is, or where it is a bare name the one with that id."""
    path = Path(name)
    if path.suffix in (".yaml", ".yml") or len(path.parts) != 1 or _is_file(path):
        return path
    return _by_id(kind, str(name), folders)


def _by_id(kind: FileKind, name: str, folders: Iterable[Path]) -> Path:
    places = [Path(), Path("scenarios"), *folders, scenarios_dir()]
    path = _find(kind, name, places)
    if path is None:
        hint = name_hint(name, _ids(kind, places))
        expected = f"a {kind} file, or the id of a {kind}"
        raise InputError([Problem(name, 0, 0, "", expected, f"'{name}'", "no-file", hint=hint)])
    return path


def find_scenario(scenario_id: str, folders: Iterable[Path]) -> Path | None:
    """Return the file of a scenario by its id, in the folders given and the shipped one."""
    return _find("scenario", scenario_id, [*folders, scenarios_dir()])


def scenario_ids(folders: Iterable[Path]) -> list[str]:
    """Return the ids of the scenarios in the folders given and the shipped one, in order."""
    return _ids("scenario", [*folders, scenarios_dir()])


def _raise_errors(problems: Sequence[Problem]) -> None:
    if has_errors(problems):
        raise InputError(set(problems))


def _search_path(path: Path, search: Sequence[Path]) -> list[Path]:
    here = path.resolve().parent
    return [here, here.parent, *search, scenarios_dir()]


def _files(kind: FileKind, folders: Iterable[Path]) -> Iterator[Path]:
    for folder in folders:
        for place in dict.fromkeys((folder, folder / _FOLDERS[kind])):
            if place.is_dir():
                yield from (file for file in sorted(place.glob("*.yaml")) if file.is_file())


def _is_file(path: Path) -> bool:
    """Whether it is a file; a name that is too long for the system is none."""
    try:
        return path.is_file()
    except OSError:
        return False


def _find(kind: FileKind, name: str, folders: Sequence[Path]) -> Path | None:
    if re.fullmatch(r"[\w.-]+", name):
        for folder in folders:
            for place in dict.fromkeys((folder / _FOLDERS[kind], folder)):
                file = place / f"{name}.yaml"
                if _is_file(file) and _is_kind(kind, file):
                    return file
    line = re.compile(rf"^id:\s*['\"]?{re.escape(name)}['\"]?\s*(#.*)?$", re.MULTILINE)
    for file in _files(kind, folders):
        try:
            text = _beginning(file)
        except (OSError, UnicodeDecodeError):
            continue
        if line.search(text) and _is_kind(kind, file):
            return file
    return None


def _beginning(file: Path) -> str:
    """Return a file's text, of one that is too large to be read its beginning.

    Raises ``OSError`` or ``UnicodeDecodeError``.
    """
    with file.open("rb") as opened:
        return opened.read(YAML_BYTES).decode("utf-8")


def _is_kind(kind: FileKind, file: Path) -> bool:
    """Whether a file can be of a kind: one that can't be read is left to be complained about."""
    try:
        text = _beginning(file)
    except (OSError, UnicodeDecodeError):
        return True
    keys = set(re.findall(r"^(\w+):", text, re.MULTILINE))
    count = {other: len(marks & keys) for other, marks in _MARKS.items()}
    return not any(count.values()) or count[kind] == max(count.values())


def _vocabulary(
    path: Path, search: Sequence[Path], document: Document | None = None
) -> tuple[Vocabulary | None, list[Problem], Place | None]:
    """Read a vocabulary with the catalogue of the cot that it names, which comes as written."""
    root, book = opened("vocabulary", path, document)
    if root is None:
        return None, book.problems, None
    cot, books = _equipment(root, path, search)
    if not any(opened_book.problems or opened_book.waiting for opened_book in (book, *books)):
        cot_node = cot.node if cot is not None else None
        sound = sound_vocabulary(root.node, cot_node, is_stamping())
        if sound is not None:
            return sound, [], cot
    vocabulary = read_vocabulary(root, cot)
    return vocabulary, _settled([book, *books]), cot


def _equipment(
    vocabulary: Place, path: Path, search: Sequence[Path]
) -> tuple[Place | None, list[Book]]:
    """Open the catalogue that a vocabulary names."""
    if vocabulary.get("equipment") is None:
        return None, []
    file = _named_file("equipment", vocabulary, _search_path(path, search))
    root, book = opened("equipment", file) if file is not None else (None, None)
    return root, [book] if book is not None else []


def _checked_equipment(path: Path, search: Sequence[Path], document: Document) -> list[Problem]:
    """Check a catalogue of a cot, with the vocabulary that names it."""
    folders = _search_path(path, search)
    root, book = opened("equipment", path, document)
    for file in _files("vocabulary", folders):
        if not _is_kind("vocabulary", file):
            continue
        above, _ = opened("vocabulary", file)
        named = above.get("equipment") if above is not None and root is not None else None
        if above is None or root is None or named is None:
            continue
        if named.text() == path.stem:
            context = Context(read_vocabulary(above, root), None, None)
            read_faults(every_fault(root), scope_of(context))
            return _settled([book])
    return [
        *_settled([book]),
        Problem(str(path), 1, 1, "", "a vocabulary that names it", "none", "unnamed", "warning"),
    ]


def _protocol(
    path: Path,
    search: Sequence[Path],
    below: tuple[Path, ...],
    document: Document | None = None,
) -> tuple[Unread | None, list[Book]]:
    """Read a protocol; ``below`` are the files that extend it, to refuse a circle.

    The books are to be settled once what waits in them has been read.
    """
    root, book = opened("protocol", path, document)
    if root is None:
        return None, [book]
    base: Unread | None = None
    others: list[Book] = []
    extends = root.get("extends")
    name = extends.text("the id of a protocol") if extends is not None else ""
    if extends is not None and name:
        folders = _search_path(path, search)
        file = _find("protocol", name, folders)
        chain = (*below, path.resolve())
        if file is None:
            extends.say(
                "the id of a protocol",
                "unknown-name",
                hint=name_hint(name, _ids("protocol", folders)),
            )
        elif file.resolve() in chain:
            extends.say("a protocol that does not extend this one", "circle")
        else:
            base, others = _protocol(file, search, chain)
    protocol = read_protocol(root, base.protocol if base is not None else None)
    return unread(root, protocol, base), [book, *others]


def _checked_protocol(path: Path, search: Sequence[Path], document: Document) -> list[Problem]:
    """Check a protocol by itself, for no baby in particular."""
    source, books = _protocol(path, search, (), document)
    root = Place(books[0], document.root) if document.root is not None else None
    if source is not None and root is not None and source.protocol.vocabulary is not None:
        named, name = root.get("vocabulary"), source.protocol.vocabulary
        folders = _search_path(path, search)
        file = _find("vocabulary", name, folders)
        if file is None and named is not None:
            hint = name_hint(name, _ids("vocabulary", folders))
            named.say("the id of a vocabulary", "unknown-name", hint=hint)
        vocabulary, wrong, _ = _vocabulary(file, search) if file else (None, [], None)
        if vocabulary is not None and not has_errors(wrong):
            context = Context(vocabulary, source.protocol, None)
            read_never(source, context, {})
            read_doses(source, context)
            read_strengths(source, context)
            check_rows(root, vocabulary)
    return _settled(books)


def _settled(books: Iterable[Book]) -> list[Problem]:
    """Return the problems of files once everything in them has been read."""
    problems: list[Problem] = []
    for book in books:
        settle(book)
        problems += book.problems
    return problems


def _ids(kind: FileKind, folders: Sequence[Path]) -> list[str]:
    return sorted({file.stem for file in _files(kind, folders) if _is_kind(kind, file)})


def _scenario(
    path: Path,
    protocol: str | Path | None,
    infant: Infant | None,
    search: Sequence[Path],
    document: Document | None = None,
    *,
    compare: bool = False,
) -> tuple[Scenario | None, list[Problem]]:
    """Read a scenario. ``compare``: say too where its figures and the protocol disagree."""
    root, book = opened("scenario", path, document)
    if root is None:
        return None, book.problems
    folders = _search_path(path, search)
    vocabulary_file = _named_file("vocabulary", root, folders)
    vocabulary, problems, cot = (
        _vocabulary(vocabulary_file, search) if vocabulary_file is not None else (None, [], None)
    )
    if isinstance(protocol, Path) or (protocol is not None and protocol.endswith(".yaml")):
        protocol_file: Path | None = Path(protocol)
    elif protocol is not None:
        protocol_file = _find("protocol", protocol, folders)
        if protocol_file is None:
            problems = [*problems, _no_protocol(protocol, folders)]
    else:
        protocol_file = _named_file("protocol", root, folders)
    source: Unread | None = None
    books: list[Book] = []
    if protocol_file is not None:
        source, books = _protocol(protocol_file, search, ())
    if vocabulary is None or has_errors(problems):
        return None, [*_settled([book, *books]), *problems]
    physiology_at, its_books = _physiology(vocabulary, vocabulary_file, folders)
    read = read_scenario(
        root,
        vocabulary,
        source,
        infant,
        lambda name: _find("protocol", name, folders) is not None,
        physiology_at,
        cot,
    )
    of_cot = cot.book.problems if cot is not None else []
    problems = [*_settled([*books, *its_books]), *of_cot, *problems]
    settle(book)
    if not book.has_errors() and not has_errors(problems):
        check_whole(root, read)
        files = (folder / "agreement" / f"{vocabulary.id}.yaml" for folder in folders)
        file = (
            next((candidate for candidate in files if _is_file(candidate)), None)
            if compare and source
            else None
        )
        if file is not None:
            subjects, its_book = read_agreement(file, vocabulary)
            check_agreement(root, read, subjects)
            problems = [*problems, *its_book.problems]
    return read.scenario, [*book.problems, *problems]


def _physiology(
    vocabulary: Vocabulary, its_file: Path | None, folders: Sequence[Path]
) -> tuple[Place | None, list[Book]]:
    """Open the physiology that a vocabulary names, if it names one."""
    name = vocabulary.physiology
    if name is None:
        return None, []
    file = _physiology_file(name, folders)
    if file is not None:
        root, book = opened("physiology", file)
        return root, [book]
    known = sorted(
        {path.stem for folder in folders for path in (folder / "physiology").glob("*.yaml")}
    )
    expected = "the id of a physiology beside the vocabularies"
    wrong = Problem(
        str(its_file),
        0,
        0,
        "physiology",
        expected,
        f"'{name}'",
        "unknown-name",
        hint=name_hint(name, known),
    )
    return None, [Book(str(its_file), [wrong])]


def _physiology_file(name: str, folders: Sequence[Path]) -> Path | None:
    files = (folder / "physiology" / f"{name}.yaml" for folder in folders)
    return next((file for file in files if _is_file(file)), None)


def _no_protocol(name: str, folders: Sequence[Path]) -> Problem:
    hint = name_hint(name, _ids("protocol", folders))
    expected = "the id or file of a protocol"
    return Problem(name, 0, 0, "", expected, f"'{name}'", "unknown-name", hint=hint)


def _named_file(kind: FileKind, root: Place, folders: Sequence[Path]) -> Path | None:
    named = root.need(kind)
    name = named.text(f"the id of a {kind}") if named is not None else ""
    if named is None or not name:
        return None
    file = _find(kind, name, folders)
    if file is None:
        named.say(f"the id of a {kind}", "unknown-name", hint=name_hint(name, _ids(kind, folders)))
    return file
