"""What a manager is asked and does in the Office without having read anything, by keys and scans only."""

import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from kittrack.services import ordering
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import open_store
from kittrack.tui import layout
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.widgets.record_list import RecordList
from tests import factories
from tests.factories import BUILDER, CLERK, INSPECTOR, MANAGER, TAIL2, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_aircraft import AROUND, MARKS, begin, fasten, inspect
from tests.tui.test_aircraft import fit as fit_rotor
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list

Rows = Callable[[str], list[tuple[object, ...]]]


def cells(me: Person) -> list[tuple[str, ...]]:
    return [record.cells for record in me.station.query_one(RecordList)._records]


async def choose_by_question(me: Person, words: str) -> str:
    """The first list that somebody finds by words of their question."""
    await me.press("f8")
    for key in words:
        await me.send_key(key)
    await me.settle()
    await me.press("enter")
    return me.verdict


@pytest.mark.parametrize(
    ("words", "title"),
    [
        ("can be built", "ship sets"), ("proved and", "integrity"), ("where is", "lots"), ("to be ordered", "re-order"),
        ("overrode", "overrides"), ("expire unused", "will expire unused"), ("handed to", "vouchers"),
    ],
)  # fmt: skip
async def test_a_list_is_found_by_the_words_of_the_question(world: World, words: str, title: str) -> None:
    async with stations(world.url, start="office") as me:
        assert (await choose_by_question(me, words)).startswith(f"NEXT: {title} (list"), me.screen


@pytest.mark.parametrize("mode", ["goods_in", "matching", "kitting", "office"])
async def test_every_list_says_what_it_answers(world: World, mode: str) -> None:
    async with stations(world.url, start=mode) as me:
        await me.press("f8")
        records = me.app.screen.query_one(RecordList)._records
        assert records
        assert all(record.cells[2].removeprefix("shown now: ") for record in records)


async def test_what_is_orphaned_is_told_of_its_own_line(world: World) -> None:
    store = open_store(world.url)
    code = factories.put_sets(store, factories.CW_BLADE, 1, at=after(20), lot_code="BROKEN")[0]
    store.close()
    async with stations(world.url, start="office", size=(140, 40)) as me:
        await sign_on(me, world, MANAGER)
        await me.scan(code)
        await open_form(me, "set break")
        await fill(me, reason="dropped")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "integrity")
        lines = {of: number for number, of in cells(me)}
        assert lines["sets were broken"] == "1"
        assert lines["blades are orphaned"] == "2"
        assert "was in" not in me.screen
        await me.press("down", "down", "down", "down")
        assert me.screen.count(f"was in {code}") == 2
        assert "F9 who could re-match them" in me.screen
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)


async def test_what_another_station_does_is_found_by_its_name(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await me.press("f10")
        for key in "set break":
            await me.send_key(key)
        await me.settle()
        assert "every station" in me.screen.split("\n")[0]
        assert "Matching" in me.screen
        assert "F10 this station" in " ".join(me.screen.split())


async def test_figures_stand_at_the_right_under_their_heading(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await to_list(me, "accuracy of counts")
        lines = [line for line in me.screen.split("\n") if "counts  right" in line or " 2025-" in line]
        head = lines[0].index("counts") + len("counts")
        assert all(line[head - 1] == "0" and line[head : head + 1] in ("", " ") for line in lines[1:8])


async def test_a_count_goes_on_from_its_place_and_the_manager_sees_what_differs(
    world: World, ask: Rows
) -> None:
    [(line,)] = ask(
        "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = 'SC-M3x8'"
    )
    async with stations(world.url, start="office", size=(140, 40)) as me:
        await sign_on(me, world, CLERK)
        await to_list(me, "to count")
        for key in "a-01":
            await me.send_key(key)
        await me.settle()
        await me.press("f9", "f9")
        assert "F9 enter what was counted" in me.screen
        await me.press("f9")
        await me.scan(str(line))
        await fill(me, entries="=22")
        await me.press("f9")
        assert "F9 enter what another person counted" in me.screen
        assert "on record" not in me.screen
        await me.press("f12")
        await sign_on(me, world, BUILDER)
        await me.press("f9")
        await me.scan(str(line))
        await fill(me, entries="=22")
        assert "on record" not in me.screen
        await me.press("f9")
        assert "24 on record, 22 counted, 22 counted again: 2 MISSING" in " ".join(me.screen.split())
        await me.press("f12")
        await sign_on(me, world, MANAGER)
        await me.press("f9")
        assert "2 MISSING" in " ".join(me.screen.split()), "who settles sees what is settled"
        await fill(me, reason="box torn")
        await me.scan(world.badge(INSPECTOR))
        await me.press("f9")
        assert "now unaccounted" in me.verdict, me.screen
        assert "Next, F9: show what it found" in me.verdict


async def test_a_mistaken_count_is_begun_anew_by_two(world: World, ask: Rows) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, CLERK)
        await to_list(me, "counts")
        await me.press("f9")
        await fill(me, place="A-01")
        await me.press("f9", "f9", "f9")
        [(count,)] = ask("SELECT code FROM stock_count")
        assert f"{count} differs at" in me.verdict, me.screen
        await open_form(me, "count anew")
        await fill(me, reason="wrong bin")
        await me.scan(world.badge(INSPECTOR))
        await me.press("f9")
        assert f"Next, F9: enter what was counted ({count})" in me.verdict, me.screen
    assert ask("SELECT state FROM stock_count") == [("open",)]


def place_order(world: World) -> str:
    store = open_store(world.url)
    lines = [OrderSpec("RB-18-CW", 6, due=date(2030, 1, 1)), OrderSpec("RB-18-CCW", 4, due=date(2030, 1, 1))]
    try:
        return ordering.place_order(
            store, supplier="Invented Rotors", reference="PO 7", lines=lines, by=MANAGER, at=after(20)
        ).codes[0]
    finally:
        store.close()


async def test_each_line_of_an_order_is_received_with_what_it_says(world: World) -> None:
    order = place_order(world)
    async with stations(world.url, start="office") as me:
        await sign_on(me, world)
        await to_list(me, "on order")
        assert layout.figure_columns(cells(me)) >= {5}
        for part, amount in (("RB-18-CW", "6"), ("RB-18-CCW", "4")):
            await me.press("f9")
            form = me.app.screen
            assert isinstance(form, DeedForm)
            assert (form.now["order"], form.now["part"], form.now["amount"]) == (order, part, amount)
            await me.press("escape", "escape", "down")
        await me.scan(order)
        assert "F9 receive it" in me.screen


async def test_a_part_is_ordered_from_the_line_that_says_who_supplies_it(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await to_list(me, "suppliers")
        named = next(row for row in cells(me) if row[2])
        await me.type(named[1])
        await me.press("f9")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert (form.now["part"], form.now["supplier"]) == (named[1], named[2])


async def test_the_list_of_orders_begins_with_how_late_which_order_and_what_is_to_come(world: World) -> None:
    order = place_order(world)
    async with stations(world.url, start="office", size=(140, 40)) as me:
        await to_list(me, "on order")
        head = next(line for line in me.screen.split("\n") if "due on" in line)
        assert head.split("  ")[1:2] == ["state"] or head.strip().startswith("state")
        wanted = ["state", "due on", "order", "sense", "part", "to come", "supplier"]
        assert [head.index(word) for word in wanted] == sorted(head.index(word) for word in wanted)
        assert cells(me)[0][:7] == ("expected", "2030-01-01", order, "CW", "RB-18-CW", "6", "Invented Rotors")


async def test_an_airframe_is_sold_to_a_new_company_and_its_records_written(
    world: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await to_list(me, "airframes")
        await me.type(TAIL2)
        await open_form(me, "new owner")
        await fill(me, new_owner="Hill Surveys", reason="fleet renewal")
        await me.press("f9")
        assert "company add" in " ".join(me.screen.split())
        await me.press("escape", "escape")
        await open_form(me, "company add")
        await fill(me, name="Hill Surveys")
        await me.press("f9")
        await open_form(me, "new owner")
        await fill(me, new_owner="Hill Surveys", reason="fleet renewal")
        await me.press("f9")
        assert f"{TAIL2} is sold to Hill Surveys" in me.verdict, me.screen
        assert "Next, F9: write its records to go along" in me.verdict
        await me.press("f9", "f9")
        assert f"Records of {TAIL2}" in me.verdict, me.screen
        written = me.verdict.split("New: ")[1].split(".zip")[0].replace(" ", "")
    assert "airframe.csv" in zipfile.ZipFile(f"{written}.zip").namelist()


async def test_the_label_of_a_kit_is_drawn_into_a_file_whose_name_is_proposed(
    world: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        await me.scan(world.kit)
        await me.press("f9")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        proposed = form.now["into"]
        assert proposed.startswith(f"{tmp_path}/label-kit-")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        assert Path(proposed).read_bytes().startswith(b"%PDF")  # noqa: ASYNC240 - one look at a small file


async def test_what_expired_goes_to_the_cage_and_then_to_scrap(world: World) -> None:
    store = open_store(world.url)
    line = factories.put_in_stock(
        store, factories.SCREW, 5, at=after(20), lot_code="OLD", expires_on="2026-01-31"
    )
    store.close()
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, CLERK)
        await me.scan(line)
        assert "Next, F9: carry it to the hold cage" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, to="hold cage Home")
        await me.press("f9")
        assert "Next, F9: scrap it" in me.verdict, me.screen


async def test_a_torque_that_is_changed_reaches_the_job_in_which_a_rotor_was_tightened(issued: World) -> None:
    left = {sense: list(sets) for sense, sets in issued.sets.items()}
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        for name, sense in AROUND:
            await fit_rotor(me, issued, name, left[sense].pop(), MARKS[sense])
            await fasten(me, issued)
            await inspect(me, issued, MARKS[sense])
        await me.press("f12", "f7")
        await sign_on(me, issued, MANAGER)
        await open_form(me, "setting torque")
        await fill(
            me, airframe_type="QA", revision="A", fixing="hub", torque_mnm="0.9 N m", tolerance_mnm="0.05 N m",
            condition="threadlocker", source="maker's letter 9",
        )  # fmt: skip
        await me.scan(issued.badge(INSPECTOR))
        await me.press("f9")
        told = " ".join(me.verdict.split())
        assert "0.9 N m" in told
        assert "(before: 0.8 N m" in told, me.screen
        assert f"Job {issued.job} is open; check what was issued to it and what is fitted." in told
        await me.scan(issued.job)
        await me.press("f9")
        assert "torque QA-01 FR again" in " ".join(me.screen.split())
        await me.press("escape", "f12", "f6")
        await me.scan(issued.badge(TECHNICIAN), issued.job)
        assert "torque QA-01 FR again; what is stated for it changed" in " ".join(me.verdict.split())
        for name, _ in AROUND:
            await me.press("f9")
            await me.press("f9")
            await fill(me, torque="0.9 N m", tool="Torque driver 1")
            await me.press("f9")
            assert f"QA-01 {name} is torqued again" in me.verdict, me.screen
        assert "F9 begins the walk" in me.verdict, me.screen
