"""The Counter by scans and keys only: whole kits go out against badge and seal, kits come back."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from textual.widgets import Input

from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.services import findings, holding, issuing, jobs
from kittrack.services.holding import Scope
from kittrack.store.act import Slot
from kittrack.store.database import open_store
from kittrack.store.records import Job, ReceiptLine
from kittrack.tui.deed_form import DeedForm
from tests import factories
from tests.factories import BUILDER, CLERK, MANAGER, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations
from tests.tui.snapshots import assert_screen
from tests.tui.test_deeds import fill, open_form

Ask = Callable[[str], list[tuple[Any, ...]]]


async def sign_on(me: Person, world: World, name: str = CLERK) -> None:
    await me.scan(world.badge(name))
    await me.press("f9")


async def test_a_kit_is_issued_by_scans_and_one_key_on_either_engine(both: World) -> None:
    async with stations(both.url) as me:
        await sign_on(me, both)
        assert me.verdict.startswith("DONE: Clerk One is signed on")
        await me.scan(both.job, both.kit, both.badge(TECHNICIAN))
        assert me.verdict.startswith("NEXT: read and enter the seal")
        await me.type(SEAL)
        assert me.verdict.startswith("READY: issue the whole kit to QA-01")
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {both.kit} is issued, whole, to {TECHNICIAN}")
        assert "scan a job" in me.verdict
    store = open_store(both.url)
    with store.reading() as read:
        assert read.rows("SELECT state FROM kit") == [("issued",)]
        assert read.value("SELECT count(*) FROM voucher WHERE state = 'open'") == 1
    store.close()


async def test_what_was_typed_from_a_torn_label_is_kept_beside_what_was_scanned(
    world: World, ask: Ask
) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job)
        await me.press("escape")
        await me.type(world.kit)
        await me.scan(world.job, world.badge(TECHNICIAN))
        await me.type(SEAL)
        await me.press("f9")
    assert ask("SELECT state FROM kit") == [("issued",)]
    assert ask(
        "SELECT x.scanned, x.typed, x.typed_texts, e.act FROM entry x JOIN event e ON e.id = x.event_id"
    ) == [(2, 1, world.kit, "issue a kit")]


async def test_the_order_of_the_scans_does_not_matter(world: World, ask: Ask) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.badge(TECHNICIAN), world.kit, SEAL, world.job)
        await me.press("f9")
    assert ask("SELECT state FROM kit") == [("issued",)]


async def test_the_counter_looks_like_this_when_a_kit_is_ready(world: World) -> None:
    async with stations(world.url) as me:
        assert_screen("counter-empty", me.screen)
        await sign_on(me, world)
        await me.scan(world.job, world.kit, world.badge(TECHNICIAN), SEAL)
        assert_screen("counter-ready", me.screen)


async def test_every_reason_against_is_told_and_nothing_goes_out(world: World, ask: Ask) -> None:
    store = open_store(world.url)
    holding.place_hold(
        store,
        scope=Scope(code=world.sets["CW"][0]),
        reason="a nick",
        reference="",
        by=CLERK,
        at=after(8),
    )
    store.close()
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, world.kit, world.badge(TECHNICIAN), "004471")
        assert me.verdict.startswith("NOT YET: ")
        assert "(R5)" in me.verdict
        assert "(R6)" in me.verdict
        await me.press("f9")
        assert me.verdict.startswith("REFUSED: ")
        assert "a nick" in me.verdict
        assert me.station.said.tone.is_against
    assert ask("SELECT state FROM kit") == [("sealed",)]


async def test_nobody_signed_on_issues_nothing(world: World, ask: Ask) -> None:
    async with stations(world.url) as me:
        await me.scan(world.job, world.kit, SEAL)
        await me.scan(world.badge(CLERK))  # the first badge signs on, it is not the receiver's
        await me.press("escape")
        assert "NOT YET: Nobody is signed on" in me.verdict
        await me.press("f9")
        assert me.verdict.startswith("NEXT: scan")
    assert ask("SELECT state FROM kit") == [("sealed",)]


async def test_the_receiver_s_badge_does_not_sign_the_giver_off(world: World) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.badge(TECHNICIAN))
        assert me.app.name_signed_on == CLERK
        assert f"signed on: {CLERK}" in me.screen
        assert TECHNICIAN in me.screen


async def test_giver_and_receiver_are_two_people(world: World) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, world.kit, world.badge(CLERK), SEAL)
        assert me.verdict.startswith("NOT YET: ")
        assert "(R8)" in me.verdict


async def test_an_airframe_of_another_job_is_told(world: World, ask: Ask) -> None:
    [(other,)] = ask("SELECT code FROM airframe WHERE tail = 'QA-02'")
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, world.kit, str(other), world.badge(TECHNICIAN), SEAL)
        assert "(R7)" in me.verdict


@pytest.mark.parametrize(
    ("scan", "told"),
    [
        ("K000004-X", "NOT READ: The check character of K000004-X is wrong"),
        (make_code(Kind.SHELF_PLACE, 1), "is a bin, bench, cage or van; scan a job"),
        ("=rm -rf [bold]", "NOT READ: "),
        (make_code(Kind.JOB, next_number(Kind.JOB, after=900)), "NOT FOUND: "),
    ],
)
async def test_what_can_not_be_taken_is_named_and_told_what_to_scan(
    world: World, scan: str, told: str
) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(scan)
        assert told in me.verdict
        assert me.station.said.tone.is_against


async def test_a_kit_comes_back_unopened_to_a_scanned_bin(issued: World, ask: Ask) -> None:
    [(bin_code,)] = ask("SELECT code FROM place WHERE name = 'A-01'")
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        assert "How does it come back?" in me.verdict
        await me.type("1")
        await me.scan(SEAL, str(bin_code))
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {issued.kit} is back in A-01")
    assert ask("SELECT state FROM kit") == [("sealed",)]


async def test_a_kit_comes_back_opened_and_short(issued: World, ask: Ask) -> None:
    [(screws,)] = ask(
        "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = 'SC-M3x8'"
    )
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        await me.type("3")
        assert f"16 of {screws} (SC-M3x8)" in " ".join(me.screen.split())
        await me.type("wrong job")
        await me.type(f"{screws} x 2")
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
        assert "number is dead" in me.verdict
        assert f"2 of {screws} is lost" in me.verdict
    assert ask("SELECT state FROM kit") == [("opened",)]


async def test_the_rest_of_a_kit_of_which_a_set_was_found_elsewhere_comes_back(
    issued: World, ask: Ask
) -> None:
    [(fitted,)] = ask("SELECT code FROM rotor_set WHERE sense = 'CCW' ORDER BY id LIMIT 1")
    store = open_store(issued.url)
    findings.record_finding(
        store, position=issued.positions["FR"], rotor_set=fitted, mark="L", text="seen at the walk", by=TECHNICIAN,
        at=after(300),
    )  # fmt: skip
    store.close()
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        assert "How does the rest come back?" in me.verdict
        assert "2 or 3 >" in me.screen
        assert "2 3 Enter how it comes back" in me.screen
        await me.type("1")
        assert ask("SELECT state FROM voucher") == [("open",)]
        await me.press("escape", "f4")
        await me.scan(issued.kit)
        assert "F9 take back what is left in it" in me.screen
        await me.press("f5", "escape")
        await me.scan(issued.kit)
        await me.type("2")
        await me.type("a set was taken out")
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {issued.kit} is opened and its number is dead.")
        await me.scan(issued.kit)
        assert "come back" not in me.verdict
    assert ask("SELECT state FROM voucher") == [("returned",)]


async def test_a_form_tells_a_scan_that_it_has_no_use_for(issued: World, ask: Ask) -> None:
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        await me.type("2")
        await me.scan(issued.job)
        assert f"{issued.job} is a job; this form has no use for it" in me.screen
        await me.press("f9")
        assert "NOT READ: Why it was opened is empty." in me.screen
        await me.press("escape")
        assert "How does it come back?" in me.verdict
    assert ask("SELECT state FROM kit") == [("issued",)]


async def test_two_clerks_and_one_kit_the_second_hears_who_was_first(world: World) -> None:
    async with stations(world.url) as me, stations(world.url) as other:
        for one, name in ((me, CLERK), (other, BUILDER)):
            await sign_on(one, world, name)
            await one.scan(world.job, world.kit, world.badge(TECHNICIAN), SEAL)
        await me.press("f9")
        await other.press("f9")
        assert other.verdict.startswith("TOO LATE: ")
        assert CLERK in other.verdict


async def test_cautions_are_read_once_and_nobody_is_signed_on_before(world: World) -> None:
    async with stations(world.url) as me:
        await me.scan(world.badge(MANAGER))
        assert "does not replace" in me.screen
        await me.scan(world.badge(CLERK))
        assert "read this first" in me.screen
        await me.press("escape")
        assert me.app.name_signed_on == ""
        await me.type(MANAGER)
        await me.press("f9")
        assert me.app.name_signed_on == MANAGER
        await me.press("f12")
        assert me.app.name_signed_on == ""
        await me.scan(world.badge(MANAGER))
        assert me.app.name_signed_on == MANAGER


async def test_what_was_scanned_stands_in_the_forms_of_the_menu(world: World, ask: Ask) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, world.kit)
        await me.press("f10")
        assert f"in hand: {world.job}, {world.kit}" in me.screen
        await me.press("escape")
        await open_form(me, "reserve")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert dict(form.now) == {"job": world.job, "thing": world.kit, "until": ""}
        await fill(me, until="2199-12-31")
        await me.press("f9")
        assert f"{world.kit} is kept for {world.job}" in me.verdict, me.screen
        await me.press("escape", "f10")
        assert "in hand" not in me.screen
    assert ask("SELECT count(*) FROM reservation WHERE state = 'active'") == [(1,)]


async def test_a_job_names_the_kit_to_fetch_for_it(world: World) -> None:
    store = open_store(world.url)
    jobs.reserve(store, job=world.job, thing=world.kit, until=date(2199, 1, 31), by=CLERK, at=after(20))
    store.close()
    async with stations(world.url) as me:
        await me.scan(world.job)
        assert f"To fetch  {world.kit} in A-02, 4 positions, kept for this job until" in me.screen
        await me.scan(world.kit)
        assert "To fetch" not in me.screen


async def test_a_job_without_a_kit_says_where_one_is_built(issued: World) -> None:
    async with stations(issued.url) as me:
        await me.scan(issued.job)
        assert "no sealed kit fits its airframe; F4 Kitting builds one" in me.screen


async def test_what_a_job_has_left_comes_back_by_a_scan(issued: World, ask: Ask) -> None:
    store = open_store(issued.url)
    issuing.open_at_aircraft(store, kit=issued.kit, seal=SEAL, by=TECHNICIAN, at=after(20))
    store.close()
    [(line,)] = ask(
        "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = 'SC-M3x8'"
    )
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.job)
        assert "what comes back from the job" in me.verdict
        assert f"Job holds  16 of SC-M3x8 ({line})" in me.screen
        await me.scan(line)
        await me.type("2")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        assert f"Job holds  14 of SC-M3x8 ({line})" in me.screen


async def test_what_a_kit_that_comes_back_opened_holds_is_scanned_into_its_form(
    issued: World, ask: Ask
) -> None:
    lines: dict[str, str] = dict(
        ask(
            "SELECT p.number, r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.kind = 'fastener'"
        )
    )
    screws, washers = lines["SC-M3x8"], lines["WA-M3"]
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        await me.type("3")
        assert f"16 of {screws}" in me.screen
        await me.scan(washers)
        assert me.app.screen.query_one("#field-missing", Input).value == washers
        await me.type(" x 2")
        await me.scan(washers, screws)  # the field of the closed bags has the focus
        await me.scan(screws)
        assert f"{screws} stands there already" in me.screen
        closed = me.app.screen.query_one("#field-closed_bags", Input)
        assert closed.value == f"{washers}, {screws}"
        await me.press("f9")
        assert "NOT READ: Why it was opened is empty." in me.screen
        assert me.app.screen.query_one("#field-reason", Input).has_focus
        await me.type("aircraft sold")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
    assert ask("SELECT state FROM kit") == [("opened",)]
    assert ask(
        "SELECT sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id WHERE p.kind = 'scrapped'"
    ) == [(None,)]


async def test_what_a_job_does_not_hold_is_told_before_a_form_opens(issued: World) -> None:
    store = open_store(issued.url)
    issuing.open_at_aircraft(store, kit=issued.kit, seal=SEAL, by=TECHNICIAN, at=after(20))
    with store.reading() as read:
        blade = read.value("SELECT p.code FROM piece p WHERE p.sense = 'CW' ORDER BY p.id")
    store.close()
    one = issued.sets["CW"][0]
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.job, blade)
        assert me.verdict.startswith(f"NOT READ: {issued.job} holds nothing under {blade}")
        await me.scan(one)
        assert "Never opened" not in me.screen  # a set has no bag
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {one} goes to goods-in")
        assert me.verdict.endswith("Here: scan the kit, or what comes back from the job.")


async def test_the_scan_line_asks_for_what_stands_against_an_issue(world: World) -> None:
    store = open_store(world.url)
    holding.place_hold(store, scope=Scope(code=world.kit), reason="wet", reference="", by=CLERK, at=after(20))
    store.close()
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, world.kit)
        assert me.verdict.startswith("NOT YET: ")
        assert "another kit >" in me.screen


async def test_a_kit_that_is_held_comes_back_into_the_hold_cage(issued: World, ask: Ask) -> None:
    store = open_store(issued.url)
    holding.place_hold(
        store, scope=Scope(code=issued.kit), reason="wet", reference="", by=CLERK, at=after(20)
    )
    store.close()
    [(cage,)] = ask("SELECT code FROM place WHERE kind = 'hold cage'")
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        await me.type("1")
        assert "the van or the hold cage where you put it" in " ".join(me.screen.split())
        await me.scan(SEAL, str(cage))
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {issued.kit} is back in hold cage")
        assert "Here: scan a job." in me.verdict


async def test_single_doses_of_threadlocker_come_back_from_a_job_by_their_volume(
    world: World, ask: Ask
) -> None:
    store = open_store(world.url)
    line = factories.put_in_stock(store, factories.LOCKER, 400, at=after(19), expires_on="2199-12-31")
    with store.act("two doses are with a job", by=CLERK, at=after(20)) as act:
        job, found = act.find(Job, code=world.job), act.find(ReceiptLine, code=line)
        assert job is not None
        assert found is not None
        [bin_id] = [int(i) for (i,) in act.rows("SELECT id FROM place WHERE name = ?", factories.BIN)]
        act.move_stock(
            found.id, 400, from_slot=Slot(bin_id, "serviceable"), to_slot=Slot(job.place_id, "serviceable")
        )
    store.close()
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job, line)
        assert f"The job holds 0.4 mL of TL-10 ({line})" in me.screen
        await me.type("0.2")
        await me.press("f9")
        assert me.verdict.startswith("DONE: 0.2 mL"), me.screen
        assert f"Job holds  0.2 mL of TL-10 ({line})" in me.screen
        await me.scan(line)
        await me.type("200 uL")
        await me.press("f9")
        assert me.verdict.startswith("DONE: 0.2 mL"), me.screen
    assert ask("SELECT count(*) FROM holding h JOIN job j ON j.place_id = h.place_id") == [(0,)]
