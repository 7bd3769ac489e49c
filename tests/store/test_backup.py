"""Backups: made while others work, verified before they count, restored with a new range of numbers."""

import errno
import re
import shutil
import sqlite3
import stat
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound, Refused, StoreError
from kittrack.queries import at_aircraft, kits, recall, standing, trace
from kittrack.queries.backups import backup_files, backup_rule
from kittrack.queries.chain import chain_head
from kittrack.queries.log import event_log
from kittrack.queries.lookup import what_is
from kittrack.queries.verify import verify
from kittrack.services import desk, founding, holding, keeping, label_contents, signing_on
from kittrack.store import credentials
from kittrack.store.backup_rules import BackupRule
from kittrack.store.database import Store, open_store
from kittrack.store.head_note import note_of
from kittrack.store.numbers import RANGE
from kittrack.store.records import Kit
from tests.factories import (
    AUDITOR,
    BIN,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    SITE,
    after,
    put_in_stock,
    sealed_kit,
    stock_up,
)


@pytest.fixture
def small(sqlite_template: Path, tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "store.kittrack"
    path.write_bytes(sqlite_template.read_bytes())
    opened = open_store(f"sqlite:///{path}")
    yield opened
    opened.close()


def made(store: Store, tmp_path: Path) -> Path:
    return Path(keeping.make_backup(store, to=str(tmp_path / "evening.kittrack"), at=after(60)).codes[0])


def restored(file: Path, tmp_path: Path, *, minute: int = 100) -> Store:
    target = tmp_path / "new.kittrack"
    keeping.restore_backup(file=str(file), into=f"sqlite:///{target}", by=MANAGER, at=after(minute))
    return open_store(f"sqlite:///{target}")


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


# ---- making and checking -----------------------------------------------------------------------


def test_a_backup_holds_the_whole_and_is_private(small: Store, tmp_path: Path) -> None:
    stock_up(small, at=after(1))
    head = chain_head(small)
    file = made(small, tmp_path)
    note = note_of(file)
    assert f"head: {head.text}\n" in note.read_text(encoding="utf-8")
    assert (mode(file), mode(note)) == (0o600, 0o600)
    found = keeping.check_backup(file=str(file))
    assert (found.faults, found.head, found.noted, found.events) == ((), head.text, head.text, head.event)
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("evening")) == [
        file.name,
        note.name,
    ]


def test_a_backup_is_one_moment_while_another_connection_writes(small: Store, tmp_path: Path) -> None:
    with closing(sqlite3.connect(small.url.removeprefix("sqlite:///"), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE place SET name = 'half done' WHERE name = ?", (BIN,))
        file = made(small, tmp_path)
        other.execute("ROLLBACK")
    assert not keeping.check_backup(file=str(file)).faults


def test_a_folder_gives_the_file_a_name_of_its_moment(small: Store, tmp_path: Path) -> None:
    file = Path(keeping.make_backup(small, to=str(tmp_path), at=after(60)).codes[0])
    assert file.name == f"kittrack-2026-03-02T080000Z-event-{chain_head(small).event}.kittrack"


def test_nothing_is_written_over(small: Store, tmp_path: Path) -> None:
    file = made(small, tmp_path)
    before = file.read_bytes()
    with pytest.raises(Refused) as refused:
        made(small, tmp_path)
    assert refused.value.rules == {"R12"}
    assert file.read_bytes() == before


def test_a_file_system_without_links_takes_a_backup_too_and_nothing_is_written_over(
    small: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a memory stick; what another put there meanwhile stays."""
    puts_first: list[bytes] = []

    def no_links(path: Path, _: Path) -> None:
        for content in puts_first:
            path.write_bytes(content)
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", no_links)
    file = made(small, tmp_path)
    assert keeping.check_backup(file=str(file)).faults == ()
    assert mode(file) == 0o600
    file.unlink()
    note_of(file).unlink()
    before = sorted(tmp_path.iterdir())
    puts_first.append(b"of another")
    with pytest.raises(Refused) as refused:
        made(small, tmp_path)
    assert refused.value.rules == {"R12"}
    assert file.read_bytes() == b"of another"
    assert sorted(tmp_path.iterdir()) == sorted([*before, file])


def test_a_folder_that_is_not_there_is_told(small: Store, tmp_path: Path) -> None:
    with pytest.raises(StoreError):
        keeping.make_backup(small, to=str(tmp_path / "no" / "such" / "file"), at=after(60))


def test_an_unsound_store_gives_no_backup(small: Store, tmp_path: Path) -> None:
    with small._writing():
        small._database.execute_sql("UPDATE company SET name = 'forged' WHERE id = 1")
    with pytest.raises(StoreError, match="company 1"):
        made(small, tmp_path)
    assert not list(tmp_path.glob("evening*"))


@pytest.mark.postgresql
def test_a_postgresql_store_is_told_to_use_the_archive(fresh_postgresql_url: str, tmp_path: Path) -> None:
    store = open_store(fresh_postgresql_url, create=True)
    founding.found_store(store, site=SITE, time_zone="Europe/Oslo", manager=MANAGER, at=after(0))
    with pytest.raises(StoreError, match="archive make"):
        made(store, tmp_path)
    store.close()
    assert not list(tmp_path.iterdir())


def flipped(data: bytes) -> bytes:
    at = data.index(b"Invented Supplies")
    return data[:at] + b"X" + data[at + 1 :]


@pytest.mark.parametrize("with_note", [True, False])
@pytest.mark.parametrize(
    "spoil",
    [
        flipped,
        lambda data: data[: len(data) // 2],
        lambda data: b"\0" * 100 + data[100:],
        lambda _: b"",
        lambda _: b"no store at all" * 100,
    ],
    ids=["one letter", "cut off", "head gone", "empty", "other file"],
)
def test_a_spoilt_backup_is_found_and_not_restored(
    small: Store, tmp_path: Path, spoil: Callable[[bytes], bytes], *, with_note: bool
) -> None:
    file = made(small, tmp_path)
    file.write_bytes(spoil(file.read_bytes()))
    if not with_note:
        note_of(file).unlink()
    before = file.read_bytes()
    assert keeping.check_backup(file=str(file)).faults
    assert file.read_bytes() == before
    with pytest.raises(StoreError):
        restored(file, tmp_path)
    assert not list(tmp_path.glob("new*"))


def test_a_backup_whose_rows_were_changed_is_not_restored_though_every_page_holds(
    small: Store, tmp_path: Path
) -> None:
    file = made(small, tmp_path)
    note_of(file).unlink()
    with closing(sqlite3.connect(file)) as raw:
        raw.execute("UPDATE company SET name = 'Forged' WHERE id = 1")
        raw.commit()
    [fault] = keeping.check_backup(file=str(file)).faults
    assert "company 1" in fault
    with pytest.raises(StoreError, match=r"is not sound, nothing was restored: .*company 1"):
        restored(file, tmp_path)
    assert not list(tmp_path.glob("new*"))


@pytest.mark.parametrize("what", ["check", "restore"])
def test_a_backup_on_a_disk_that_can_not_be_read_is_told(
    small: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    file = made(small, tmp_path)

    def broken(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(shutil, "copyfile", broken)
    with pytest.raises(StoreError, match=r"evening.kittrack can't be read \(Input/output error\)"):
        if what == "check":
            keeping.check_backup(file=str(file))
        else:
            restored(file, tmp_path)
    assert not list(tmp_path.glob("new*"))


def test_a_store_that_can_not_be_copied_leaves_no_backup(
    small: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copy's own file is the first that the driver can't open where a disk is full."""

    def full(*_: object) -> sqlite3.Connection:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(sqlite3, "connect", full)
    with pytest.raises(StoreError, match=r"can't be copied \(database or disk is full\); look at the room"):
        made(small, tmp_path)
    assert not list(tmp_path.glob("evening*"))


def test_a_history_cut_off_shows_against_a_head_kept_elsewhere(small: Store, tmp_path: Path) -> None:
    early = made(small, tmp_path)
    put_in_stock(small, SCREW, 8, at=after(70))
    later = chain_head(small).text
    assert any("cut off" in f for f in keeping.check_backup(file=str(early), expected_head=later).faults)
    assert not keeping.check_backup(file=str(early)).faults
    number, _, digest = chain_head(small).text.partition(":")
    forged = f"{int(number) - 1}:{digest}"
    assert any("rewritten" in f for f in keeping.check_backup(file=str(early), expected_head=forged).faults)


def test_a_backup_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        keeping.check_backup(file=str(tmp_path / "none"))
    with pytest.raises(NotFound):
        restored(tmp_path / "none", tmp_path)


# ---- restoring ---------------------------------------------------------------------------------


def test_a_restored_store_goes_on_and_its_history_says_so(small: Store, tmp_path: Path) -> None:
    stock_up(small, at=after(1))
    kit = sealed_kit(small, at=after(2))
    head = chain_head(small)
    new = restored(made(small, tmp_path), tmp_path)
    assert not verify(new, expected_head=head.text).faults
    assert chain_head(new).event == head.event + 1
    with new.reading() as read:
        assert read.find(Kit, code=kit) is not None
    founding.add_place(new, kind="bin", name="Z-01", site=SITE, by=MANAGER, at=after(101))
    new.close()
    assert mode(tmp_path / "new.kittrack") == 0o600


def test_a_store_is_never_restored_over_another(small: Store, tmp_path: Path) -> None:
    file = made(small, tmp_path)
    target = tmp_path / "there.kittrack"
    for name in ("there.kittrack", "there.kittrack-wal"):  # a left journal would be played into the new store
        (tmp_path / name).write_bytes(b"somebody's")
        with pytest.raises(Refused):
            keeping.restore_backup(file=str(file), into=f"sqlite:///{target}", by=MANAGER, at=after(100))
        assert (tmp_path / name).read_bytes() == b"somebody's"
        (tmp_path / name).unlink()


def test_only_a_manager_restores_and_with_the_pin(
    small: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(credentials, "COST_N", 2**4)
    signing_on.set_pin(small, person=MANAGER, pin="482915", by=MANAGER, at=after(1))
    file, target = made(small, tmp_path), tmp_path / "new.kittrack"
    for by, pin in ((CLERK, ""), (MANAGER, ""), (MANAGER, "371905")):
        with pytest.raises(Refused):
            keeping.restore_backup(file=str(file), into=f"sqlite:///{target}", by=by, pin=pin, at=after(100))
        assert not list(tmp_path.glob("new*"))
    keeping.restore_backup(
        file=str(file), into=f"sqlite:///{target}", by=MANAGER, pin="482915", at=after(100)
    )
    assert target.exists()


def test_a_backup_is_restored_to_a_file_only(small: Store, tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        keeping.restore_backup(
            file=str(made(small, tmp_path)), into="postgresql://host/db", by=MANAGER, at=after(100)
        )


# ---- labels of the lost day --------------------------------------------------------------------


def test_a_label_from_the_lost_day_is_known_as_one(small: Store, tmp_path: Path) -> None:
    stock_up(small, at=after(1))
    file = made(small, tmp_path)
    lost_line = put_in_stock(small, CW_BLADE, 2, at=after(70), lot_code="LOT-2")
    lost_kit = sealed_kit(small, at=after(71))
    new = restored(file, tmp_path)
    for code in (lost_line, lost_kit):
        with pytest.raises(NotFound, match="after the last backup"):
            what_is(new, code=code)
    with new.reading() as read, pytest.raises(NotFound, match="after the last backup"):
        desk.find_kit(read, lost_kit)
    with new.reading() as read, pytest.raises(NotFound, match="after the last backup"):
        label_contents.label_of(read, lost_kit)
    with new.reading() as read:
        floor = read.value("SELECT number_floor FROM store_stamp")
    foreign = codes.make_code(codes.Kind.KIT, codes.next_number(codes.Kind.KIT, after=floor + 500))
    with pytest.raises(NotFound, match="another store"):
        what_is(new, code=foreign)
    new.close()


def test_every_question_knows_a_number_of_the_lost_day(small: Store, tmp_path: Path) -> None:
    new = restored(made(small, tmp_path), tmp_path)
    kit, job, airframe, line, hold = (
        codes.make_code(kind, codes.next_number(kind, after=500))
        for kind in (
            codes.Kind.KIT, codes.Kind.JOB, codes.Kind.AIRFRAME, codes.Kind.RECEIPT_LINE, codes.Kind.HOLD,
        )
    )  # fmt: skip
    asked: dict[str, Callable[[], object]] = {
        "kit": lambda: kits.kit_view(new, kit=kit, at=after(110)),
        "kit of a job": lambda: kits.job_view(new, job=job),
        "trace": lambda: trace.trace(new, code=kit),
        "recall": lambda: recall.recall_account(new, code=line),
        "job": lambda: standing.standing(new, job),
        "aircraft of a job": lambda: at_aircraft.aircraft_view(new, code=job),
        "aircraft": lambda: at_aircraft.aircraft_view(new, code=airframe),
        "hold": lambda: holding.release_hold(
            new, hold=hold, reference="letter 1", reason="sound", by=MANAGER, at=after(110)
        ),
    }
    for question, ask in asked.items():
        with pytest.raises(NotFound, match="after the last backup"):
            raise AssertionError((question, ask()))
    new.close()


def test_no_number_of_the_lost_day_is_given_out_again(small: Store, tmp_path: Path) -> None:
    stock_up(small, at=after(1))
    file = made(small, tmp_path)
    lost = {put_in_stock(small, SCREW, 8, at=after(70 + n), lot_code=f"S-{n}") for n in range(5)}
    lost.add(sealed_kit(small, at=after(80)))
    new = restored(file, tmp_path)
    again = {put_in_stock(new, SCREW, 8, at=after(110 + n), lot_code=f"N-{n}") for n in range(5)}
    again.add(sealed_kit(new, at=after(120)))
    again.add(founding.add_place(new, kind="bin", name="Z-01", site=SITE, by=MANAGER, at=after(121)).codes[0])
    assert not lost & again
    with new.reading() as read:
        floor = read.value("SELECT number_floor FROM store_stamp")
    assert floor >= RANGE
    assert all(codes.read_code(c).number > floor for c in again)
    assert not verify(new).faults
    new.close()


def test_each_restore_starts_a_range_of_its_own(small: Store, tmp_path: Path) -> None:
    new = restored(made(small, tmp_path), tmp_path)
    first = put_in_stock(new, SCREW, 8, at=after(110))
    second_file = keeping.make_backup(new, to=str(tmp_path / "second.kittrack"), at=after(111)).codes[0]
    lost = put_in_stock(new, SCREW, 8, at=after(112), lot_code="S-9")
    new.close()
    again = tmp_path / "again.kittrack"
    keeping.restore_backup(file=second_file, into=f"sqlite:///{again}", by=MANAGER, at=after(120))
    newer = open_store(f"sqlite:///{again}")
    assert what_is(newer, code=first).code == first
    with pytest.raises(NotFound, match="after the last backup"):
        what_is(newer, code=lost)
    assert put_in_stock(newer, SCREW, 8, at=after(121), lot_code="S-9") > lost
    newer.close()


# ---- on record, and how many are kept ----------------------------------------------------------


def test_who_made_a_copy_is_on_record_and_an_auditor_makes_none(small: Store, tmp_path: Path) -> None:
    for make, act in ((keeping.make_backup, "make a backup"), (keeping.make_archive, "make an archive")):
        with pytest.raises(Refused) as refused:
            make(small, to=str(tmp_path / "no"), at=after(60), by=AUDITOR)
        assert refused.value.rules == {"role"}
        assert not (tmp_path / "no").exists()
        made_file = make(small, to=str(tmp_path / act), at=after(60), by=CLERK)
        entry = event_log(small, act=act, limit=1)[0]
        assert entry.by == CLERK
        with small.reading() as read:
            told = read.value("SELECT statements FROM event WHERE id = ?", entry.event)
        assert made_file.head in told
        assert str(tmp_path) not in told  # where backups lie is nobody's business
    assert not verify(small).faults


def test_files_beyond_what_is_kept_are_named_and_stay(small: Store, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    assert backup_rule(small) == BackupRule()
    keeping.set_backup_rule(small, kept=2, reason="a small disk", by=MANAGER, at=after(1))
    assert backup_rule(small) == BackupRule(days=BackupRule().days, kept=2)
    said = ""
    for minute in (60, 70, 80):
        put_in_stock(small, SCREW, 8, at=after(minute), lot_code=f"S-{minute}")
        said = " ".join(keeping.make_backup(small, to=str(folder), at=after(minute)).said)
    files = backup_files(small, folder=str(folder))
    assert [f.is_beyond for f in files] == [False, False, True]
    assert [f.event for f in files] == sorted((f.event for f in files), reverse=True)
    assert all(f.is_of_this_store for f in files)
    assert f"nothing was deleted: {files[-1].file}." in said
    assert len(list(folder.glob("*.kittrack"))) == 3


def test_a_backup_of_another_store_is_known_as_one_and_not_counted(small: Store, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    keeping.make_backup(small, to=str(folder), at=after(60))
    note = next(folder.glob("*.head.txt"))
    note.write_text(re.sub(r"head: (\d+):[0-9a-f]{64}", r"head: \g<1>:" + "0" * 64, note.read_text()))
    assert [f.is_of_this_store for f in backup_files(small, folder=str(folder))] == [False]
    with pytest.raises(NotFound):
        backup_files(small, folder=str(tmp_path / "none"))


@pytest.mark.parametrize("given", [{}, {"days": 0}, {"kept": -1}, {"days": 10**9}])
def test_a_rule_of_backups_that_is_none_is_told(small: Store, given: dict[str, int]) -> None:
    with pytest.raises(BadInput):
        keeping.set_backup_rule(
            small, reason="x", by=MANAGER, at=after(1), days=given.get("days"), kept=given.get("kept")
        )
