"""Keeping a store: backups, restoring one, archives, and the records that go along with an airframe.

Making a copy changes nothing and is no act. Restoring after a loss is one: it stands in the history, with the
range of numbers that was given up for the labels of the lost days. Source: design 2, R12, A4.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from kittrack.domain.dates import shown_at
from kittrack.domain.rules import require
from kittrack.errors import BadInput, Refusal, Refused
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.signing_on import sign_on
from kittrack.store import archive, archive_reading, backup, handover, handover_check, terminal_memory
from kittrack.store.act import read_instant_text
from kittrack.store.addresses import parts_of, without_password
from kittrack.store.backup import Checked
from kittrack.store.backup_rules import DAYS, KEPT, SUBJECT, files_in, rule_of
from kittrack.store.database import Store
from kittrack.store.engines import sqlite_path
from kittrack.store.fold import Progress, chain_head
from kittrack.store.head_note import note_of, read_note, sha256_of, write_note
from kittrack.store.numbers import start_new_range
from kittrack.store.private import path_named, refuse_existing
from kittrack.store.records import SettingChange

__all__ = [
    "Checked", "Kept", "Restored", "check_archive", "check_backup", "go_on_after_loss", "hand_over", "make_archive",
    "make_backup", "read_archive", "restore_backup", "set_backup_rule",
]  # fmt: skip

_WRITERS = ("clerk", "technician", "inspector", "manager")
"""Everybody but an auditor may make a copy and put that on record."""
_MOST_DAYS = 10_000


@dataclass(frozen=True)
class Kept:
    """A file that was written: its path as the one code, its head, and sentences for the person."""

    codes: tuple[str, ...]
    head: str
    said: tuple[str, ...]


@dataclass(frozen=True)
class Restored:
    """A store that was made of a backup or an archive: its address as the one code, its head, sentences."""

    codes: tuple[str, ...]
    head: str
    said: tuple[str, ...]


# ---- backups -----------------------------------------------------------------------------------


def make_backup(
    store: Store, *, to: str, at: datetime, by: str = "", progress: Progress | None = None
) -> Kept:
    """Write a verified copy of a SQLite store while others work, with a note of the chain's head beside it.

    Args:
        to: a new file, or a folder, where the file is named after the store's last event and the moment.
        by: who makes it, a script's account too; it is then on record, so that managers are told when none was made.

    Raises:
        StoreError: a PostgreSQL store, a store that is not sound, or a folder that can't be written to.
        Refused: there is a file already, or `by` only reads.
    """
    path = _file(store, to, at, ending=".kittrack")
    _require_may_record(store, by)
    made = backup.make_backup(store, path, progress=progress)
    _record_copy(store, "make a backup", path, made.head, by=by, at=at)
    return Kept(
        (str(path),),
        made.head,
        (
            f"Verified: {made.events} events, head {made.head}.",
            f"Its note is {note_of(path).name}; keep a copy of both on another disk or machine.",
            "Do this every evening by the machine's own timetable, and try a restore once a quarter.",
            *_beyond(store, path.parent),
        ),
    )


def _require_may_record(store: Store, by: str) -> None:
    if not by:
        return
    with store.reading() as read:
        who = desk.find_person(read, by)
        may = desk.has_role(read, who, *_WRITERS)
    if not may:
        message = (
            f"{who.name} only reads, so the copy can't be put on record under this name; name somebody else."
        )
        raise Refused([Refusal("role", who.code, message)])


def _record_copy(store: Store, act_name: str, path: Path, head: str, *, by: str, at: datetime) -> None:
    """Put on record that a copy was made, where it is said by whom."""
    if by:
        with store.act(act_name, by=by, at=at) as act:
            require(desk.check_role(act, *_WRITERS))
            act.note("copy", file=path.name, head=head)


def _beyond(store: Store, folder: Path) -> tuple[str, ...]:
    """Names the files of a folder that the retention no longer asks for; nothing is deleted by itself."""
    with store.reading() as read:
        kept = rule_of(read).kept
        beyond = [f.file for f in files_in(read, folder) if f.is_beyond]
    if not beyond:
        return ()
    return (f"Beyond the {kept} that are kept, nothing was deleted: {', '.join(beyond)}.",)


@desk.done_by("manager")
def set_backup_rule(
    store: Store, *, by: str, at: datetime, reason: str, days: int | None = None, kept: int | None = None,
    key: str = "",
) -> Done:  # fmt: skip
    """Set how many days old the newest backup may be before managers are told, and how many files are kept.

    Nothing is deleted by itself: files beyond those that are kept are only named.

    Raises:
        BadInput: neither is given, or a number is out of bounds.
        Refused: `by` is no manager.
    """
    desk.require_text(reason=reason)
    given = {name: value for name, value in ((DAYS, days), (KEPT, kept)) if value is not None}
    wrong = [name for name, value in given.items() if not 1 <= value <= _MOST_DAYS]
    if not given or wrong:
        raise BadInput(
            f"Give days or a number of files from 1 to {_MOST_DAYS}.",
            field="days" if DAYS in wrong else "keep",
        )
    with store.act("set the rule of backups", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, set_backup_rule))
        before = rule_of(act)
        for name, value in given.items():
            old = before.days if name == DAYS else before.kept
            act.insert(
                SettingChange(
                    subject=SUBJECT, name=name, old=str(old), new=str(value), source=reason.strip(),
                    event_id=act.event_id,
                )
            )  # fmt: skip
        now = rule_of(act)
    said = f"Managers are told when the newest backup is older than {now.days} days; the newest {now.kept} files are kept."
    return Done(act.event_id, said=(said,))


@desk.done_by("manager")
def go_on_after_loss(store: Store, *, reason: str, second: str, by: str, at: datetime, key: str = "") -> Done:
    """Go on with a store whose last days are lost and nowhere to be found: a new range of numbers is started.

    It is for a store that was not restored by `restore_backup`, which does the same.

    Raises:
        Refused: no manager, or no second person (R8).
    """
    desk.require_text(reason=reason)
    with store.act("go on after a loss", by=by, at=at, second=second, reason=reason, key=key) as act:
        require(
            desk.check_done_by(act, go_on_after_loss),
            desk.check_second(first=act.by, second=act.second, what="going on after a loss"),
        )
        floor = start_new_range(act)
    terminal_memory.remember(store, is_settled=True)
    return Done(
        act.event_id,
        said=(
            f"New numbers begin after {floor}; a label with a number below it that the store does not know is from "
            "the days that were lost, and a scan says so.",
            "Now count the stores, and book in again what was received, issued and fitted since.",
        ),
    )


def check_backup(*, file: str, expected_head: str = "", progress: Progress | None = None) -> Checked:
    """Look through a backup without changing it: its file, its history, the note beside it.

    Args:
        expected_head: "number:hash" as a voucher or a note kept elsewhere tells it.
    """
    return backup.check_backup(path_named(file), expected_head=expected_head, progress=progress)


def restore_backup(
    *, file: str, into: str, by: str, at: datetime, clock: datetime | None = None, pin: str = "", expected_head: str = "",
    progress: Progress | None = None,
) -> Restored:  # fmt: skip
    """Make a store of a backup, where none is, and start a new range of numbers in it.

    Args:
        file: the backup.
        into: the address of the store to make, sqlite:///path.
        by: a manager of the store, by badge or name.
        at: the instant.
        clock: what the computer's clock says, where `at` was stated by a person.
        pin: the manager's PIN, where one is set in the backup.

    Raises:
        StoreError: the backup is not sound; nothing was made.
        Refused: there is a store already (R12), or `by` is no manager.
    """
    if parts_of(into).scheme != "sqlite":
        raise BadInput(
            "A backup is a SQLite file; name sqlite:///path, and move it by an archive: kittrack archive make",
            field="into",
        )
    with backup.restoring(
        path_named(file), sqlite_path(into), expected_head=expected_head, progress=progress
    ) as store:
        said = _after_loss(store, source=Path(file).name, by=by, at=at, clock=clock, pin=pin)
        head = _head(store)
    return Restored((without_password(into),), head, said)


def _after_loss(
    store: Store, *, source: str, by: str, at: datetime, clock: datetime | None, pin: str
) -> tuple[str, ...]:
    """Record that a store goes on from a copy, and give up the numbers that may have been given out since."""
    sign_on(store, who=by, pin=pin, at=at)
    if clock is not None:
        store.told_clock(clock)
    with store.reading() as read:
        number, digest = chain_head(read)
        last_at = shown_at(
            read_instant_text(str(read.value("SELECT at FROM event WHERE id = ?", number))),
            zone=ZoneInfo(read.time_zone),
        )
    with store.act("restore a backup", by=by, at=at, reason=f"goes on from {source}") as act:
        require(desk.check_role(act, "manager"))
        act.note("goes on from", file=source, head=f"{number}:{digest}")
        floor = start_new_range(act)
    return (
        f"Restored as it was after event {number} of {last_at}; whatever was done after that is not in it.",
        f"New numbers begin after {floor}; a label with a number below it that the store does not know is from "
        "the days that were lost, and a scan says so.",
        "Now count the stores, and book in again what was received, issued and fitted since.",
    )


# ---- archives ----------------------------------------------------------------------------------


def make_archive(
    store: Store, *, to: str, at: datetime, by: str = "", progress: Progress | None = None
) -> Kept:
    """Write the whole store to one zip of open formats, for moving it or for keeping it readable.

    A note of the chain's head stands beside it.

    Args:
        to: a new file, or a folder.
        by: who makes it; it is then on record, as a backup is.
    """
    path = _file(store, to, at, ending=".zip")
    _require_may_record(store, by)
    refuse_existing(note_of(path))
    manifest = archive.write_archive(store, path, at=at, progress=progress)
    write_note(path, name=path.name, events=manifest.events, head=manifest.head, digest=sha256_of(path))
    _record_copy(store, "make an archive", path, manifest.head, by=by, at=at)
    rows = sum(t.rows for t in manifest.tables.values())
    return Kept(
        (str(path),),
        manifest.head,
        (
            f"{rows} rows of {len(manifest.tables)} tables, head {manifest.head}.",
            "It holds the slow hashes of PINs: keep it as private as the store.",
            f"Its note is {note_of(path).name}; keep a copy of it somewhere else, and let it go along with the archive.",
            f"Check it with: kittrack archive check {path.name}",
        ),
    )


def check_archive(*, file: str, expected_head: str = "", progress: Progress | None = None) -> Checked:
    """Read an archive into a throw-away store and verify it; or look through the records of an airframe.

    Args:
        file: the archive, or the records.
        expected_head: "number:hash" as a voucher or another note tells it; by default that of its own note.

    Raises:
        BadInput: it was damaged, changed, or is none.
        StoreError: it was written by a newer kittrack.
    """
    path = path_named(file)
    if handover_check.is_records(path):
        return handover_check.check_records(path, expected_head=expected_head)
    noted = read_note(path)
    with archive_reading.thrown_away(path, progress=progress) as store:
        found = backup.look_through(store, name=str(path), expected=expected_head or noted.head)
    faults = () if noted.is_of(path) else (backup.NOT_ITS_NOTE,)
    return replace(found, noted=noted.head, faults=(*faults, *found.faults))


def read_archive(
    *, file: str, into: str, by: str = "", at: datetime, clock: datetime | None = None, pin: str = "",
    is_after_loss: bool = False, expected_head: str = "", progress: Progress | None = None,
) -> Restored:  # fmt: skip
    """Make a store of an archive on either engine, identical to the row and to the chain.

    Args:
        file: the archive.
        into: where no store is yet: sqlite:///path, or an empty PostgreSQL database.
        by: where acts were lost since the archive, a manager of the store.
        at: the instant.
        clock: what the computer's clock says, where `at` was stated by a person.
        pin: the manager's PIN, where one is set in the archive.
        is_after_loss: the archive stands for a lost store, so a new range of numbers is started.
        expected_head: "number:hash" as a voucher or another note tells it; by default that of its own note.

    Raises:
        BadInput: the archive was damaged, changed, rewritten, or is none; nothing of it stays.
        Refused: there is a store already (R12), or `by` is no manager.
        StoreError: it was written by a newer kittrack.
    """
    if is_after_loss and not by:
        raise BadInput("Going on after a loss takes a manager; say who acts with --by.", field="by")
    path = path_named(file)
    noted = read_note(path)
    if not noted.is_of(path):
        raise BadInput(
            f"{path} is not the file that its note was written for; take another copy, nothing was read in"
        )
    with archive_reading.reading_in(
        path, into, expected_head=expected_head or noted.head, progress=progress
    ) as store:
        moved = _head(store)
        said = (
            _after_loss(store, source=path.name, by=by, at=at, clock=clock, pin=pin) if is_after_loss else ()
        )
        head = _head(store)
    return Restored(
        (without_password(into),), head, (f"Read in and verified, the same chain: head {moved}.", *said)
    )


def hand_over(store: Store, *, tail: str, to: str, at: datetime) -> Kept:
    """Write the records of one airframe as a zip of CSV files, to go along with it, with a note of the chain's head beside it.

    Args:
        tail: the airframe's tail or code.
        to: a new file, or a folder.

    Raises:
        NotFound: there is no such airframe.
        Refused: there is a file already.
    """
    path = _file(store, to, at, ending=".zip", name="airframe")
    refuse_existing(note_of(path))
    made = handover.hand_over(store, path, tail=tail, at=at)
    events = int(made.head.partition(":")[0])
    write_note(path, name=path.name, events=events, head=made.head, digest=sha256_of(path), is_of_store=False)
    counted = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in made.rows.items() if count)
    return Kept(
        (str(path),),
        made.head,
        (
            f"Records of {made.tail}: {counted}.",
            f"Its note is {note_of(path).name}; keep a copy of it here, and let it go along with the records.",
            f"Whoever gets them checks them with: kittrack archive check {path.name}",
        ),
    )


# ---- what they have in common ------------------------------------------------------------------


def _file(store: Store, to: str, at: datetime, *, ending: str, name: str = "kittrack") -> Path:
    """The file that is meant: as named, or in a folder one named after the moment and the last event."""
    if not to.strip():
        raise BadInput("Name the file to write, or the folder it goes to.", field="to")
    path = path_named(to)
    if not path.is_dir():
        return path
    moment = at.astimezone(UTC).strftime("%Y-%m-%dT%H%M%SZ")
    return path / f"{name}-{moment}-event-{_head(store).partition(':')[0]}{ending}"


def _head(store: Store) -> str:
    with store.reading() as read:
        number, digest = chain_head(read)
    return f"{number}:{digest}"
