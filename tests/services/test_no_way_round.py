"""No act goes past its role, its second person, a leaver's badge or a script's account: every act is tried.

The invented scenario and the scenes of other tests are played; each act of a service is tried before it is done
as people who may not do it (probing.py). What each act takes is written down here, so that a change shows.
"""

import inspect
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import Refused
from kittrack.printing.stock import stocks
from kittrack.queries.log import event_log
from kittrack.queries.people import who_is
from kittrack.services import (
    catalogue_files,
    fitting,
    founding,
    inspecting_sets,
    issuing,
    jobs,
    keeping,
    kitting,
    labelling,
    printing_out,
    receiving,
    removing,
    sealing,
)
from kittrack.services import demo as scenario
from kittrack.services.desk import roles_for
from kittrack.store import credentials
from kittrack.store.database import Store, open_store
from kittrack.store.records import Person
from tests import factories
from tests.aircraft_scene import Scene
from tests.factories import AUDITOR, BENCH, BUILDER, CLERK, INSPECTOR, MANAGER, TAIL, TECHNICIAN, VAN, after
from tests.services import test_receiving
from tests.services.probing import LEAVER, ONLY, SCRIPT, Watch, acts, add_people, twin, watching

OF_ONESELF = {
    "founding.acknowledge_cautions": "everybody reads the cautions at the first sign-on, an auditor too",
}
"""Acts about oneself, which take no role."""

WITHIN = {
    "receiving_files.receive_file": "receiving.receive",
    "scanning.receive_scanned": "receiving.receive",
    "keeping.make_archive": "writes a file first; tests/store/test_backup.py tries its record",
    "keeping.make_backup": "writes a file first; tests/store/test_backup.py tries its record",
    "printing_out.send_labels": "labelling.record_label_print",
}
"""Services that act through another one, which is tried."""

TAKES = """
airframe_leaving.sell_airframe             manager
airframe_leaving.write_off_airframe        manager
airframes.add_airframe                     manager
airframes.change_type_revision             manager
airframes.enter_usage                      clerk inspector manager technician
arrivals.record_arrival                    clerk manager
catalogue.add_airframe_type                manager
catalogue.add_company                      clerk manager
catalogue.add_paper_kind                   manager
catalogue.add_part                         manager
catalogue.add_position_group               manager
catalogue.add_tool                         manager
catalogue.add_type_revision                manager
catalogue.calibrate_tool                   inspector manager
catalogue.retire_tool                      manager
catalogue.supersede_part                   manager
catalogue.withdraw_paper_kind              manager
catalogue_files.load_catalogue             manager
counting.enter_count                       clerk manager
counting.open_count                        clerk manager
counting.settle_count                      clerk manager
counting_anew.begin_anew                   clerk manager
disposing.extend_shelf_life                inspector manager
disposing.return_to_supplier               clerk manager
disposing.scrap                            clerk inspector manager
document_printing.record_document_print    clerk inspector manager technician
drilling.report_drill                      clerk inspector manager technician
drilling.start_drill                       clerk inspector manager
drilling.stop_drill                        inspector manager
fastening.fasten                           technician
findings.record_finding                    clerk inspector manager technician
findings.settle_finding                    inspector manager
fitting.fit_set                            technician
fitting.record_refused_scan                clerk inspector manager technician
fitting.take_off_unfinished                technician
founding.add_person                        manager
founding.add_place                         clerk manager
founding.add_site                          manager
founding.correct_clock                     manager
founding.declare_alone                     manager
founding.let_person_go                     manager
founding.set_roles                         manager
handing_over.hand_over_shift               clerk inspector manager technician
holding.narrow_hold                        inspector manager
holding.place_hold                         clerk inspector manager technician
holding.release_hold                       inspector manager
idling.lock_when_idle                      manager
inspecting.inspect_pieces                  clerk inspector
inspecting.reinspect_pieces                clerk inspector technician
inspecting_sets.inspect_set                inspector technician
inspecting_stock.inspect_stock             clerk inspector
inspecting_stock.open_bottle               clerk technician
issuing.issue_kit                          clerk
issuing.open_at_aircraft                   technician
jobs.close_job                             inspector manager technician
jobs.lose                                  clerk inspector technician
jobs.open_job                              clerk inspector manager technician
jobs.release_reservation                   clerk manager
jobs.reserve                               clerk manager
keeping.go_on_after_loss                   manager
keeping.set_backup_rule                    manager
kit_settings.confirm_settings              clerk inspector manager
kitting.build_kit                          clerk
kitting.dissolve_kit                       clerk
labelling.record_label_print               clerk inspector manager technician
leaving_out.leave_out                      inspector manager technician
making_good.build_make_good                clerk
matching.make_set_by_measurement           clerk inspector technician
matching.make_set_of_one                   clerk inspector technician
matching.make_set_of_pair                  clerk inspector technician
matching.prove_set                         clerk inspector technician
moving.move_things                         clerk technician
occurrences.record_occurrence              clerk inspector manager technician
opening.open_shelf                         manager
opening.record_history                     manager
opening_fitted.open_fitted                 manager
ordering.cancel_order                      clerk manager
ordering.place_order                       clerk manager
ordering.set_supply_terms                  clerk manager
picking.pick_missing                       clerk
picking.swap_pick                          clerk
printing_out.record_bench_sheet            clerk inspector manager technician
printing_out.void_label                    clerk inspector manager technician
recalling.close_recall                     manager
recalling.mark_notice_sent                 clerk inspector manager technician
recalling.record_disposition               inspector manager
recalling.record_notice_answer             clerk inspector manager technician
recalling.write_notices                    clerk inspector manager technician
receiving.accept_without_paper             manager
receiving.attach_paper                     clerk inspector manager
receiving.receive                          clerk manager
receiving.record_expiry                    clerk inspector manager
removing.give_up_refit                     clerk inspector technician
removing.remove_set                        technician
returning.open_kit                         clerk inspector technician
returning.return_leftovers                 clerk
returning.return_opened                    clerk
returning.return_unopened                  clerk
reversing.reverse_event                    clerk manager
sampling.decide_sampling                   manager
sealing.check_kit                          clerk inspector manager
sealing.put_away_kit                       clerk
sealing.seal_kit                           clerk inspector manager
sense_maps.record_motor_test               inspector technician
sense_maps.record_motor_work               inspector manager technician
sense_maps.revise_sense_map                manager
set_breaking.break_set                     clerk inspector manager technician
settings.change_mark_table                 manager
settings.change_pairing                    manager
settings.change_tolerance                  manager
settings.withdraw_supersession             manager
settings_kit_list.change_kit_list          manager
settings_kit_list.end_kit_list_line        manager
settings_types.approve_part                manager
settings_types.change_retorque             manager
settings_types.change_torque               manager
settings_types.withdraw_part               manager
signing_on.require_pins                    manager
signing_on.set_pin                         manager
torquing.record_retorque                   technician
trimming.trim_blades                       clerk inspector technician
walking.inspect_position                   inspector
walking.walk_positions                     inspector technician
weighing.record_weighing                   clerk inspector technician
"""
"""The roles of which each act takes one. Source: design 3 (roles), R8, R21; the rest is common practice, no source."""


def takes() -> dict[str, frozenset[str]]:
    """The roles of each act by its name."""
    rows = [line.split() for line in TAKES.strip().splitlines()]
    return {name: frozenset(roles) for name, *roles in rows}


def test_what_an_act_says_of_its_roles_is_what_it_takes() -> None:
    told = {name: frozenset(roles_for(_act(name))) for name in takes()}
    assert {name: roles for name, roles in told.items() if roles} == {
        name: roles for name, roles in takes().items() if told[name]
    }
    assert sum(map(bool, told.values())) > 0.8 * len(
        told
    )  # where the role hangs on what is done, nothing is told


def _act(name: str) -> Callable[..., Any]:
    module, _, function = name.rpartition(".")
    found: Callable[..., Any] = getattr(import_module(f"kittrack.services.{module}"), function)
    return found


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the factories' world and the people who may not act."""
    path = tmp_path_factory.mktemp("people") / "world.kittrack"
    store = open_store(f"sqlite:///{path}", create=True)
    factories.make_world(store)
    add_people(store, by=MANAGER)
    store.close()
    return path


@pytest.fixture(scope="module")
def watch(world: Path, tmp_path_factory: pytest.TempPathFactory) -> Watch:
    """What trying every act of every scene has shown."""
    folder = tmp_path_factory.mktemp("watched")
    with pytest.MonkeyPatch.context() as patch, watching(patch) as seen:
        patch.setattr(credentials, "COST_N", 2**4)
        play_scenario(folder, seen, patch)
        for scene in scenes_of_other_tests(seen):
            with suppress(Exception), copied(world, folder) as store:  # its own test judges it
                scene(store)
        for scene in (play_in_the_office, play_at_the_aircraft, play_a_check_in_place):
            with copied(world, folder) as store:
                scene(store)
        return seen


def play_scenario(folder: Path, seen: Watch, patch: pytest.MonkeyPatch) -> None:
    """The invented scenario, with the people who may not act added after the catalogue is loaded."""
    load = catalogue_files.load_catalogue

    def load_and_add(store: Store, *, folder: Path, by: str, at: datetime) -> object:
        seen.is_resting = True
        done = load(store, folder=folder, by=by, at=at)
        add_people(store, by=by)
        seen.is_resting = False
        return done

    patch.setattr(scenario, "load_catalogue", load_and_add)
    store = open_store(f"sqlite:///{folder / 'demo.kittrack'}", create=True, demo=True)
    scenario.build_demo(store)
    store.close()


def scenes_of_other_tests(seen: Watch) -> Iterator[Callable[[Store], None]]:
    """Tests that ask for nothing but a store, from the files that name an act which was not tried yet."""
    for file in sorted(Path(__file__).parent.glob("test_*.py")):
        text = file.read_text(encoding="utf-8")
        if file == Path(__file__) or not any(name.split(".")[1] in text for name in not_tried(seen)):
            continue
        module = import_module(f"tests.services.{file.stem}")
        for name, scene in inspect.getmembers(module, inspect.isfunction):
            if name.startswith("test_") and list(inspect.signature(scene).parameters) == ["store"]:
                yield scene


def not_tried(seen: Watch) -> set[str]:
    """The acts of which nothing was learned yet: `module.function`."""
    return {name for name, _ in acts().values()} - set(seen.roles) - set(OF_ONESELF) - set(WITHIN)


@contextmanager
def copied(world: Path, folder: Path) -> Iterator[Store]:
    """A fresh copy of a world, open."""
    with tempfile.TemporaryDirectory(dir=folder) as own:
        store = open_store(f"sqlite:///{shutil.copyfile(world, Path(own) / 'scene.kittrack')}")
        try:
            yield store
        finally:
            store.close()


def play_in_the_office(store: Store) -> None:
    """Acts that neither the scenario nor other tests' scenes hold."""
    line = test_receiving.take_in(store, replace(test_receiving.BOTTLES, expiry=Expiry.unknown())).codes[1]
    with tempfile.TemporaryDirectory() as folder:
        rows = "name,maker,supplier,lead_time\nOak Rotors,yes,yes,14 days\n"
        (Path(folder) / "companies.csv").write_text(rows, encoding="utf-8")
        catalogue_files.load_catalogue(store, folder=Path(folder), by=MANAGER, at=after(1))
    founding.add_site(store, name="North", time_zone="Europe/Oslo", by=MANAGER, at=after(2))
    founding.add_place(store, kind="bin", name="N-01", site="North", by=CLERK, at=after(2))
    founding.set_roles(store, person=CLERK, roles=("clerk", "inspector"), by=MANAGER, at=after(2))
    with store.reading() as read:
        code = read.find(Person, name=CLERK)
    assert code is not None
    paper = stocks()[0]
    labelling.record_label_print(store, things=[code.code], stock=paper, by=CLERK, at=after(3))
    printing_out.void_label(store, thing=code.code, copy=1, reason="torn", by=CLERK, at=after(4))
    printing_out.record_bench_sheet(store, by=CLERK, at=after(5))
    until = Expiry.limited(date(2027, 3, 31))
    receiving.record_expiry(store, line=line, expiry=until, source="letter 3", by=CLERK, at=after(6))
    keeping.set_backup_rule(store, days=2, reason="letter 4", by=MANAGER, at=after(6))
    keeping.go_on_after_loss(store, reason="the disk failed", second=INSPECTOR, by=MANAGER, at=after(6))
    founding.correct_clock(store, reason="battery", second=INSPECTOR, by=MANAGER, at=after(7))


def play_at_the_aircraft(store: Store) -> None:
    """An unfinished fit taken off, a refit after transport given up."""
    scene = Scene(store)
    scene.fit("FL", scene.sets[0], "R")
    fitting.take_off_unfinished(
        store, job=scene.job, position=scene.spot("FL"), reason="wrong arm", by=TECHNICIAN, at=scene.now
    )
    scene.whole("FL", scene.sets[0], "R")
    scene.remove(purpose="transport", to_place=VAN, reason="drive to the next site")
    removing.give_up_refit(store, rotor_set=scene.sets[0], reason="dropped", by=TECHNICIAN, at=scene.now)


def play_a_check_in_place(store: Store) -> None:
    """A kit that a second person checks and seals while its builder stays signed on."""
    factories.stock_up(store, at=after(1))
    kit = built(store)
    sealing.check_kit(store, kit=kit, second=CLERK, by=BUILDER, at=after(3))
    sealing.seal_kit(store, kit=kit, seal="8", second=CLERK, by=BUILDER, at=after(4))


# ---- what it has shown -----------------------------------------------------------------------------


def test_every_act_of_the_services_was_tried(watch: Watch) -> None:
    assert not_tried(watch) == set()
    assert set(takes()) == set(watch.roles) - set(OF_ONESELF)


def test_every_act_takes_the_roles_that_are_written_down(watch: Watch) -> None:
    assert {name: roles for name, roles in watch.roles.items() if name not in OF_ONESELF} == takes()


def test_an_auditor_only_reads() -> None:
    assert not [name for name, roles in takes().items() if "auditor" in roles]


def test_nobody_who_left_acts_and_nobody_is_their_own_second_person(watch: Watch) -> None:
    assert watch.faults == []


def test_every_act_that_names_a_second_person_was_tried_with_the_wrong_ones(watch: Watch) -> None:
    asks = {name for name, service in acts().values() if "second" in inspect.signature(service).parameters}
    assert asks == watch.seconds
    assert len(asks) > 15


# ---- second persons who are not named as one --------------------------------------------------------


@pytest.fixture
def busy(world: Path, tmp_path: Path) -> Iterator[Store]:
    """A store with stock on its shelves and the people who may not act."""
    with copied(world, tmp_path) as store:
        factories.stock_up(store, at=after(1))
        yield store


def built(store: Store) -> str:
    """A kit for the airframe, built by `BUILDER` and not checked."""
    return kitting.build_kit(store, bench=BENCH, airframe=TAIL, by=BUILDER, at=after(2)).codes[0]


@pytest.mark.parametrize("who", [twin(BUILDER), SCRIPT, LEAVER])
def test_a_kit_is_not_checked_by_its_builder_a_script_or_a_leaver(busy: Store, who: str) -> None:
    kit = built(busy)
    with pytest.raises(Refused) as refused:
        sealing.check_kit(busy, kit=kit, by=who, at=after(3))
    assert refused.value.rules == {"R8"}
    sealing.check_kit(busy, kit=kit, by=twin(CLERK), at=after(4))


@pytest.mark.parametrize("who", [twin(CLERK), SCRIPT, LEAVER])
def test_a_kit_is_not_handed_to_its_giver_a_script_or_a_leaver(busy: Store, who: str) -> None:
    kit = factories.finished_kit(busy, built(busy), at=after(3), seal="7")
    job = jobs.open_job(busy, airframe=TAIL, purpose="rotors", by=TECHNICIAN, at=after(4)).codes[0]
    with pytest.raises(Refused) as refused:
        issuing.issue_kit(busy, kit=kit, job=job, seal="7", receiver=who, by=CLERK, at=after(5))
    assert refused.value.rules == {"R8"}
    issuing.issue_kit(busy, kit=kit, job=job, seal="7", receiver=TECHNICIAN, by=CLERK, at=after(6))


@pytest.mark.parametrize("who", [twin(TECHNICIAN), SCRIPT, LEAVER])
def test_a_position_is_not_inspected_by_its_fitter_a_script_or_a_leaver(
    world: Path, tmp_path: Path, who: str
) -> None:
    with copied(world, tmp_path) as store:
        scene = Scene(store)
        scene.fit("FL", scene.sets[0], "R")
        scene.fasten("FL")
        with pytest.raises(Refused) as refused:
            scene.inspect("FL", "R", by=who)
        assert refused.value.rules == {"R8"}
        scene.inspect("FL", "R", by=INSPECTOR)


def test_a_script_neither_walks_around_an_aircraft_nor_releases_a_removed_set(
    world: Path, tmp_path: Path
) -> None:
    with copied(world, tmp_path) as store:
        scene = Scene(store)
        scene.all_four()
        with pytest.raises(Refused) as refused:
            scene.walk(by=SCRIPT)
        assert refused.value.rules == {"R8"}
        scene.remove()
        with pytest.raises(Refused) as refused:
            inspecting_sets.inspect_set(
                store,
                rotor_set=scene.sets[0],
                mark="R",
                note="looked over",
                result="held",
                by=SCRIPT,
                at=scene.now,
            )
        assert refused.value.rules == {"R8"}


# ---- people who leave ------------------------------------------------------------------------------


def test_a_leaver_stays_in_the_history_under_the_name_of_the_time(world: Path, tmp_path: Path) -> None:
    with copied(world, tmp_path) as store:
        founding.add_place(store, kind="bin", name="Z-1", site=factories.SITE, by=CLERK, at=after(1))
        founding.let_person_go(store, person=CLERK, by=MANAGER, at=after(2))
        entry = event_log(store, act="add a place", limit=1)[0]
        assert entry.by == CLERK
        with pytest.raises(Refused, match="has left"):
            founding.add_place(store, kind="bin", name="Z-2", site=factories.SITE, by=CLERK, at=after(3))


def test_the_last_manager_neither_leaves_nor_gives_up_the_role(world: Path, tmp_path: Path) -> None:
    with copied(world, tmp_path) as store:
        assert (
            "manager" in who_is(store, who=SCRIPT).roles
        )  # a program is nobody who could let a manager in again
        others = [
            ONLY["manager"],
            *(twin(n) for n in (MANAGER, CLERK, BUILDER, TECHNICIAN, INSPECTOR, AUDITOR)),
        ]
        for who in others:
            founding.let_person_go(store, person=who, by=MANAGER, at=after(1))
        with pytest.raises(Refused, match="last manager"):
            founding.let_person_go(store, person=MANAGER, by=MANAGER, at=after(2))
        with pytest.raises(Refused, match="last manager"):
            founding.set_roles(store, person=MANAGER, roles=("clerk",), by=MANAGER, at=after(2))
