"""A morning in the Office, by keys and scans only: a lot is held and released, a setting changed, a count taken."""

from collections.abc import Callable

import pytest

from kittrack.domain.ledger import Condition
from kittrack.domain.paper_marks import make_paper_mark
from kittrack.store.act import Slot
from kittrack.store.database import open_store
from kittrack.store.fold import chain_head
from kittrack.store.records import Piece
from kittrack.store.stock import slot_of_piece
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.stations.office import Office
from tests import factories
from tests.aircraft_scene import Scene
from tests.factories import CLERK, INSPECTOR, MANAGER, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import stations
from tests.tui.snapshots import assert_screen
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list

Rows = Callable[[str], list[tuple[object, ...]]]


async def test_a_lot_is_accounted_for_held_and_released(world: World, ask: Rows) -> None:
    [(lot,)] = ask("SELECT l.code FROM lot l JOIN part p ON p.id = l.part_id WHERE p.number = 'SC-M3x8'")
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await me.scan(str(lot))
        assert "Next, F9: account for the lot" in me.verdict
        await open_form(me, "hold a lot")
        await fill(me, reason="heads without marking", reference="SB-7")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "on hold")
        assert "heads without marking" in me.screen
        assert "F9 release it" in me.screen
        await me.press("f9")
        await fill(me, reference="SB-7 rev 2", reason="not affected")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "on hold")
        assert "nothing is under a hold." in me.verdict
    assert ask("SELECT count(*) FROM hold WHERE released_event_id IS NOT NULL") == [(1,)]


async def test_a_setting_takes_a_source_and_a_second_person(world: World, ask: Rows) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "residual unbalance that a set")
        await fill(me, part="RB-18-CW", tolerance_g_um="4 g mm", source="maker's sheet 2")
        await me.press("f9")
        assert "NOT READ: second person is empty." in me.screen
        await me.scan(world.badge(MANAGER))
        await me.press("f9")
        assert "R8" in me.screen
        me.app.screen.query_one("#field-second").value = ""  # type: ignore[attr-defined]
        await me.scan(world.badge(INSPECTOR))
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "settings changed")
        assert "maker's sheet 2" in me.screen
    assert ask("SELECT tolerance_g_um FROM part WHERE number = 'RB-18-CW'") == [(4000,)]


async def test_a_place_is_counted_from_its_sheet_to_its_differences(world: World, ask: Rows) -> None:
    [(line,)] = ask(
        "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = 'SC-M3x8'"
    )
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await to_list(me, "counts")
        await me.press("f9")
        await fill(me, place="A-01")
        await me.press("f9")
        assert "Next, F9: enter what was counted" in me.verdict, me.screen
        await me.press("f9")
        await me.scan(str(line))
        assert f"{line} receipt line: part SC-M3x8" in me.screen
        assert "serviceable in" not in me.screen  # the record's figures are not for who counts
        assert "received" not in me.screen
        await fill(me, entries="=23")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        [(count,)] = ask("SELECT code FROM stock_count")
        await to_list(me, "ship sets")
        await me.scan(str(count))
        assert "Next, F9: enter what another person counted" in me.verdict
        await me.press("f12")
        await sign_on(me, world, CLERK)
        await me.scan(str(count))
        await me.press("f9")
        await me.scan(str(line))
        await fill(me, entries="=23")
        await me.press("f9")
        assert f"Next, F9: settle the differences ({count})" in me.verdict, me.screen
        await to_list(me, "counts")
        assert "F9 settle the differences" in me.screen
        await me.press("f9")
        await fill(me, reason="a box fell")
        await me.scan(world.badge(MANAGER))
        await me.press("f9")
        assert "on hold until somebody explains that" in me.verdict or "now unaccounted" in me.verdict, (
            me.screen
        )


async def test_what_has_a_number_of_its_own_is_counted_by_its_scan_alone(world: World, ask: Rows) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await to_list(me, "counts")
        await me.press("f9")
        await fill(me, place="A-02")
        await me.press("f9", "f9")
        await me.scan(world.kit)
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
    kit = "SELECT l.booked, l.counted FROM count_line l JOIN kit k ON k.place_id = l.container_id"
    assert ask(kit) == [(1, 1)]


@pytest.mark.parametrize("title", ["senses side by side", "expiry by month", "usage by month"])
async def test_pictures_have_their_numbers_and_bars(
    issued: World, title: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = open_store(issued.url)
    factories.put_sets(store, factories.CW_BLADE, 3, at=after(20), lot_code="MORE")
    factories.put_sets(store, factories.CCW_BLADE, 2, at=after(20), lot_code="MORE")
    for month, number in (("05", "E-1"), ("05", "E-2"), ("08", "E-3")):
        factories.put_in_stock(
            store, factories.SCREW, 10, at=after(20), lot_code=number, expires_on=f"2026-{month}-28"
        )
    store.close()
    monkeypatch.setenv("KITTRACK_ASCII", "1")  # where bars are letters that a text file keeps
    async with stations(issued.url, start="office", size=(140, 40)) as me:
        await to_list(me, title)
        assert_screen(f"office-{title.replace(' ', '-')}", me.screen)


async def test_the_whole_store_is_verified_from_here(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await open_form(me, "against its own history")
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)
        assert "faults  0" in me.screen


async def test_a_lot_is_found_by_the_code_on_its_bag_and_accounted_for(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await to_list(me, "lots")
        for key in "S-1":
            await me.send_key(key)
        await me.settle()
        assert "F9 account for the lot" in me.screen
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)
        assert "recall account of  lot L" in me.screen
        assert "in sealed kits" in me.screen


async def test_what_must_be_ordered_is_ordered_from_its_line(issued: World, ask: Rows) -> None:
    async with stations(issued.url, start="office") as me:
        await sign_on(me, issued, MANAGER)
        await to_list(me, "re-order")
        assert "why, " in me.screen
        station = me.station
        assert isinstance(station, Office)
        step = station.next_step
        assert step is not None
        assert step.deed == "order place"
        wanted = {dict(row)["part"]: dict(row)["amount"] for row in step.rows}
        assert len(wanted) > 1, "all that is proposed of the supplier goes into one order"
        await me.press("f9")
        for part, amount in wanted.items():
            assert f"part {part}, quantity {amount}" in me.screen
        await fill(me, reference="PO 7")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        ordered = ask(
            "SELECT p.number, l.quantity FROM order_line l JOIN part p ON p.id = l.part_id ORDER BY p.number"
        )
        volumes = {part: int(amount[:-3]) * 1000 for part, amount in wanted.items() if amount.endswith(" mL")}
        pieces = {part: int(amount) for part, amount in wanted.items() if part not in volumes}
        assert sorted(ordered) == sorted((volumes | pieces).items())
        await to_list(me, "re-order")
        assert not [part for part in wanted if f" {part} " in me.screen], (
            "what is on order is proposed no more"
        )


async def test_what_may_not_fly_is_scrapped_and_a_place_counted_from_its_line(
    issued: World, ask: Rows
) -> None:
    store = open_store(issued.url)
    [gone, *_] = factories.blades_on_shelf(
        store, factories.CW_BLADE, 2, at=after(20), lot_code="BAD", place=factories.BIN, kind="bin"
    )
    with store.act("find a crack", by=INSPECTOR, at=after(21)) as act:
        piece = act.find(Piece, code=gone)
        assert piece is not None
        stock = slot_of_piece(act, piece.id)
        here = Slot(stock.place_id, stock.condition, piece.id)
        act.move_stock(stock.receipt_line_id, 1, from_slot=here, to_slot=here.on(Condition.UNSERVICEABLE))
    store.close()
    async with stations(issued.url, start="office") as me:
        await sign_on(me, issued, MANAGER)
        await to_list(me, "unserviceable")
        assert "F9 scrap it" in me.screen
        await me.press("f9")
        assert me.app.screen.query_one("#field-things").value == gone  # type: ignore[attr-defined]
        await me.press("escape")
        await to_list(me, "to count")
        await me.press("f9", "f9")
        assert me.verdict.startswith("DONE: "), me.screen
    assert ask("SELECT count(*) FROM stock_count WHERE state = 'open'") == [(1,)]


async def test_a_removed_set_on_the_unserviceable_list_waits_for_its_inspection(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    scene.remove("FR", "L")
    async with stations(url, start="office") as me:
        await to_list(me, "unserviceable")
        assert scene.sets[2] in me.screen
        assert "F9 inspect the set" in me.screen
        assert "scrap it" not in me.screen
    scene.store.close()


async def test_an_act_names_as_new_only_what_it_gave_out(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "person alone")
        await fill(me, person=TECHNICIAN, from_on="2026-03-02", until_on="2026-03-03", reason="on the hill")
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {TECHNICIAN} may make re-inspections"), me.screen
        assert "New: " not in me.verdict
        await open_form(me, "company add")
        await fill(me, name="Invented Screws", is_supplier="yes")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen


async def test_what_is_told_of_a_line_is_read_to_its_end_by_keys(issued: World) -> None:
    async with stations(issued.url, start="office") as me:
        await to_list(me, "re-order")
        assert "Ctrl+Down more" in me.screen
        assert "ship sets that count" not in me.screen
        for _ in range(9):
            await me.press("ctrl+down")
        assert "ship sets that count" in me.screen
        for _ in range(9):
            await me.press("ctrl+up")
        assert "why, " in me.screen


@pytest.mark.parametrize(
    ("title", "told"), [("sets by month", "whole at end"), ("accuracy of counts", "too many")]
)
async def test_what_went_on_month_by_month_has_a_bar_for_each_month(
    issued: World, title: str, told: str
) -> None:
    async with stations(issued.url, start="office", size=(140, 50)) as me:
        await to_list(me, title)
        assert told in me.screen
        months = {
            word for word in me.screen.split() if len(word) == 7 and word[:2] == "20" and word[4] == "-"
        }
        beside = [line[80:].split() for line in me.screen.split("\n")]
        assert {words[0] for words in beside if words} >= months
        assert len(months) == 24


async def test_a_voucher_is_shown_from_its_line_and_an_airframe_tells_its_hours(issued: World) -> None:
    async with stations(issued.url, start="office") as me:
        await to_list(me, "vouchers")
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)
        assert "received by" in me.screen
        await me.press("escape")
        await to_list(me, "airframes")
        assert "hours flown: " in me.screen
        assert "minutes" not in me.screen


async def test_the_bar_code_of_a_paper_says_where_in_the_chain_it_stands(issued: World) -> None:
    async with stations(issued.url, start="office") as me:
        await sign_on(me, issued, MANAGER)
        store = open_store(issued.url)
        with store.reading() as read:
            last, digest = chain_head(read)
        store.close()
        await me.scan(make_paper_mark(last - 2, digest=digest).text)
        assert "has another hash" in me.verdict, me.screen
        await me.scan(make_paper_mark(last, digest=digest).text)
        assert f"stands at: event {last} of" in me.verdict, me.screen
        assert "acts since: 0" in me.verdict
        await me.scan(make_paper_mark(last + 900, digest=digest).text)
        assert f"this store ends at event {last}" in me.verdict, me.screen
