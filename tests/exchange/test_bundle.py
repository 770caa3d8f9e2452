import io
import json
import stat
import warnings
import zipfile
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from simengine.exchange.as_run import files_of
from simengine.exchange.bundle import LOG, MANIFEST, SCORE, Bundle, bundle_of, write_bundle
from simengine.exchange.open_bundle import different, open_bundle
from simengine.limits import BUNDLE_BYTES, BUNDLE_FILES
from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.scenario.loading import source_files
from simengine.scoring import score
from simengine.session.from_file import open_session

NAME = "term-not-breathing-first-try"
CHECKED = (
    LOG,
    SCORE,
    "debrief.html",
    "debrief.pdf",
    "equipment/newborn.yaml",
    "physiology/newborn.yaml",
    "protocols/common-practice.yaml",
    "protocols/ercnls-2021.yaml",
    "scenario.yaml",
    "vocabulary/newborn.yaml",
)


@cache
def bundle() -> Bundle:
    session = open_session(scenarios_dir() / "sessions" / f"{NAME}.session.jsonl").session
    sources = source_files(
        scenarios_dir() / f"{session.scenario.id}.yaml", protocol=session.scenario.protocol.id
    )
    return bundle_of(session, files_of(sources), score(session), unit="North")


def contents() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(bundle().content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(path: Path, files: dict[str, bytes], **how: Any) -> Path:
    with zipfile.ZipFile(path, "w", **how) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return path


def restated(files: dict[str, bytes]) -> dict[str, bytes]:
    """Write the manifest's digests anew, as somebody would who means to deceive."""
    manifest = json.loads(files[MANIFEST])
    for entry in manifest["files"]:
        entry["sha256"] = sha256(files[entry["name"]]).hexdigest()
    return {**files, MANIFEST: json.dumps(manifest).encode()}


def refused(path: Path) -> str:
    with pytest.raises(InputError) as error:
        open_bundle(path)
    message = str(error.value)
    assert str(path) in message
    assert "Traceback" not in message
    return message


def test_another_copy_opens_a_bundle_and_finds_the_same_score(tmp_path: Path) -> None:
    opened = open_bundle(write_bundle(bundle(), tmp_path))
    session = open_session(scenarios_dir() / "sessions" / f"{NAME}.session.jsonl").session
    assert opened.session.events == session.events
    assert opened.session.scenario == session.scenario
    assert opened.card == score(session)
    assert opened.unit == "North"
    assert opened.warnings == ()


def test_only_what_is_in_the_bundle_is_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = write_bundle(bundle(), tmp_path)
    empty = tmp_path / "empty"
    empty.mkdir()
    for module in ("simengine.scenario.loading", "simengine.session.from_file"):
        monkeypatch.setattr(f"{module}.scenarios_dir", lambda: empty)
    assert open_bundle(file).session.session_id


def test_the_same_session_gives_the_same_bytes() -> None:
    session = open_session(scenarios_dir() / "sessions" / f"{NAME}.session.jsonl").session
    sources = source_files(
        scenarios_dir() / f"{session.scenario.id}.yaml", protocol=session.scenario.protocol.id
    )
    assert bundle_of(session, files_of(sources), score(session), unit="North") == bundle()


def test_the_manifest_states_each_file_with_its_sha_256() -> None:
    files = contents()
    manifest = json.loads(files[MANIFEST])
    assert {entry["name"] for entry in manifest["files"]} == files.keys() - {MANIFEST}
    for entry in manifest["files"]:
        assert entry["sha256"] == sha256(files[entry["name"]]).hexdigest()
        assert entry["size"] == len(files[entry["name"]])
    assert "training only" in manifest["caution"]
    assert sorted(files.keys() - {MANIFEST}) == sorted(CHECKED)


def test_the_standard_library_finds_the_zip_whole(tmp_path: Path) -> None:
    with zipfile.ZipFile(write_bundle(bundle(), tmp_path)) as archive:
        assert archive.testzip() is None


@pytest.mark.parametrize("name", CHECKED)
def test_a_changed_file_is_named(name: str, tmp_path: Path) -> None:
    files = contents()
    files[name] += b" "
    message = refused(packed(tmp_path / "x.bundle.zip", files))
    assert name in message
    assert "SHA-256" in message


def changed_log(files: dict[str, bytes]) -> None:
    files[LOG] = files[LOG].replace(b'"role":"circulation"', b'"role":"leader"', 1)


def shortened_log(files: dict[str, bytes]) -> None:
    files[LOG] = b"".join(files[LOG].splitlines(keepends=True)[:-3])


def other_scenario(files: dict[str, bytes]) -> None:
    assert b"ideal: 60 s" in files["scenario.yaml"]
    files["scenario.yaml"] = files["scenario.yaml"].replace(b"ideal: 60 s", b"ideal: 61 s", 1)


def other_protocol(files: dict[str, bytes]) -> None:
    (name,) = [name for name in files if name.startswith("protocols/erc")]
    assert b"range: 30 %" in files[name]
    files[name] = files[name].replace(b"range: 30 %", b"range: 31 %", 1)


def other_score(files: dict[str, bytes]) -> None:
    card = json.loads(files[SCORE])
    card["items"][0]["credit"] = 0.123
    files[SCORE] = json.dumps(card).encode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (changed_log, "log.session.jsonl:"),
        (shortened_log, "last hash"),
        (other_scenario, "digest"),
        (other_protocol, "digest"),
        (other_score, "another items[0].credit"),
    ],
)
def test_what_was_changed_shows_even_if_the_manifest_was_made_to_agree(
    change: Callable[[dict[str, bytes]], None], words: str, tmp_path: Path
) -> None:
    files = contents()
    change(files)
    assert words in refused(packed(tmp_path / "x.bundle.zip", restated(files)))


def test_a_score_by_another_version_of_the_program_is_a_warning(tmp_path: Path) -> None:
    files = contents()
    other_score(files)
    files = restated(files)
    manifest = json.loads(files[MANIFEST])
    manifest["program"] = "0.0.1"
    files[MANIFEST] = json.dumps(manifest).encode()
    (warning,) = open_bundle(packed(tmp_path / "x.bundle.zip", files)).warnings
    assert warning.level == "warning"
    assert "0.0.1" in str(warning)


def test_a_score_by_another_edition_of_the_rules_is_a_warning(tmp_path: Path) -> None:
    files = contents()
    card = json.loads(files[SCORE])
    del card["edition"]
    files[SCORE] = json.dumps(card).encode()
    (warning,) = open_bundle(packed(tmp_path / "x.bundle.zip", restated(files))).warnings
    assert warning.level == "warning"
    assert "scoring, first edition, and here by scoring, second edition" in str(warning)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../evil.yaml", "leads elsewhere"),
        ("protocols/../../evil.yaml", "leads elsewhere"),
        ("/etc/evil.yaml", "leads elsewhere"),
        ("C:\\evil.yaml", "leads elsewhere"),
        ("protocols\\..\\evil.yaml", "leads elsewhere"),
        ("run-me.exe", "not of a bundle"),
        ("protocols/.hidden.yaml", "not of a bundle"),
    ],
)
def test_names_that_lead_elsewhere_and_unknown_ones_are_refused(
    name: str, words: str, tmp_path: Path
) -> None:
    path = packed(tmp_path / "x.bundle.zip", {**contents(), name: b"x"})
    before = set(tmp_path.parent.rglob("*evil*"))
    with pytest.raises(InputError) as error:
        open_bundle(path)
    codes = {problem.code.replace("-", " ") for problem in error.value.problems}
    assert words in codes
    assert set(tmp_path.parent.rglob("*evil*")) == before


def test_a_name_twice_is_refused(tmp_path: Path) -> None:
    path = packed(tmp_path / "x.bundle.zip", contents())
    with warnings.catch_warnings(), zipfile.ZipFile(path, "a") as archive:
        warnings.simplefilter("ignore", UserWarning)
        archive.writestr(LOG, b"another")
    assert "twice" in refused(path)


def test_a_name_that_differs_in_case_alone_is_refused(tmp_path: Path) -> None:
    path = packed(tmp_path / "x.bundle.zip", {**contents(), "SCORE.json": b"{}"})
    assert "twice" in refused(path)


def test_a_link_is_refused(tmp_path: Path) -> None:
    files = contents()
    del files[SCORE]
    path = packed(tmp_path / "x.bundle.zip", files)
    with zipfile.ZipFile(path, "a") as archive:
        link = zipfile.ZipInfo(SCORE)
        link.create_system = 3
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
    assert "the link 'score.json'" in refused(path)


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    size = BUNDLE_BYTES + 1
    path = packed(
        tmp_path / "x.bundle.zip",
        {**contents(), "debrief.pdf": bytes(size)},
        compression=zipfile.ZIP_DEFLATED,
    )
    assert path.stat().st_size < 2_000_000
    assert "at most 64 MB unpacked" in refused(path)


def test_a_bomb_that_states_a_small_size_gives_no_more_than_it_states(tmp_path: Path) -> None:
    files = {**contents(), "debrief.pdf": bytes(8_000_000)}
    path = packed(tmp_path / "x.bundle.zip", files, compression=zipfile.ZIP_DEFLATED)
    raw = path.read_bytes().replace((8_000_000).to_bytes(4, "little"), (100).to_bytes(4, "little"))
    path.write_bytes(raw)
    assert refused(path)


def test_too_many_files_are_refused(tmp_path: Path) -> None:
    many = {f"protocols/p{n}.yaml": b"" for n in range(BUNDLE_FILES)}
    assert "at most 40 files" in refused(packed(tmp_path / "x.bundle.zip", {**contents(), **many}))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 and then nothing", b"hello"])
def test_what_is_no_zip_is_told(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "x.bundle.zip"
    path.write_bytes(content)
    assert "a whole zip file" in refused(path)


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.bundle.zip")
    assert "a folder" in refused(tmp_path)


def test_a_cut_off_zip_is_told(tmp_path: Path) -> None:
    path = tmp_path / "x.bundle.zip"
    path.write_bytes(bundle().content[:-1000])
    assert "a whole zip file" in refused(path)


@pytest.mark.parametrize(
    "manifest", [b"", b"[]", b'{"format": 1}', b'{"format": "simengine bundle 1"}', b"\xff"]
)
def test_a_broken_manifest_is_told(manifest: bytes, tmp_path: Path) -> None:
    message = refused(packed(tmp_path / "x.bundle.zip", {**contents(), MANIFEST: manifest}))
    assert MANIFEST in message


def test_missing_files_are_told_all_at_once(tmp_path: Path) -> None:
    files = contents()
    del files[SCORE], files["debrief.pdf"]
    message = refused(packed(tmp_path / "x.bundle.zip", files))
    assert "'score.json'" in message
    assert "'debrief.pdf'" in message


def test_scores_differ_where_they_differ() -> None:
    stated = {"total": 0.5, "items": [{"credit": None, "ok": True}]}
    assert (
        different(stated, {"total": 0.5 + 1e-12, "items": [{"credit": None, "ok": True}]}) is None
    )
    assert different(stated, {**stated, "total": 0.51}) == "total"
    assert different(stated, {**stated, "items": [{"credit": 0, "ok": True}]}) == "items[0].credit"
    assert different(stated, {**stated, "items": [{"credit": None, "ok": 1}]}) == "items[0].ok"
    assert different(stated, {**stated, "items": []}) == "items"
    assert different(stated, {"total": 0.5}) == ""
