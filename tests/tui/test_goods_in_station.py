"""A morning at Goods-in, by keys and scans only: a box, its paper, its inspection, its shelf."""

from collections.abc import Callable
from datetime import date

from textual.widgets import Input

from kittrack.services import inspecting_stock, ordering, returning
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import open_store
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.deed_form import DeedForm
from tests import factories
from tests.aircraft_scene import Scene
from tests.factories import CLERK, INSPECTOR, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import stations
from tests.tui.snapshots import assert_screen
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list

Rows = Callable[[str], list[tuple[object, ...]]]

PART, LOT = "[)>\x1e06\x1dPRB-18-CW\x1dQ2\x1e\x04", "[)>\x1e06\x1d1TLOT-77\x1e\x04"
"""Two codes of one box, by data identifiers (ISO/IEC 15418: P part number, Q quantity, 1T lot)."""


async def test_a_box_goes_from_its_codes_to_its_shelf(world: World, ask: Rows) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await me.scan(PART)
        assert isinstance(me.app.screen, DeedForm)
        await me.scan(LOT)
        assert "2 scanned" in me.screen
        assert "LOT-77" in me.screen
        await fill(me, supplier="Invented Rotors", reference="DN 77", expiry="none")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        [(line,)] = ask("SELECT code FROM receipt_line ORDER BY id DESC LIMIT 1")
        assert "Next, F9: attach its paper" in me.verdict
        assert "no paper" in me.screen
        await me.press("f9")
        await fill(me, kind="certificate of conformity", number="C-77", issuer="Invented Rotors")
        await me.press("f9")
        assert f"Next, F9: inspect its pieces ({line})." in me.verdict
        await me.press("f9")
        assert "Marks of the part: R is CW" in " ".join(me.screen.split())
        await me.press("f9")
        assert "Nothing is typed for" in " ".join(me.screen.split()), "one key alone makes no blade"
        await fill(me, serial="0077", mark="R")
        await me.press("f8")
        await fill(me, serial="0078", mark="L")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        held = ask(
            "SELECT h.condition FROM holding h JOIN piece p ON p.id = h.piece_id WHERE p.serial = '0078'"
        )
        assert held == [("on hold",)]
        await to_list(me, "to put away")
        await me.press("f9")
        await fill(me, to="A-02")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
    where = "SELECT w.name FROM holding h JOIN piece p ON p.id = h.piece_id JOIN place w ON w.id = h.place_id"
    assert ask(f"{where} WHERE p.serial = '0077'") == [("A-02",)]
    raw = str(ask("SELECT raw_scan FROM receipt_line ORDER BY id DESC LIMIT 1")[0][0])
    assert raw == f"{PART}\n{LOT}"


async def test_screws_are_inspected_by_their_sampling_plan(world: World, ask: Rows) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "line by line")
        await fill(
            me, supplier="Invented Rotors", reference="DN 78", part="SC-M3x8", amount="100", lot_code="S-78",
            expiry="none", paper_kind="certificate of conformity", paper_number="C-78", paper_issuer="Invented Rotors",
        )  # fmt: skip
        await me.press("f9")
        assert "Next, F9: inspect it" in me.verdict, me.screen
        await me.press("f9")
        assert "Sampling: normal: look at 20 of 100; accept with at most 1 bad" in me.screen
        await fill(me, accepted="100", property_class="A2-70")
        await me.press("f9")
        assert "Next, F9: put it away" in me.verdict, me.screen
        assert_screen("goods-in-next-step", me.screen)
        await me.press("f11")
        assert isinstance(me.app.screen, AnswerPage)
        assert "look at 20 of 100" in " ".join(me.screen.split()) or "sample is on record" in me.screen


async def test_what_no_code_says_is_asked_and_nothing_is_booked_before(world: World, ask: Rows) -> None:
    before = ask("SELECT count(*) FROM receipt_line")
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await me.scan(LOT)
        await fill(me, supplier="Invented Rotors", reference="DN 79")
        await me.press("f9")
        told = " ".join(me.screen.split())
        assert "No code of this box names the part" in told
        await me.press("escape")
        await me.press("escape")
        assert me.app.screen is me.station
    assert ask("SELECT count(*) FROM receipt_line") == before


async def test_an_order_on_the_list_is_received_by_one_key(world: World, ask: Rows) -> None:
    store = open_store(world.url)
    order = ordering.place_order(
        store, supplier="Invented Rotors", reference="PO 7", lines=[OrderSpec("RB-18-CW", 6, due=date(2030, 1, 1))],
        by=CLERK, at=after(20),
    ).codes[0]  # fmt: skip
    store.close()
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await to_list(me, "on order")
        assert "F9 receive it" in me.screen
        await me.press("f9")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        filled = {name: text for name, text in form.now.items() if text}
        expected = {"supplier": "Invented Rotors", "order": order, "part": "RB-18-CW", "amount": "6"}
        assert filled == expected
        assert f"{order} order: supplier Invented Rotors" in me.screen
        assert "to come: CW RB-18-CW" in me.screen
        assert form.ask_here is not None
        assert form.ask_here.name == "reference"
        await fill(me, reference="DN 8", lot_code="L-8", expiry="none")
        await me.press("f9")
        assert me.verdict.startswith("DONE: 1 line of Invented Rotors"), me.screen
    assert ask("SELECT count(*) FROM order_arrival") == [(1,)]


async def test_a_form_begins_at_its_first_field(world: World) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert form.ask_here is not None
        assert form.ask_here.name == "supplier"


async def test_a_line_goes_into_two_bins_while_some_of_it_is_held(world: World, ask: Rows) -> None:
    store = open_store(world.url)
    line = factories.put_in_stock(
        store,
        factories.SCREW,
        64,
        at=after(20),
        place="goods-in Home",
        kind="goods-in",
        condition="on hold",
    )
    inspecting_stock.inspect_stock(store, line=line, accepted=60, held=4, note="burr", by=CLERK, at=after(21))
    store.close()
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await me.scan(line)
        assert "Next, F9: put it away" in me.verdict
        await me.press("f9")
        await fill(me, things="=40", to="A-01")
        await me.press("f9")
        assert f"40 of {line} are in A-01" in me.verdict, me.screen
        assert "Next, F9: put it away" in me.verdict
        await me.press("f9")
        await fill(me, to="A-02")
        await me.press("f9")
        assert f"20 of {line} are in A-02" in me.verdict or f"{line} is in A-02" in me.verdict, me.screen
    assert ask(
        f"SELECT p.name, h.quantity FROM holding h JOIN place p ON p.id = h.place_id JOIN receipt_line r "
        f"ON r.id = h.receipt_line_id WHERE r.code = '{line}' AND h.quantity > 0 ORDER BY p.name"
    ) == [("A-01", 40), ("A-02", 20), ("goods-in Home", 4)]


async def test_what_is_expired_on_the_shelf_is_carried_to_the_hold_cage(world: World, ask: Rows) -> None:
    store = open_store(world.url)
    today = after(0).date().isoformat()
    line = factories.put_in_stock(
        store, factories.LOCKER, 10_000, at=after(20), expires_on=today, lot_code="OLD"
    )
    store.close()
    async with stations(world.url, start="goods_in") as me:
        me.app.now = lambda: after(3 * 24 * 60)
        await sign_on(me, world)
        await me.scan(line)
        assert "expired at the end of" in " ".join(me.screen.split())
        assert "Next, F9: carry it to the hold cage" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, to="hold cage Home")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await me.press("escape")
        await me.scan(line)
        assert "carry it to the hold cage" not in me.verdict, "it lies there"
    assert ask(
        "SELECT p.name FROM holding h JOIN place p ON p.id = h.place_id JOIN receipt_line r ON r.id = h.receipt_line_id "
        f"WHERE r.code = '{line}' AND h.quantity > 0"
    ) == [("hold cage Home",)]


async def test_sets_of_a_kit_that_came_back_opened_are_listed_inspected_and_put_away(
    issued: World, ask: Rows
) -> None:
    store = open_store(issued.url)
    returning.return_opened(store, kit=issued.kit, reason="aircraft sold", by=CLERK, at=after(20))
    store.close()
    one, other = issued.sets["CW"]
    async with stations(issued.url, start="goods_in") as me:
        await sign_on(me, issued, TECHNICIAN)
        await to_list(me, "sets that came back")
        assert "4 shown" in me.verdict
        await me.scan(one)
        await me.press("f9")
        await fill(me, mark="R", note="no nick", result="accepted", to_place="A-01")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await me.press("escape")
        await me.scan(other)
        await me.press("f9")
        await fill(me, mark="R", note="no nick", result="accepted")
        await me.press("f9")
        assert f"Next, F9: put it away ({other})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, to="A-01")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "sets that came back")
        assert "2 shown" in me.verdict
    where = "SELECT p.name FROM rotor_set s JOIN containment c ON c.container_id = s.place_id JOIN place p ON p.id = c.inside_id"
    assert ask(f"{where} WHERE s.sense = 'CW'") == [("A-01",), ("A-01",)]


async def test_a_removed_set_comes_to_its_inspection_by_its_tag_and_is_put_away(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    [tag, *_] = [code for code in scene.remove("FR", "L").codes if code.startswith("T")]
    one = scene.sets[2]
    async with stations(url, start="goods_in") as me:
        with scene.store.reading() as read:
            badge = read.value("SELECT code FROM person WHERE name = ?", INSPECTOR)
        await me.scan(badge)
        await me.press("f9")
        await me.scan(tag)
        assert me.verdict.startswith(f"DONE: In hand: rotor set {one}.")
        assert "Next, F9: inspect the set." in me.verdict
        assert f"Its tag {tag} says: " in me.verdict
        assert "position: FR" in me.verdict
        await me.press("f9")
        await fill(me, mark="L", note="clean")
        await me.press("f9")
        assert "result is empty." in me.screen  # nobody accepts a set by saying nothing
        await fill(me, result="accepted", rotor_set="")
        await me.scan(tag)  # into the form too
        assert me.app.screen.query_one("#field-rotor_set", Input).value == one
        await me.press("f9")
        assert f"Next, F9: put it away ({one})." in me.verdict
        assert "cage removed-parts cage" not in me.screen
    scene.store.close()


async def test_what_a_look_held_waits_for_a_decision_and_not_for_a_look(world: World) -> None:
    store = open_store(world.url)
    line = factories.put_in_stock(
        store, factories.SCREW, 40, at=after(20), lot_code="S-79", place="goods-in Home", kind="goods-in",
        condition="on hold",
    )  # fmt: skip
    inspecting_stock.inspect_stock(
        store, line=line, accepted=34, held=6, note="bag was open", by=CLERK, at=after(21)
    )
    store.close()
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        assert "decide" in me.screen
        await me.scan(line)
        await me.press("f9")
        await fill(me, to="A-02")
        await me.press("f9")
        assert f"Next, F9: decide on what was held ({line})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, accepted="6", note="counted and clean")
        await me.press("f9")
        assert "Next, F9: put it away" in me.verdict, me.screen


async def test_a_bottle_is_opened_labelled_and_its_rest_is_told(world: World, ask: Rows) -> None:
    store = open_store(world.url)
    line = factories.put_in_stock(
        store, factories.LOCKER, 10_000, at=after(20), expires_on="2199-12-31", lot_code="TL-9"
    )
    store.close()
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await me.scan(line)
        await open_form(me, "bottle open")
        await me.press("f9")
        [(bottle,)] = ask("SELECT code FROM piece ORDER BY id DESC LIMIT 1")
        assert f"Next, F9: draw its label ({bottle})" in me.verdict, me.screen
        assert "opened: 2" in me.screen
        await me.scan(line)
        await open_form(me, "bottle open")
        await me.press("f9")
        assert "nothing without a number of its own is serviceable" in " ".join(me.screen.split())
