"""The set-up pack. Sources of the figures stand beside each check."""

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from simengine.report.blocks import texts
from simengine.setup_pack import write_setup_pack
from simengine.setup_pack.build_pack import setup_pack
from simengine.setup_pack.contents import load_contents
from simengine.setup_pack.pack_page import SetupPack
from tests.debrief.read_back import pdf_pages, squeezed
from tests.pdfua.judge import pdfua_failures
from tests.report.shapes import NEVER, odd
from tests.shipped import PROTOCOLS
from tests.shipped import SCENARIOS as NAMES
from tests.shipped import scenario as scenario_of

DAY = date(2026, 1, 31)


def pack_of(name: str, protocol: str | None = None) -> SetupPack:
    scenario = scenario_of(name, protocol)
    return setup_pack(scenario, load_contents(scenario), day=(2026, 1, 31))


@cache
def printed_on(file: Path) -> tuple[str, ...]:
    """What stands on each page, without spaces, as a PDF's lines may break anywhere."""
    return tuple(pdf_pages(file.read_bytes()))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("packs")
    return {name: write_setup_pack(scenario_of(name), folder, day=DAY) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_every_text_of_the_pack_is_printed(name: str, made: dict[str, Path]) -> None:
    printed = "".join(printed_on(made[name]))
    pack = pack_of(name)
    for text in texts(pack):
        if text not in (pack.lang, pack.diagram.alt):
            assert squeezed(text) in printed, text


@pytest.mark.parametrize("name", NAMES)
def test_the_pack_can_be_read_by_everybody(name: str, made: dict[str, Path]) -> None:
    assert pdfua_failures(made[name]) == []


@pytest.mark.parametrize("name", NAMES)
def test_the_prebrief_is_one_page_and_the_sheets_are_pages_of_their_own(
    name: str, made: dict[str, Path]
) -> None:
    pack = pack_of(name)
    pages = printed_on(made[name])
    (prebrief,) = [page for page in pages if squeezed(pack.prebrief.title) in page]
    assert squeezed(pack.prebrief.acknowledged) in prebrief
    assert all(squeezed(line) in prebrief for line in pack.prebrief.lines)
    assert squeezed(pack.not_to_start.title) not in prebrief
    for sheet in (pack.parent, pack.returning):
        if sheet is not None:
            (page,) = [page for page in pages if squeezed(sheet.title + sheet.lead) in page]
            assert squeezed(pack.prebrief.title) not in page
    assert squeezed(pack.diagram.title) in pages[-1]


@pytest.mark.parametrize("name", NAMES)
def test_what_the_team_and_the_parent_read_gives_nothing_away(name: str) -> None:
    scenario, pack = scenario_of(name), pack_of(name)
    shown = " ".join([*texts(pack.prebrief), *(texts(pack.parent) if pack.parent else [])])
    own = " ".join(scenario.briefing.get(part, "") for part in ("learners", "risk", "cord_plan"))
    for fault in scenario.start.faults.values():
        assert fault.shows not in shown
        assert not fault.plant or fault.plant not in shown
    for state in list(scenario.states.values())[1:]:
        assert state.title not in shown.replace(own, "")
    for item in scenario.key:
        assert item.why not in shown


@pytest.mark.parametrize("name", NAMES)
def test_the_caution_stands_beside_every_table_with_a_figure_to_act_on(name: str) -> None:
    pack = pack_of(name)
    caution = pack.caution
    for table in (pack.faults, pack.settings, pack.sums, pack.figures, pack.cylinders, pack.steps):
        if table is not None:
            assert caution in table.lead or caution in table.note, table.title


def test_what_is_unsafe_in_any_baby_and_set_aside_here_is_shown_with_its_reason() -> None:
    scenario = replace(scenario_of("term-vigorous"), waives={"too_much_oxygen": "Taught here"})
    pack = setup_pack(scenario, load_contents(scenario), day=(2026, 1, 31))
    reasons = [
        fact.text for fact in pack.facts if fact.label == "Unsafe in any baby, but set aside here"
    ]
    assert reasons == ["too much oxygen: Taught here"]
    assert not [fact for fact in pack_of("term-vigorous").facts if "set aside" in fact.label]


@pytest.mark.parametrize("protocol", PROTOCOLS)
@pytest.mark.parametrize("name", ["term-not-breathing", "preterm-30-weeks"])
def test_a_pack_can_be_made_under_every_protocol_and_names_it(name: str, protocol: str) -> None:
    pack = pack_of(name, protocol)
    fact = next(fact for fact in pack.facts if fact.label == "Protocol")
    assert fact.text.startswith(f"{protocol}, edition ")
    signed = ("Not yet signed by a local clinician", "Signed by")
    assert any(words in line for line in pack.protocol for words in signed)


@pytest.mark.parametrize("name", NAMES)
def test_it_says_nothing_that_a_colleague_would_not_say(name: str) -> None:
    pack, scenario = pack_of(name), scenario_of(name)
    names = {fact.text for fact in pack.facts}
    formulas = [equation.formula for equation in scenario.vocabulary.equations.values()]
    written = " ".join([pack.diagram.alt, *scenario.briefing.values(), *formulas])
    spoken = [text.replace("\u200b", "") for text in texts(pack) if text not in names]
    assert odd(spoken, written, NEVER) == []


def sums(name: str, protocol: str | None = None) -> dict[str, tuple[str, str]]:
    table = pack_of(name, protocol).sums
    assert table is not None
    return {
        row[0].replace("\u00a0", " "): (
            row[1].replace("\u00a0", " "),
            row[2].replace("\u00a0", " "),
        )
        for row in table.rows
    }


def test_the_sums_are_shown_and_are_right_for_a_baby_of_3_4_kg() -> None:
    # RCUK 2021 (read): 20 mcg/kg, which is 0.2 mL/kg of 0.1 mg/mL; 3.4 x 0.2 = 0.68.
    shown = sums("term-not-breathing", "ercnls-2021")
    assert shown["Adrenaline, umbilical venous or intraosseous: volume"] == (
        "3.4 kg × 20 mcg/kg ÷ 0.1 mg/mL",
        "0.68 mL",
    )
    dose = shown["Adrenaline, umbilical venous or intraosseous: dose"]
    assert dose == ("3.4 kg × 20 mcg/kg", "68 mcg")
    # PMC5410630, table 1 (read): tracheal 0.5 to 1 mL/kg; 3.4 x 0.5 = 1.7, 3.4 x 1 = 3.4.
    assert shown["Adrenaline, tracheal: volume"] == (
        "3.4 kg × 50 mcg/kg ÷ 0.1 mg/mL to 3.4 kg × 100 mcg/kg ÷ 0.1 mg/mL",
        "1.7 to 3.4 mL",
    )
    # Volume 10 mL/kg (read). Depth at the lip: kg + 6 cm (read); Kempley's equations (read):
    # 1.822 ln(3.4) + 6.632 = 8.8617, 0.188 x 39 + 1.198 = 8.53.
    assert shown["Volume bolus"] == ("3.4 kg × 10 mL/kg", "34 mL")
    assert shown["Tube depth at the lips, weight + 6"] == ("3.4 + 6", "9.4 cm")
    assert shown["Tube depth at the lips, by weight"] == ("1.822 × ln(3.4) + 6.632", "8.86 cm")
    assert shown["Tube depth at the lips, by gestation"] == ("0.188 × 39 + 1.198", "8.53 cm")


def test_a_range_of_the_protocol_gives_both_ends() -> None:
    # PMC5410630, table 1 (read): 0.1 to 0.3 mL/kg; 3.4 x 0.1 = 0.34 and 3.4 x 0.3 = 1.02.
    shown = sums("term-not-breathing", "common-practice")
    assert shown["Adrenaline, umbilical venous or intraosseous: volume"][1] == "0.34 to 1.02 mL"


def test_cylinders_last_as_long_as_the_published_blend_says() -> None:
    # At 10 L/min in all, 30 % takes 1.139 L/min of oxygen (computed from FiO2 = (0.21 air + O2) /
    # total, read); at 8 L/min 0.911, and 100 bar of 2 L, 200 L, less a tenth lasts 180 / 0.911 =
    # 197 min; full 414 / 0.911 = 454 min. Full contents of 460 L: Lutman 2006 (read). With suction
    # at 8 L/min: 180 / 8.911 = 20 min. A tenth is kept back as in 5 L x 100 bar, less 10 %, at
    # 15 L/min, 30 min (worked example, read).
    table = pack_of("cot-term").cylinders
    assert table is not None
    rows = [tuple(cell.replace("\u00a0", " ") for cell in row) for row in table.rows]
    assert rows[0][:2] == ("Oxygen cylinder", "43 % of 460 L")
    assert rows[0][3:] == ("0.91 L/min", "197 min", "454 min")
    with_suction = rows[-1]
    assert "suction" in with_suction[2]
    assert with_suction[3:5] == ("8.91 L/min", "20 min")


def test_what_runs_as_found_has_a_row_of_its_own_and_is_in_no_other() -> None:
    # In air the T-piece draws no oxygen; suction alone draws 8 L/min: 46 L less a tenth,
    # 41.4 / 8 = 5.175 min (by hand).
    table = pack_of("suction-left-on").cylinders
    assert table is not None
    rows = [tuple(cell.replace("\u00a0", " ") for cell in row) for row in table.rows]
    oxygen = [row[2:5] for row in rows if row[0] == "Oxygen cylinder"]
    assert oxygen == [
        ("gas flow 8 L/min, oxygen 21 %", "0.00 L/min", "not used"),
        ("gas flow 8 L/min, oxygen 21 %, suction running as found", "8.00 L/min", "5 min"),
    ]


def test_settings_stand_as_found_and_as_they_should_be_with_who_says_so() -> None:
    rows = {row[0]: row[1:] for row in pack_of("cot-term").settings.rows}
    as_found, should, source = (cell.replace("\u00a0", " ") for cell in rows["Peak pressure (PIP)"])
    # Common practice, no source: 30 cmH2O at 34 weeks or more, 5 cmH2O end pressure, 8 L/min.
    assert (as_found, should) == ("40 cmH2O", "30 cmH2O (give or take 2 cmH2O)")
    assert source.endswith("Common practice, no published source")
    assert rows["Heater output"][1] == "increased"


def test_every_planted_fault_is_planted_and_taken_back() -> None:
    scenario, pack = scenario_of("cot-term"), pack_of("cot-term")
    assert pack.faults is not None
    assert pack.returning is not None
    shows = [fault.shows for fault in scenario.start.faults.values()]
    assert [row[0].replace("\u00a0", " ") for row in pack.faults.rows] == shows
    assert [line.replace("\u00a0", " ") for line in pack.returning.faults] == [
        f"Put right: {fault.shows}. {fault.put_back}" for fault in scenario.start.faults.values()
    ]
    assert sum("nitials" in line for line in pack.returning.initials) == 2
    assert any("drugs counted" in line for line in pack.returning.lines)
    assert sum("cylinder gauge read" in line for line in pack.returning.lines) == 2


def test_what_is_laid_out_is_what_the_scenario_turns_on() -> None:
    preterm = " ".join(pack_of("preterm-30-weeks").lay_out.lines)
    term = " ".join(pack_of("term-not-breathing").lay_out.lines)
    assert "Plastic bag or wrap" in preterm
    assert "Plastic bag or wrap" not in term
    assert "Training drugs" in term


def test_the_same_day_makes_the_same_bytes(tmp_path: Path) -> None:
    first = write_setup_pack(scenario_of("cot-term"), tmp_path / "one", day=DAY)
    two = write_setup_pack(scenario_of("cot-term"), tmp_path / "two", day=DAY)
    assert first.read_bytes() == two.read_bytes()
