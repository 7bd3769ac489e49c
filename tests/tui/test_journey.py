"""One kit through all stations by keys and scans only: its screws come in, it is built, issued, fitted, and taken off."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from kittrack.queries.verify import verify
from kittrack.store.database import open_store
from kittrack.tui.chooser import Chooser
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.widgets.record_list import RecordList
from tests import factories
from tests.factories import BENCH, BIN, BUILDER, CLERK, INSPECTOR, SCREW, TAIL, TECHNICIAN, after
from tests.tui.conftest import SEAL
from tests.tui.screens import Person, stations

MARKS = {"CW": "R", "CCW": "L"}
AROUND = (("FR", "CCW"), ("RL", "CCW"), ("FL", "CW"), ("RR", "CW"))
Rows = Callable[[str], list[tuple[Any, ...]]]


def stock_without_screws(url: str) -> None:
    """Rotor sets, washers and threadlocker on the shelf; the screws are still to come."""
    store = open_store(url)
    for part in (factories.CW_BLADE, factories.CCW_BLADE):
        factories.put_sets(store, part, 2, at=after(1))
    factories.put_in_stock(store, factories.WASHER, 40, at=after(1), lot_code="W-1")
    factories.put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2199-12-31")
    store.close()


def asker(url: str) -> Rows:
    def rows(sql: str) -> list[tuple[Any, ...]]:
        store = open_store(url)
        try:
            with store.reading() as read:
                return read.rows(sql)
        finally:
            store.close()

    return rows


async def sign_on(me: Person, badge: str, name: str) -> None:
    if me.app.name_signed_on:
        await me.press("f12")
    await me.scan(badge)
    if not me.app.name_signed_on:
        await me.press("f9")
    assert me.app.name_signed_on == name


async def do(me: Person, verb: str, **texts: str) -> None:
    """Choose an act by its name in the menu, fill its form field by field, and record it."""
    await me.press("f10", "f10")
    for key in verb:
        await me.send_key(key)
    await me.settle()
    menu = me.app.screen
    assert isinstance(menu, Chooser)
    for _ in range(12):
        here = menu.query_one(RecordList).here
        if here is not None and here.cells[1] == verb:
            break
        await me.press("down")
    await me.press("enter")
    form = me.app.screen
    assert isinstance(form, DeedForm)
    assert form.deed.key == verb
    for name, text in texts.items():
        for _ in range(len(form.deed.asks)):
            if form.focused is not None and form.focused.id == f"field-{name}":
                break
            await me.press("down")
        await me.scan(text)
    await me.press("f9")
    assert not isinstance(me.app.screen, DeedForm), me.screen
    assert me.verdict.startswith("DONE: "), me.verdict


@dataclass
class Way:
    """Who is there, what there is to scan, and the store beside the stations."""

    me: Person
    rows: Rows

    @property
    def badges(self) -> dict[str, str]:
        return dict(self.rows("SELECT name, code FROM person"))

    @property
    def spots(self) -> dict[str, str]:
        where = f"JOIN airframe a ON a.id = p.airframe_id WHERE a.tail = '{TAIL}'"
        return dict(self.rows(f"SELECT p.name, p.code FROM position p {where}"))

    def one(self, sql: str) -> str:
        [(value,)] = self.rows(sql)
        return str(value)

    async def sign_on(self, name: str) -> None:
        await sign_on(self.me, self.badges[name], name)


async def receive_screws(way: Way, bin_code: str) -> None:
    """Goods-in: the delivery, its inspection, its bin."""
    await way.sign_on(CLERK)
    await do(
        way.me, "delivery receive", part=SCREW, amount="16", lot_code="S-77", expiry="none",
        paper_kind="certificate of conformity", paper_number="C-1", paper_issuer="Invented Rotors",
        supplier="Invented Rotors", reference="DN-7",
    )  # fmt: skip
    screws = way.one("SELECT code FROM receipt_line ORDER BY id DESC LIMIT 1")
    await do(way.me, "inspect stock", line=screws, accepted="16", property_class="A2-70")
    await do(way.me, "move", things=f"{screws}=16", to=bin_code)


async def build_kit(way: Way, bin_code: str) -> str:
    """Kitting: built by one clerk, checked and sealed by another."""
    await way.me.press("f4")
    await do(way.me, "kit build", bench=BENCH, airframe=TAIL)
    kit = way.one("SELECT code FROM kit")
    await way.sign_on(BUILDER)
    await do(way.me, "kit check", kit=kit)
    await do(way.me, "kit seal", kit=kit, seal=SEAL)
    await do(way.me, "kit put", kit=kit, to_place=bin_code)
    return kit


async def issue_kit(way: Way, kit: str) -> str:
    """Counter: the technician's job, the clerk's hand."""
    me = way.me
    await me.press("f5")
    await way.sign_on(TECHNICIAN)
    await do(me, "job open", airframe=TAIL, purpose="first rotors")
    job = way.one("SELECT code FROM job")
    await way.sign_on(CLERK)
    await me.press("escape")
    await me.scan(job, kit, way.badges[TECHNICIAN], SEAL)
    await me.press("f9")
    assert me.verdict.startswith(f"DONE: {kit} is issued, whole"), me.verdict
    return job


async def fit_all(way: Way, job: str, kit: str) -> None:
    """Aircraft: every position fitted, fastened, inspected; then the walk."""
    me, tool = way.me, way.one("SELECT code FROM tool WHERE kind = 'torque'")
    await me.press("f6")
    await way.sign_on(TECHNICIAN)
    await me.scan(job, kit, SEAL)
    found = way.rows("SELECT code, sense FROM rotor_set ORDER BY id")
    left = {sense: [code for code, own in found if own == sense] for sense in MARKS}
    for name, sense in AROUND:
        await me.scan(way.spots[name], left[sense].pop())
        await me.type(MARKS[sense])
        await me.press("f9")
        await me.scan(tool)
        await me.type("0.8 N m")
        await me.press("f9")
        assert "is fastened" in me.verdict, me.screen
        await me.scan(way.badges[INSPECTOR])
        await me.type(MARKS[sense])
        assert "inspection passed" in me.verdict
    await me.press("f9")
    for name, sense in AROUND:
        await me.scan(way.spots[name])
        await me.type(MARKS[sense])
    await me.press("f9")
    assert "All 4 rotors of QA-01 agree" in me.verdict


async def close_job(way: Way, job: str) -> None:
    """What is left over goes back over the Counter; the job ends at the Aircraft."""
    me = way.me
    consumable = "JOIN part t ON t.id = p.part_id WHERE t.kind = 'consumable'"
    bottle = way.one(f"SELECT p.code FROM piece p {consumable}")
    await me.press("f5", "escape")
    await way.sign_on(CLERK)
    await me.scan(job, bottle)
    await me.press("f9", "f6")
    await way.sign_on(TECHNICIAN)
    await me.press("f9")
    assert me.verdict.startswith(f"DONE: {job} is closed"), me.verdict


async def take_one_off(way: Way) -> None:
    """One rotor comes back, whole, to the cage."""
    me = way.me
    await do(me, "job open", airframe=TAIL, purpose="a nick at FR")
    await me.scan(way.one("SELECT code FROM job WHERE state = 'open'"), way.spots["FR"])
    await me.press("f9")
    for text in ("L", "4", "a nick in a blade"):
        await me.type(text)
    await me.press("f9")
    assert me.verdict.startswith("DONE: "), me.verdict


async def test_a_kit_goes_from_its_delivery_onto_the_aircraft_and_its_rotor_comes_back(url: str) -> None:
    stock_without_screws(url)
    async with stations(url, start="goods_in", size=(100, 40)) as me:
        way = Way(me, asker(url))
        bin_code = way.one(f"SELECT code FROM place WHERE name = '{BIN}'")
        await receive_screws(way, bin_code)
        kit = await build_kit(way, bin_code)
        job = await issue_kit(way, kit)
        await fit_all(way, job, kit)
        await close_job(way, job)
        await take_one_off(way)
    assert way.rows("SELECT sense_found, reason FROM removal") == [("CCW", "a nick in a blade")]
    cage = "SELECT w.kind FROM removal m JOIN rotor_set s ON s.id = m.rotor_set_id JOIN containment c ON c.container_id = s.place_id JOIN place w ON w.id = c.inside_id"
    assert way.rows(cage) == [("removed-parts cage",)]
    store = open_store(url)
    assert not verify(store).faults
    store.close()
