"""The practice check over HTTP: made by an educator, opened by its code alone, kept as threats."""

from __future__ import annotations

import re
from html import unescape

from simengine.store.threats import threats
from tests.console.consoles import LAN, Browser, Desk

TITLE = "Practice check, not the unit's equipment record"


def code_of(desk: Desk, **fields: str) -> str:
    answer = desk.form("/practice", **{"protocol": "ercnls-2021", "unit": "Larkmoor", **fields})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].split("/")[2]


def id_in(page: str) -> str:
    match = re.search(r'name="check" value="([^"]+)"', page)
    assert match is not None
    return match[1]


def test_the_first_page_leads_to_it_and_it_says_what_it_is(desk: Desk) -> None:
    assert 'href="/practice"' in desk.first_page()
    page = unescape(desk.client.get(f"/practice/{code_of(desk)}").text)
    assert f"<h1>{TITLE}</h1>" in page
    assert "Training only" in page
    for word in (" safe ", " ready ", "score:"):
        assert word not in page.lower()


def test_whoever_has_the_code_opens_the_list_with_no_account(desk: Desk) -> None:
    code = code_of(desk)
    phone = desk.another()
    phone.open("/join")
    answer = phone.form("/join", code=code.lower(), who="display")
    assert answer.headers["location"] == f"/practice/{code}"
    page = phone.client.get(f"/practice/{code}")
    assert page.status_code == 200
    assert "qr.svg" not in page.text
    assert phone.client.get("/practice").status_code == 403
    assert phone.client.get("/", follow_redirects=False).status_code != 200


def test_over_a_network_the_code_alone_opens_it(tmp_path) -> None:  # type: ignore[no-untyped-def]
    desk = Desk(tmp_path / "data", lan=LAN)
    with desk.client:
        code = code_of(desk.sign_in())
        phone = desk.another()
        phone.open("/join")
        answer = phone.form("/join", code=code, who="observer")
        assert answer.headers["location"] == f"/practice/{code}"
        assert phone.client.get(f"/practice/{code}").status_code == 200


def finished(browser: Browser, code: str, check: str, **fields: str):  # type: ignore[no-untyped-def]
    return browser.form(f"/practice/{code}", check=check, **fields)


def test_what_is_found_goes_to_the_units_threats_once_with_kind_owner_and_day(desk: Desk) -> None:
    code = code_of(desk)
    phone = desk.another()
    phone.open(f"/practice/{code}")
    check = id_in(phone.client.get(f"/practice/{code}").text)
    fields = {
        "row.bag": "away",
        "row.masks": "right",
        "fault.drugs.adrenaline_expired": "yes",
        "read.suction.suction_pressure": "20",
        "unit.suction.suction_pressure": "kPa",
        "owner": "shift leader",
        "due": "2027-02-01",
    }
    for _ in range(2):
        answer = finished(phone, code, check, **fields)
        assert answer.status_code == 200, answer.text
    kept = {threat.words: threat for threat in threats(desk.hub.store, unit="Larkmoor")}
    assert len(kept) == 3
    assert {threat.category for threat in kept.values()} == {"equipment", "drugs"}
    assert {threat.owner for threat in kept.values()} == {"shift leader"}
    assert {str(threat.due) for threat in kept.values()} == {"2027-02-01"}
    assert any(words.startswith("Suction") and "20 kPa" in words for words in kept)
    assert "Not looked at" in answer.text


def test_without_a_unit_nothing_is_said_to_be_on_a_units_list(desk: Desk) -> None:
    code = code_of(desk, unit="")
    page = desk.client.get(f"/practice/{code}").text
    assert "What is found goes on the list of threats, without a unit" in page
    done = finished(desk, code, id_in(page), **{"row.bag": "away"}).text
    assert "on the list of threats without a unit" in done
    assert "unit's list" not in unescape(page + done)
    (kept,) = threats(desk.hub.store)
    assert kept.unit is None


def test_a_check_in_which_nothing_was_looked_at_finds_nothing_and_says_why(desk: Desk) -> None:
    code = code_of(desk)
    page = desk.client.get(f"/practice/{code}").text
    assert "What is found goes on the list of threats of Larkmoor" in page
    done = finished(desk, code, id_in(page)).text
    assert "Nothing was looked at, so nothing is known about this cot." in done
    assert "Nothing wrong was found" not in done
    assert threats(desk.hub.store) == ()


def test_the_sheet_is_a_pdf_to_print(desk: Desk) -> None:
    code = code_of(desk)
    check = id_in(desk.client.get(f"/practice/{code}").text)
    done = finished(desk, code, check, **{"row.masks": "right"}).text
    match = re.search(r'name="sheet" value="([^"]+)"', done)
    assert match is not None
    answer = desk.form(f"/practice/{code}/sheet", sheet=unescape(match[1]))
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_a_sheet_that_is_no_sheet_is_refused_in_words(desk: Desk) -> None:
    answer = desk.form(f"/practice/{code_of(desk)}/sheet", sheet="{}")
    assert answer.status_code == 422
    assert "Traceback" not in answer.text


def test_an_unreadable_figure_keeps_all_that_was_typed(desk: Desk) -> None:
    code = code_of(desk)
    check = id_in(desk.client.get(f"/practice/{code}").text)
    answer = finished(desk, code, check, **{"read.relief.relief_limit": "lots", "row.bag": "away"})
    assert answer.status_code == 422
    assert 'value="lots"' in answer.text
    assert threats(desk.hub.store) == ()


def test_an_ended_code_and_an_unknown_one_open_nothing_and_guesses_are_limited(desk: Desk) -> None:
    code = code_of(desk)
    assert desk.form(f"/practice/{code}/end").status_code == 303
    phone = desk.another()
    phone.open("/join")
    assert phone.client.get(f"/practice/{code}").status_code == 404
    answers = [phone.client.get(f"/practice/NOPE{number}").status_code for number in range(40)]
    assert answers[-1] == 429


def test_a_code_stays_over_a_restart_and_ends_after_a_month(desk: Desk, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from simengine.practice_check.codes import LASTS_DAYS, Codes

    code = code_of(desk)
    now_ms = desk.clock.wall_ms()
    again = Codes(tmp_path / "data")
    assert again.get(code, now_ms) is not None
    assert again.get(code, now_ms + (LASTS_DAYS + 1) * 86_400_000) is None


def test_a_gestation_that_makes_no_sense_is_told(desk: Desk) -> None:
    answer = desk.form("/practice", protocol="ercnls-2021", gestation="soon")
    assert answer.status_code == 422
    assert "Gestation or weight" in answer.text
