"""The invented scenario: it builds the same on both engines, is sound, and every awkward day is in it.

What each day must leave behind follows from the rules that are named beside it (design 4).
"""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from kittrack.domain.ledger import AccountClass
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput, Refused
from kittrack.queries import (
    aircraft,
    due,
    expiring,
    integrity,
    kits,
    log,
    orders,
    pairing,
    people,
    reorder,
    shelf,
    standing,
    trace,
    verify,
)
from kittrack.queries.buildable import Buildable, buildable
from kittrack.queries.counts import count_accuracy, counts_due
from kittrack.queries.log import LogEntry
from kittrack.queries.recall import RecallAccount, recall_account
from kittrack.queries.set_health import orphan_partners
from kittrack.services import demo as scenario
from kittrack.services import founding, inspecting_stock, kitting
from kittrack.services.database_rights import give_terminal_rights
from kittrack.services.demo_reader import Entry, read_history
from kittrack.store.database import Store, open_store
from kittrack.store.records import Override
from tests.factories import CLERK
from tests.postgresql_server import as_role

END = datetime(2026, 9, 30, 15, tzinfo=UTC)
"""An hour after the last paragraph."""

ROOT = Path(__file__).resolve().parents[2]
HISTORY = ROOT / "demo_db" / "history"


def build(url: str) -> Store:
    """A demo store at an address."""
    store = open_store(url, create=True, demo=True)
    scenario.build_demo(store)
    return store


@pytest.fixture(scope="module")
def demo(demo_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """The demo store; the tests of this file only read it."""
    path = shutil.copyfile(demo_template, tmp_path_factory.mktemp("demo") / "demo.kittrack")
    store = open_store(f"sqlite:///{path}")
    yield store
    store.close()


@pytest.fixture(scope="module")
def sound(demo: Store) -> verify.Verdict:
    """What verify says of the demo store."""
    return verify.verify(demo)


def entries(store: Store, act: str) -> tuple[LogEntry, ...]:
    """The events of one kind, the newest first."""
    return log.event_log(store, act=act, limit=500)


def days(store: Store, act: str) -> set[str]:
    """The days (UTC) on which something of a kind was done."""
    return {entry.at[:10] for entry in entries(store, act)}


def classes(account: RecallAccount) -> dict[AccountClass, int]:
    """The classes of a recall account that are not empty."""
    return {name: quantity for name, quantity in account.classes if quantity}


# ---- the store as a whole -----------------------------------------------------------------------------


def test_two_builds_are_the_same_to_the_row(sound: verify.Verdict, tmp_path: Path) -> None:
    again = build(f"sqlite:///{tmp_path / 'again.kittrack'}")
    assert verify.verify(again).head == sound.head  # the chain covers every row that an act wrote
    again.close()


@pytest.mark.postgresql
@pytest.mark.slow
def test_the_other_engine_gives_the_same_chain_with_the_rights_of_a_terminal(
    sound: verify.Verdict, terminal_role: str, fresh_postgresql_url: str
) -> None:
    owner = open_store(fresh_postgresql_url, create=True, demo=True)
    give_terminal_rights(owner, role=terminal_role)
    owner.close()
    other = open_store(as_role(fresh_postgresql_url, terminal_role))
    scenario.build_demo(other)
    verdict = verify.verify(other, expected_head=sound.head)
    other.close()
    assert (verdict.head, verdict.faults) == (sound.head, ())


def test_the_demo_is_sound_and_only_its_rotors_from_before_day_one_are_open_points(
    demo: Store, sound: verify.Verdict
) -> None:
    assert sound.faults == ()
    on_br4_03 = {one.rotor_set for one in aircraft.as_fitted(demo, "BR4-03")}
    assert {point.subject for point in sound.open_points} == on_br4_03


def test_everything_received_is_accounted_for(demo: Store) -> None:
    with demo.reading() as read:
        lots = [code for (code,) in read.rows("SELECT code FROM lot ORDER BY id")]
    assert len(lots) > 40
    assert {recall_account(demo, code=code).missing for code in lots} == {0}


def test_a_founded_store_is_not_filled(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        scenario.build_demo(store)
    assert refused.value.rules == {"R12"}
    assert people.who_is(store, who=CLERK).is_here


def test_a_scenario_with_a_fault_leaves_an_empty_store(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shutil.copytree(ROOT / "demo_db" / "catalogue", tmp_path / "catalogue")
    (tmp_path / "history").mkdir()
    monkeypatch.setattr(scenario, "data_folder", lambda _name: tmp_path)
    store = open_store(f"sqlite:///{tmp_path / 'x.kittrack'}", create=True, demo=True)
    with pytest.raises(BadInput, match="holds no paragraph"):
        scenario.build_demo(store)
    (tmp_path / "history" / "2024-10.txt").write_text(
        "2024-10-01 08:00  Manager Fennel: acknowledge the cautions\n\n"
        "2024-10-01 08:01  Clerk Nobody: acknowledge the cautions\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput, match=r"2024-10.txt, row 3"):
        scenario.build_demo(store)
    assert log.event_log(store) == ()
    store.close()


def test_progress_is_told_to_the_last_paragraph(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "demo_db" / "catalogue", tmp_path / "catalogue")
    (tmp_path / "history").mkdir()
    shutil.copy(HISTORY / "2024-10.txt", tmp_path / "history")
    monkeypatch.setattr(scenario, "data_folder", lambda _name: tmp_path)
    told: list[tuple[int, int]] = []
    store = open_store(f"sqlite:///{tmp_path / 'x.kittrack'}", create=True, demo=True)
    scenario.build_demo(store, progress=lambda done, of: told.append((done, of)))
    store.close()
    of = told[0][1]
    assert told == [(done, of) for done in range(1, of + 1)]


# ---- the text -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def history() -> tuple[Entry, ...]:
    """Every paragraph of the scenario."""
    return read_history(HISTORY, zone="Europe/Oslo")


def test_two_years_of_days_stand_in_the_order_of_time(history: tuple[Entry, ...]) -> None:
    times = [entry.at for entry in history]
    assert times == sorted(times)
    assert [f"{times[0]:%Y-%m}", f"{times[-1]:%Y-%m}"] == ["2024-10", "2026-09"]
    assert {f"{at:%Y-%m}.txt" for at in times} == {file.name for file in HISTORY.iterdir()}
    assert all(entry.source == f"{entry.at:%Y-%m}.txt" for entry in history)


def test_the_readme_lists_every_awkward_day(history: tuple[Entry, ...]) -> None:
    listed = {
        line.split()[0]
        for line in (ROOT / "demo_db" / "README.txt").read_text(encoding="utf-8").splitlines()
        if line.startswith("    20") and line[8] == "-" and line[14:16] == "  "
    }
    marked = set()
    for file in HISTORY.iterdir():
        parts = file.read_text(encoding="utf-8").split("# AWKWARD")[1:]
        marked |= {next(row for row in part.splitlines()[1:] if row.startswith("20"))[:10] for part in parts}
    assert listed == marked
    assert marked <= {f"{entry.at:%Y-%m-%d}" for entry in history}


def test_refused_acts_are_part_of_the_scenario(history: tuple[Entry, ...]) -> None:
    rules = {word.strip() for e in history for word in e.get("refused").split(",") if e.get("refused")}
    assert rules >= {"R1", "R3", "R5", "R6", "R8", "R10", "R13", "R14", "R17", "R19", "R20"}


# ---- awkward days -------------------------------------------------------------------------------------


def test_books_are_opened_with_a_history_that_is_unknown(demo: Store) -> None:
    fitted = aircraft.as_fitted(demo, "BR4-03")
    assert [one.history_known for one in fitted] == [False] * 4
    assert {one.used_minutes for one in fitted} == {None}  # unknown is not zero
    loose = shelf.on_the_shelf(demo, at=END, part="QW-18-CW", place="A-08")
    assert [(line.quantity, line.lot_code, line.condition) for line in loose] == [(3, "unknown", "on hold")]


def test_the_same_lot_code_of_two_suppliers_is_two_lots(demo: Store) -> None:
    account = recall_account(demo, lot_code="M0417")  # R16
    assert (len(account.lots), account.received) == (2, 120)


def test_a_transposed_serial_is_refused_with_the_one_it_may_be(history: tuple[Entry, ...]) -> None:
    (slip,) = [e for e in history if e.at.date().isoformat() == "2024-12-17" and e.get("refused")]
    assert slip.get("because") == "N15R-019"
    assert "N15R-091" in slip.get("masses")


def test_broken_sets_leave_orphans_that_are_on_hold(demo: Store) -> None:
    state = integrity.set_integrity(demo)  # R1
    assert len(state.broken) == 2
    assert {"W09-018", "C09-018"} <= {o.serial for o in state.orphans}
    assert {o.condition for o in state.orphans} <= {"on hold", "unserviceable"}
    assert {o.where for o in state.orphans} == {"hold cage Harbour Stores"}


def test_one_orphan_has_a_partner_that_would_match_it(demo: Store) -> None:
    partners = {o.serial: o for o in orphan_partners(demo)}
    assert partners["C09-018"].says.startswith(
        "they would match where both rested at one stop of the scale; "
    )
    assert partners["W09-018"].partner == ""


def test_a_clerk_who_was_declared_alone_made_a_re_inspection(demo: Store) -> None:
    assert days(demo, "declare that nobody else is there") == {"2025-02-12"}
    with demo.reading() as read:
        noted = read.rows(
            "SELECT at FROM event WHERE act = 'check a kit' AND statements LIKE '%re-inspection%'"
        )
    assert [at[:10] for (at,) in noted] == ["2025-02-13"]  # R8


def test_kits_come_back_unopened_opened_and_short(demo: Store) -> None:
    assert days(demo, "take back a kit unopened") == {"2025-03-26"}
    assert days(demo, "take back an opened kit") == {"2025-05-06"}
    assert days(demo, "open a kit outside its aircraft") == {"2025-08-12"}
    lost = classes(recall_account(demo, lot_code="M0417"))[AccountClass.LOST]
    assert lost == 2 + 1  # two gone from the kit in the van, one dropped in the heather


def test_rotors_on_the_wrong_arms_were_findings_and_are_settled(demo: Store) -> None:
    assert days(demo, "record a finding") == {"2025-04-15"}
    assert days(demo, "remove a rotor set (finding)") == {"2025-04-15"}
    assert standing.findings(demo) == ()
    assert all(p.agrees for p in aircraft.plan(demo, "BR4-06").positions)  # R3


def test_a_count_moved_what_was_missing_to_unaccounted(demo: Store) -> None:
    assert classes(recall_account(demo, lot_code="M0417"))[AccountClass.UNACCOUNTED] == 3


def test_places_were_counted_month_by_month_and_most_records_were_right(demo: Store) -> None:
    months = count_accuracy(demo, at=END, months=21)
    assert all(month.counts for month in months)
    assert sum(month.missing for month in months) == 6
    assert [month.month for month in months if month.within < month.places] == ["2025-04"]
    overdue = [each for each in counts_due(demo, at=END) if each.last_counted]
    assert 0 < len(overdue) < 8, "some are to be counted now, and not all"


def test_a_rotor_taken_off_for_transport_went_back_on_its_own_arm(demo: Store) -> None:
    (off,) = entries(demo, "remove a rotor set (transport)")
    with demo.reading() as read:
        rows = read.rows(
            "SELECT r.position_id, f.position_id, s.bound_position_id FROM removal r "
            "JOIN fit_record f ON f.rotor_set_id = r.rotor_set_id AND f.is_transport_refit = 1 "
            "JOIN rotor_set s ON s.id = r.rotor_set_id WHERE r.purpose = 'transport'"
        )
    assert off.at[:10] == "2025-05-13"
    assert [(was == back, bound) for was, back, bound in rows] == [(True, None)]


def test_each_override_that_exists_is_used_once(demo: Store) -> None:
    with demo.reading() as read:
        used = sorted(row.kind for row in read.select(Override))
    assert used == ["other airframe", "refit elsewhere", "shelf life extended"]  # R20
    assert {e.second for e in entries(demo, "extend a shelf life")} == {"Manager Gorse"}


def test_the_set_that_flew_elsewhere_took_its_hours_along(demo: Store) -> None:
    with demo.reading() as read:
        (code,) = read.row("SELECT subject FROM override WHERE kind = 'refit elsewhere'") or ("",)
    places = [use.airframe for use in trace.trace(demo, code=code).uses if use.kind == "fitted"]
    assert places == ["BR4-06", "BR4-05"]
    with demo.reading() as read:
        used = read.rows(
            "SELECT r.used_minutes FROM removal r JOIN rotor_set s ON s.id = r.rotor_set_id "
            "WHERE s.code = ? ORDER BY r.id",
            code,
        )
    assert 0 < used[0][0] < used[1][0]


def test_motor_work_cleared_a_map_and_a_motor_test_verified_it(demo: Store) -> None:
    assert days(demo, "record motor work") <= days(demo, "record a motor test")
    assert aircraft.plan(demo, "BR4-01").map_verified  # R17


def test_a_dropped_screw_was_made_good_by_a_kit(demo: Store) -> None:
    (kit,) = entries(demo, "build a make-good kit")
    (loss,) = entries(demo, "record a loss")
    assert loss.event < kit.event
    view = kits.kit_view(demo, kit=kit.codes[0], at=END)
    assert (view.purpose, view.state, {line.kind for line in view.lines}) == (
        "make-good",
        "opened",
        {"screw"},
    )


def test_a_hold_was_released_with_its_reference(demo: Store) -> None:
    with demo.reading() as read:
        released = read.rows("SELECT scope, release_reference FROM hold WHERE release_reference <> ''")
    assert ("lot", "Quillwing letter 2025-33") in released


def test_a_reversed_delivery_is_back_with_its_supplier(demo: Store) -> None:
    (reversal,) = entries(demo, "reverse an event")
    assert reversal.second == "Clerk Amaryllis"
    account = recall_account(demo, lot_code="W0131")
    assert (account.received, account.missing) == (100, 0)  # R12: two bookings, one of them undone


def test_an_occurrence_holds_what_was_on_the_airframe_as_evidence(demo: Store) -> None:
    (occurrence,) = entries(demo, "record an occurrence")
    fitted = aircraft.as_fitted(demo, "BR4-03")
    assert [one.holds for one in fitted] == [occurrence.codes] * 4


def test_an_expired_kit_was_refused_and_dissolved(demo: Store, history: tuple[Entry, ...]) -> None:
    assert days(demo, "dissolve a kit") == {"2026-03-03"}
    refused = [
        e.get("refused") for e in history if e.act == "issue a kit" and f"{e.at:%Y-%m-%d}" == "2026-03-03"
    ]
    assert refused == ["R13"]


def test_a_recall_still_finds_what_was_sold(demo: Store) -> None:
    account = recall_account(demo, lot_code="QW2409")
    assert classes(account)[AccountClass.SOLD] == 4  # the front rotors of BR4-02, two blades each
    assert aircraft.plan(demo, "BR4-02").state == "sold"


def test_who_left_acts_no_more_and_stays_in_the_history(demo: Store) -> None:
    assert not people.who_is(demo, who="Technician Dapple").is_here
    assert {e.at[:7] <= "2026-04" for e in log.event_log(demo, person="Technician Dapple", limit=500)} == {
        True
    }


def test_a_stopped_scan_is_on_record(demo: Store) -> None:
    assert days(demo, "a scan was refused") == {"2026-07-14"}


def test_the_recalled_screws_are_found_wherever_they_are(demo: Store) -> None:
    account = recall_account(demo, lot_code="M0611")
    assert classes(account) == {
        AccountClass.HOLD: 84,
        AccountClass.SEALED: 16,
        AccountClass.VAN: 16,
        AccountClass.ISSUED: 16,
        AccountClass.FITTED: 28,
    }
    assert (account.received, account.airframes, account.vans) == (
        160,
        ("BR4-04", "BR4-05"),
        ("Van Kestrel",),
    )
    assert {item.where for item in account.items if item.account_class == AccountClass.HOLD} == {
        "hold cage Harbour Stores",
        "M-01",
    }
    assert all(item.holds for item in account.items)


# ---- how the stores stand at the end ----------------------------------------------------------------------


def test_something_waits_in_goods_in(demo: Store) -> None:
    waiting = shelf.on_the_shelf(demo, at=END, place="goods-in Harbour Stores", condition="on hold")
    assert {line.part for line in waiting} >= {"QW-18-CCW", "SC-M4x12", "WA-M4"}


@pytest.mark.parametrize("part", ["NF-1505", "NF-1505R"])
def test_loose_blades_would_pair_and_some_would_not(demo: Store, part: str) -> None:
    proposal = pairing.propose_pairing(demo, part=part, at=END, one_stop=True)
    assert proposal.sets == 3
    assert sum(len(lot.pairing.singles) for lot in proposal.lots) == 2


def test_kits_are_sealed_on_the_shelf_and_in_vans_one_is_out_and_one_is_short(demo: Store) -> None:
    found = {(k.state, k.where) for k in kits.kits(demo, at=END)}
    assert found == {
        ("sealed", "A-07"),
        ("sealed", "Van Kestrel"),
        ("sealed", "Van Heron"),
        ("issued", "Technician Cinder"),
        ("building", "Bench 1"),
    }
    (begun,) = kits.kits(demo, state="building", at=END)
    assert {line.kind for line in begun.lines if line.short} == {"rotor set"}


def test_jobs_are_half_done_and_wait(demo: Store) -> None:
    jobs = {job.tail: job for job in standing.open_jobs(demo)}
    assert sorted(jobs) == ["BR4-01", "BR4-07", "CX8-02", "HX6-02"]
    states = [state for _, state in jobs["HX6-02"].positions]
    assert sorted(states) == ["inspected"] * 5 + ["not finished"]
    (kept,) = [k for k in kits.kits(demo, at=END) if k.reserved]
    assert kept.revision == "BR4 A"


def test_retorques_are_overdue_and_doses_expire(demo: Store) -> None:
    over = {d.airframe for d in due.retorques(demo) if d.over_minutes is not None}
    assert over == {"BR4-06", "CX8-02"}  # R18
    soon = [e for e in expiring.expiring(demo, at=END) if e.days_left is not None and e.days_left >= 0]
    assert {e.part for e in soon if e.part} >= {"TL-MED-SD"}


@pytest.fixture(scope="module")
def ship_sets(demo: Store) -> dict[str, Buildable]:
    """What could be built at the end, by type revision."""
    return {f"{b.type_name} {b.revision}": b for b in buildable(demo, at=END)}


def test_every_type_can_be_built_or_says_what_limits_it(ship_sets: dict[str, Buildable]) -> None:
    assert set(ship_sets) == {"BR4 A", "BR4 B", "CX8 A", "HX6 A"}
    assert all(b.ship_sets.limiting for b in ship_sets.values())
    assert {name for name, b in ship_sets.items() if b.ship_sets.count} >= {"BR4 A", "BR4 B"}
    assert ship_sets["BR4 B"].ship_sets.limiting[0].startswith("SC-M3x10")  # the recall took its screws
    for name in ("CX8 A", "HX6 A"):
        assert all("rotor sets" in line for line in ship_sets[name].ship_sets.limiting)
    assert {sense for sense, _, _ in ship_sets["HX6 A"].sets_by_sense} == {Sense.CW, Sense.CCW}


def test_orders_came_late_in_parts_or_not_at_all_and_what_lacks_is_proposed(demo: Store) -> None:
    lines = {(o.reference, o.part): o for o in orders.orders(demo, at=END, everything=True)}
    late = lines["PO 26-033", "SC-M4x12"]
    assert (late.state, late.arrived, late.outstanding) == ("LATE", 40, 20)
    assert lines["PO 26-034", "PEN-STRIPE"].state == "cancelled"
    taken = {s.part: s.mean_days_taken for s in orders.supply(demo) if s.is_usual}
    assert (taken["SC-M3x8"], taken["QW-18-CW"]) == (21, 21)
    (proposal,) = reorder.reorder_proposal(demo, at=END)
    assert proposal.group == "rotor sets of CX8 A"
    assert {line.part for line in proposal.lines if line.packs} == {
        "QW-19P-CW",
        "QW-20T-CW",
        "QW-19P-CCW",
        "QW-20T-CCW",
    }
    for line in proposal.lines:
        counted = line.issuable + line.in_kits + line.waiting + line.on_order
        assert counted + line.quantity == proposal.target * line.per_ship_set, (
            "packs of one blade leave nothing over"
        )


def test_the_stores_can_go_on_working(demo_template: Path, tmp_path: Path) -> None:
    store = open_store(f"sqlite:///{shutil.copyfile(demo_template, tmp_path / 'demo.kittrack')}")
    founding.acknowledge_cautions(store, by="Auditor Heather", at=END)
    (line,) = shelf.on_the_shelf(store, at=END, part="TL-MED-10", place="A-06")
    inspecting_stock.open_bottle(store, line=line.receipt_line, by="Clerk Bramble", at=END)
    kit = kitting.build_kit(store, bench="Bench 2", revision="BR4 A", by="Clerk Bramble", at=END)
    assert not any(line.short for line in kits.kit_view(store, kit=kit.codes[0], at=END).lines)
    store.close()
