"""A session from the choice of a scenario to the debrief, without a browser."""

from __future__ import annotations

import shutil
from html import unescape
from pathlib import Path

import pytest

from simengine.resources import scenarios_dir
from simengine.scenario import find_scenario, load_scenario
from simengine.session.log_file import read_log_file
from simengine.session.verify import verify_log
from simengine.store import Store, StoreError
from tests.console.consoles import OTHER_COT, Desk, SetClock, entry, first_view, token_in


def clock_of(desk: Desk) -> SetClock:
    assert isinstance(desk.clock, SetClock)
    return desk.clock


def test_the_first_page_offers_the_shipped_scenarios(desk: Desk) -> None:
    page = unescape(desk.first_page())
    for name in ("term-not-breathing", "preterm-30-weeks", "cot-term"):
        file = find_scenario(name, [])
        assert file is not None
        assert load_scenario(file).title in page


def test_the_prebrief_comes_before_the_console(desk: Desk) -> None:
    session = desk.plan(role__airway="N-104")
    page = unescape(desk.client.get(f"/s/{session}/prebrief").text)
    assert "N-104" in page
    assert "unsigned" in page
    answer = desk.client.get(f"/s/{session}", follow_redirects=False)
    assert answer.headers["location"] == f"/s/{session}/prebrief"
    assert desk.form(f"/s/{session}/start").status_code == 422
    assert desk.form(f"/s/{session}/start", acknowledged="yes").status_code == 303
    assert desk.view(session)["people"] == [{"code": "N-104", "roles": ["airway"]}]


def test_what_was_planned_can_be_changed_before_the_start(desk: Desk) -> None:
    chosen = {"role__airway": "N-104, M-021", "weight": "2.9 kg", "unit": "Larkmoor"}
    session = desk.plan("term-responds", purpose="summative", **chosen)
    again = f"/?like={session}"
    assert f'href="{again}"' in desk.client.get(f"/s/{session}/prebrief").text
    page = desk.client.get(again).text
    for value in ("N-104, M-021", "2.9 kg", "Larkmoor"):
        assert f'value="{value}"' in page
    for value in ("term-responds", "summative"):
        assert f'value="{value}" checked' in page
    assert 'value="N-104' not in desk.client.get("/?like=no-such-session").text


def test_starting_twice_opens_one_log(desk: Desk) -> None:
    session = desk.start()
    assert desk.form(f"/s/{session}/start", acknowledged="yes").status_code == 303
    assert [line["kind"] for line in desk.log(session)].count("opened") == 1


def test_a_weight_of_300_kg_is_asked_about_and_taken_if_it_is_meant(desk: Desk) -> None:
    fields = {"scenario": "term-not-breathing", "purpose": "formative", "weight": "300 kg"}
    answer = desk.form("/sessions", **fields)
    assert answer.status_code == 422
    assert "A weight of 300 kg? It is usually 0.3 to 6.5 kg." in answer.text
    assert desk.form("/sessions", **fields, meant=", 300 kg").status_code == 303
    assert (
        desk.form("/sessions", **{**fields, "weight": "301 kg"}, meant=", 300 kg").status_code
        == 422
    )


def test_weeks_and_grams_need_no_unit(desk: Desk) -> None:
    session = desk.start(gestation="37+3", weight="2900")
    opened = desk.log(session)[0]["data"]
    assert opened["infant"] == {"gestation": "37 wk 3 d", "weight": "2.9 kg"}


def test_weight_gestation_protocol_and_team_go_into_the_log(desk: Desk) -> None:
    session = desk.start(
        weight="2.9 kg", gestation="37 wk 3 d", protocol="example-local", role__leader="D-1 D-2"
    )
    opened = desk.log(session)[0]["data"]
    assert opened["infant"] == {"gestation": "37 wk 3 d", "weight": "2.9 kg"}
    assert opened["protocol"]["id"] == "example-local"
    assert opened["team"] == {"leader": ["D-1", "D-2"]}
    assert opened["purpose"] == "formative"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"weight": "heavy"}, "Gestation or weight"),
        ({"weight": "-2 kg"}, "Gestation or weight"),
        ({"gestation": "30 kg"}, "Gestation or weight"),
        ({"protocol": "no-such"}, "no-such"),
        ({"role__leader": "<b>"}, "expected a code"),
        ({"role__leader": "x" * 40}, "expected a code"),
        ({"role__leader": "Ada Nurse"}, "never a name"),
    ],
)
def test_a_form_filled_in_wrongly_says_what_is_wrong_and_keeps_the_rest(
    desk: Desk, fields: dict[str, str], words: str
) -> None:
    answer = desk.form(
        "/sessions",
        scenario="term-not-breathing",
        purpose="formative",
        role__airway="N-9",
        **fields,
    )
    assert answer.status_code == 422
    assert words in unescape(answer.text)
    assert "N-9" in answer.text


def test_an_unknown_scenario_or_purpose_is_refused(desk: Desk) -> None:
    assert desk.form("/sessions", scenario="../../etc", purpose="formative").status_code == 422
    answer = desk.form("/sessions", scenario="cot-term", purpose="fun")
    assert answer.status_code == 422


def test_a_session_runs_on_the_live_engine_and_its_log_verifies(desk: Desk, tmp_path: Path) -> None:
    session = desk.start(role__airway="N-104")
    clock = clock_of(desk)
    clock.at_ms += 10_000
    answer = desk.send(session, entry("event", 10_000, {"name": "birth"}))
    assert answer["refused"] == []
    clock.at_ms += 40_000
    started = entry(
        "action", 45_000, {"action": "mask_ventilation", "phase": "start", "role": "airway"}
    )
    desk.send(session, started)
    clock.at_ms += 6_000
    view = desk.view(session)
    # 5 s of ventilation lead on, whatever it does (the scenario's own rule); nobody has asked the
    # server since, so that its timer took it.
    desk.send(session, entry("note", 56_000, {"text": "seen"}))
    view = desk.view(session)
    assert view["state"] == "chest_still"
    assert view["actions"]["mask_ventilation"]["running_ms"] == 45_000
    lane = next(lane for lane in view["lanes"] if lane["role"] == "airway")
    assert [act["action"] for act in lane["doing"]] == ["mask_ventilation"]
    clock.at_ms += 1_000
    desk.send(session, entry("closed", 57_000, {"why": "stopped early"}))
    assert desk.view(session)["closed"] == "stopped early"
    file = tmp_path / "out.session.jsonl"
    file.write_text(desk.client.get(f"/s/{session}/log").text, encoding="utf-8")
    events, warnings = read_log_file(file)
    assert warnings == ()
    scenario_file = find_scenario("term-not-breathing", [])
    assert scenario_file is not None
    assert verify_log(load_scenario(scenario_file), events) is None
    states = [event for event in events if event.kind == "state"]
    assert [event.data["state"] for event in states] == ["waiting", "limp", "chest_still"]
    assert states[-1].at_ms == 50_000


def test_the_same_id_is_taken_once_and_answered_the_same(desk: Desk) -> None:
    session = desk.start()
    clock_of(desk).at_ms += 5_000
    once = entry("note", 4_000, {"text": "once"})
    first = desk.send(session, once)
    again = desk.send(session, once, once)
    assert first["taken"] == [once["id"]]
    assert again["taken"] == [once["id"], once["id"]]
    assert again["refused"] == []
    assert [line["id"] for line in desk.log(session)].count(once["id"]) == 1


def test_an_entry_that_cannot_be_taken_keeps_no_other_from_being_taken(desk: Desk) -> None:
    session = desk.start()
    good = entry("note", 0, {"text": "good"})
    state = entry("state", 0, {"state": "no-such", "cause": "facilitator"})
    shape = entry("action", 0, {"action": "dry", "phase": "done", "extra": 1})
    answer = desk.send(session, state, shape, good)
    assert answer["taken"] == [good["id"]]
    assert {refusal["id"] for refusal in answer["refused"]} == {state["id"], shape["id"]}
    assert all(refusal["words"] for refusal in answer["refused"])


def test_times_come_from_the_device_and_never_from_the_future(desk: Desk) -> None:
    session = desk.start()
    clock_of(desk).at_ms += 60_000
    early = entry("note", 12_345, {"text": "early"})
    ahead = entry("note", 90_000, {"text": "ahead"})
    desk.send(session, early, ahead)
    at = {line["id"]: (line["at_ms"], line["noted_ms"]) for line in desk.log(session)}
    assert at[early["id"]] == (12_345, 60_000)
    assert at[ahead["id"]] == (60_000, 60_000)


def test_correcting_and_removing_an_entry(desk: Desk) -> None:
    session = desk.start()
    clock_of(desk).at_ms += 60_000
    dried = entry("action", 30_000, {"action": "dry", "phase": "done"})
    desk.send(session, dried)
    desk.send(session, entry("amend", 60_000, {"id": dried["id"], "fields": {"at_ms": 25_000}}))
    row = next(shown for shown in desk.view(session)["tape"] if shown["id"] == dried["id"])
    assert (row["log_ms"], row["corrected"], row["removed"]) == (25_000, True, False)
    by = row["by"]
    steps = desk.view(session)["steps"][by]["undo"]
    assert [(step["kind"], step["words"]) for step in steps] == [
        ("action", "Drying the baby"),
        ("amend", "The correction of drying the baby"),
    ]
    removal = entry("amend", 60_000, {"id": dried["id"], "withdrawn": True})
    desk.send(session, removal)
    row = next(shown for shown in desk.view(session)["tape"] if shown["id"] == dried["id"])
    assert row["removed"]
    (back,) = desk.view(session)["steps"][by]["redo"]
    assert (back["id"], back["taken_by"]) == (dried["id"], removal["id"])


def test_two_devices_record_into_one_log(desk: Desk) -> None:
    session = desk.start()
    second = desk.another()
    second.token = second.client.get("/join").text.split('name="csrf" content="')[1].split('"')[0]
    recorder = desk.hub.running(session).plan.recorder
    answer = second.form("/join", code=recorder.lower(), who="observer")
    assert answer.headers["location"] == f"/s/{session}"
    page = second.client.get(f"/s/{session}").text
    second.token = page.split('name="csrf" content="')[1].split('"')[0]
    first, other = (entry("note", 0, {"text": text}) for text in ("one", "other"))
    desk.send(session, first)
    second.send(session, other)
    by = {line["id"]: line["by"] for line in desk.log(session)}
    assert by[first["id"]] != by[other["id"]]


def test_stop_real_patient_blanks_every_screen_and_keeps_the_record(desk: Desk) -> None:
    session = desk.start("cot-term")
    display = desk.hub.running(session).plan.display
    desk.send(session, entry("note", 0, {"text": "kept"}))
    answer = desk.send(session, entry("closed", 0, {"why": "safety stop"}))
    assert answer["refused"] == []
    shown = first_view(desk.another().client.get(f"/d/{display}").text)
    assert shown["closed"] == "safety stop"
    assert shown["lines"] == []
    assert desk.view(session)["closed"] == "safety stop"
    assert "kept" in [line["data"].get("text") for line in desk.log(session)]


def test_a_session_with_planted_faults_closes_only_after_the_cot_is_returned(desk: Desk) -> None:
    session = desk.start("cot-term")
    answer = desk.send(session, entry("closed", 0, {"why": "finished"}))
    assert "returned to service" in answer["refused"][0]["words"]
    faults = [fault["name"] for fault in desk.view(session)["faults"]]
    assert faults
    put_right = {f"fault__{name}": "yes" for name in faults}
    counted = {"cylinders": "two, full", "drugs": "one box"}
    half = desk.form(
        f"/s/{session}/return", **dict(list(put_right.items())[1:]), **counted, first="AB"
    )
    assert half.status_code == 422
    assert "put right" in half.text
    nobody = desk.form(f"/s/{session}/return", **put_right, **counted, first=" ")
    assert nobody.status_code == 422
    assert "initials" in nobody.text
    first = desk.form(f"/s/{session}/return", **put_right, **counted, first="AB")
    assert first.status_code == 200
    assert "For the second person" in first.text
    assert not desk.view(session)["returned"]
    for second, looked, why in (
        ("", "yes", "initials"),
        ("a.b.", "yes", "two different initials"),
        ("CD", "no", "check the cot as well"),
    ):
        alone = desk.form(
            f"/s/{session}/return", **put_right, **counted, first="AB", second=second, looked=looked
        )
        assert alone.status_code == 422
        assert why in unescape(alone.text)
    assert not desk.view(session)["returned"]
    whole = desk.form(
        f"/s/{session}/return", **put_right, **counted, first="AB", second="CD", looked="yes"
    )
    assert whole.status_code == 303
    assert desk.view(session)["returned"]
    answer = desk.send(session, entry("closed", 0, {"why": "finished"}))
    assert answer["refused"] == []
    assert desk.view(session)["closed"] == "finished"


def test_where_the_other_cot_is_stands_in_the_record_before_the_start(desk: Desk) -> None:
    session = desk.plan("cot-term")
    page = unescape(desk.client.get(f"/s/{session}/prebrief").text)
    assert "Where the other cot is" in page
    without = desk.form(f"/s/{session}/start", acknowledged="yes", other_cot="  ")
    assert without.status_code == 422
    assert "Write down where the other cot is" in without.text
    assert (
        desk.form(f"/s/{session}/start", acknowledged="yes", other_cot="bay 3").status_code == 303
    )
    assert desk.log(session)[0]["data"]["other_cot"] == "bay 3"
    # where no fault is planted there is nothing to ask for
    plain = desk.plan("term-vigorous")
    assert desk.form(f"/s/{plain}/start", acknowledged="yes").status_code == 303
    assert "other_cot" not in desk.log(plain)[0]["data"]


def test_after_stop_every_screen_says_first_not_to_use_the_cot_until_it_is_returned(
    desk: Desk,
) -> None:
    session = desk.start("cot-term")
    plan = desk.hub.running(session).plan
    phone = desk.another()
    phone.token = token_in(phone.client.get("/join").text)
    phone.form("/join", code=plan.recorder, who="observer")
    display = f"/d/{plan.display}"
    assert first_view(desk.another().client.get(display).text)["cot"] is None  # gives nothing away
    running = desk.view(session)["cot"]
    assert running["other"] == OTHER_COT
    shows = [fault["shows"] for fault in desk.view(session)["faults"]]
    mended = desk.view(session)["faults"][0]
    at_start = entry("fault", 0, {"fault": mended["name"], "status": "mended"})
    desk.send(session, at_start, entry("closed", 0, {"why": "safety stop"}))
    left = [fault for fault in shows if fault != mended["shows"]]
    assert left

    for view in (
        desk.view(session),
        first_view(desk.another().client.get(display).text),
        desk.client.get(f"/s/{session}/review.json").json(),
    ):
        assert view["cot"] == {"faults": left, "other": OTHER_COT}
    for browser, address in (
        (desk, "/"),
        (desk, f"/s/{session}/review"),
        (desk, f"/s/{session}/return"),
        (phone, f"/s/{session}"),
    ):
        page = unescape(browser.client.get(address).text)
        main = page[page.index("<main") :]
        assert main.index("Do not use this cot") < main.index("<h1"), address
        assert all(fault in main for fault in left), address
        assert OTHER_COT in main, address
    assert "cot not returned" in desk.client.get("/").text

    put_right = {f"fault__{fault['name']}": "yes" for fault in desk.view(session)["faults"]}
    counted = {"cylinders": "two", "drugs": "one", "first": "AB", "second": "CD", "looked": "yes"}
    assert desk.form(f"/s/{session}/return", **put_right, **counted).status_code == 303
    assert desk.view(session)["cot"] is None
    for browser, address in ((desk, "/"), (desk, f"/s/{session}/review"), (phone, f"/s/{session}")):
        assert "Do not use this cot" not in browser.client.get(address).text
    assert first_view(desk.another().client.get(display).text)["cot"] is None
    assert "cot not returned" not in desk.client.get("/").text


def test_a_cot_that_was_not_returned_is_told_after_a_restart_too(tmp_path: Path) -> None:
    before = Desk(tmp_path)
    with before.client:
        session = before.sign_in().start("cot-term")
        before.send(session, entry("closed", 0, {"why": "safety stop"}))
    after = Desk(tmp_path)
    with after.client:
        page = after.sign_in().client.get("/").text
    assert page.index("Do not use this cot") < page.index("<h1")
    assert f'href="/s/{session}/return"' in page


def test_people_join_swap_and_leave(desk: Desk) -> None:
    session = desk.start(role__airway="N-104")
    desk.send(
        session,
        entry("joined", 0, {"person": "M-2", "role": "circulation"}),
        entry("role", 0, {"person": "N-104", "role": "leader", "leaves": "airway"}),
        entry("joined", 0, {"person": "N-9", "role": "airway"}),
        entry("left", 0, {"person": "M-2", "role": "circulation"}),
    )
    lanes = {lane["role"]: lane["people"] for lane in desk.view(session)["lanes"]}
    assert lanes["leader"] == ["N-104"]
    assert lanes["airway"] == ["N-9"]
    assert lanes["circulation"] == []


def test_the_review_follows_a_correction(desk: Desk) -> None:
    session = desk.start()
    clock = clock_of(desk)
    desk.send(session, entry("event", 0, {"name": "birth"}))
    clock.at_ms += 70_000
    dried = entry("action", 70_000, {"action": "dry", "phase": "done"})
    desk.send(session, dried, entry("closed", 70_000, {"why": "stopped early"}))

    def verdict() -> str:
        items = desk.client.get(f"/s/{session}/review.json").json()["items"]
        return str(next(item["verdict"] for item in items if item["id"] == "expect:dry"))

    assert verdict() == "too late"
    desk.send(session, entry("amend", 0, {"id": dried["id"], "fields": {"at_ms": 20_000}}))
    assert verdict() == "on time"
    data = desk.client.get(f"/s/{session}/review.json").json()
    assert " of " in data["total"]  # a total says how many items it rests on
    assert "Drying the baby" not in data["busy"]
    assert desk.client.get(f"/s/{session}/review").status_code == 200


def test_the_debrief_is_a_page_and_a_pdf(desk: Desk) -> None:
    session = desk.start()
    clock_of(desk).at_ms += 60_000
    desk.send(
        session,
        entry("event", 1_000, {"name": "birth"}),
        entry("closed", 60_000, {"why": "stopped early"}),
    )
    answer = desk.client.get(f"/s/{session}/debrief")
    assert answer.status_code == 200, answer.text
    assert "Term newborn who is not breathing" in unescape(answer.text)
    policy = answer.headers["content-security-policy"]
    assert "sha256-" in policy
    assert "unsafe" not in policy
    pdf = desk.client.get(f"/s/{session}/debrief.pdf")
    assert pdf.content.startswith(b"%PDF")


def test_what_was_due_while_the_server_was_away_is_taken_and_marked_late(tmp_path: Path) -> None:
    clock = SetClock()
    before = Desk(tmp_path, clock=clock)
    with before.client:
        session = before.sign_in().start()
        clock.at_ms += 1_000
        before.send(session, entry("event", 1_000, {"name": "birth"}))
    clock.at_ms += 100_000
    after = Desk(tmp_path, clock=clock)
    with after.client:
        after.sign_in()
        states = [line for line in after.log(session) if line["kind"] == "state"]
        view = after.view(session)
    # The scenario's own rule: 80 s without ventilation.
    assert states[-1]["data"]["state"] == view["state"] == "unventilated"
    assert (states[-1]["at_ms"], states[-1]["noted_ms"]) == (81_000, 101_000)
    assert states[-1]["data"]["late"] is True
    assert view["now"]["scenario_ms"] == 101_000


def test_a_scenario_changed_under_a_session_keeps_it_shut_with_words(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios"
    shutil.copytree(scenarios_dir(), folder)
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        session = desk.sign_in().start()
    file = folder / "term-not-breathing.yaml"
    text = file.read_text(encoding="utf-8")
    assert "after: 80 s" in text
    file.write_text(text.replace("after: 80 s", "after: 90 s"), encoding="utf-8")
    again = Desk(tmp_path / "data", (folder,))
    with again.client:
        again.sign_in()
        answer = again.client.get(f"/s/{session}")
        assert answer.status_code == 404
        assert "has been changed" in unescape(answer.text)
        assert again.client.get("/").status_code == 200


def test_a_store_that_fails_takes_nothing_and_the_device_can_send_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = desk.start()
    note = entry("note", 0, {"text": "said once"})

    def full(*_: object) -> None:
        raise StoreError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(Store, "append", full)
        answer = desk.send_raw(session, {"events": [note]})
        assert answer.status_code == 503
        assert "disk is full" in answer.json()["words"]
    assert "said once" not in [line["data"].get("text") for line in desk.log(session)]
    assert desk.send(session, note)["taken"] == [note["id"]]
    assert [line["data"].get("text") for line in desk.log(session)].count("said once") == 1


def test_a_state_that_ends_the_session_closes_it_after_its_last_look(desk: Desk) -> None:
    session = desk.start()
    clock = clock_of(desk)
    clock.at_ms += 1_000
    desk.send(session, entry("event", 1_000, {"name": "birth"}))
    end = {"state": "handed_over", "cause": "facilitator"}
    desk.send(session, entry("state", 1_000, end))
    view = desk.view(session)
    assert view["closed"] is None
    assert view["ending_ms"] == 16_000  # the scenario lingers for 15 s
    clock.at_ms += 16_000
    desk.send(session, entry("note", 17_000, {"text": "after the end"}))
    view = desk.view(session)
    assert view["closed"] == "finished"
    closed = next(line for line in desk.log(session) if line["kind"] == "closed")
    assert closed["at_ms"] == 16_000
    # The debrief is being made already, from the card that was kept for the session's result.
    assert list((desk.data / "debriefs" / session).iterdir())
    assert desk.client.get(f"/s/{session}/debrief").status_code == 200
    last = desk.log(session)[-1]["hash"]
    assert (desk.data / "debriefs" / session / last[:16] / "card.json").exists()
