"""Verbs that keep a store: backups, archives, the head of the chain; and PINs."""

import os
import sys
from datetime import UTC, datetime
from typing import Final

from kittrack.cli import pins, reading
from kittrack.cli.exits import Exit
from kittrack.cli.progress import progress_line
from kittrack.cli.stations import store_address
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option, switch, word
from kittrack.domain.codes import Kind
from kittrack.errors import BadInput
from kittrack.queries import backups, chain
from kittrack.queries.at_start import Message, messages_at_start
from kittrack.queries.chain import Head
from kittrack.queries.unfinished import UnfinishedForms, unfinished_forms
from kittrack.services import database_rights, idling, keeping, signing_on
from kittrack.services.database_rights import Rights
from kittrack.services.desk import Done
from kittrack.services.keeping import Checked, Kept, Restored
from kittrack.services.signing_on import SignedOn
from kittrack.store.backup_rules import DAYS, KEPT, BackupFile, BackupRule
from kittrack.store.database import Store

_MANAGER_PIN: Final = "KITTRACK_PIN"


def _make_backup(store: Store, *, to: str, at: datetime, by: str = "") -> Kept:
    with progress_line("events") as progress:
        return keeping.make_backup(store, to=to, at=at, by=by, progress=progress)


def _check_backup(*, file: str, expected_head: str = "") -> Checked:
    with progress_line("events") as progress:
        return keeping.check_backup(file=file, expected_head=expected_head, progress=progress)


def _restore(
    *, file: str, into: str, by: str, at: datetime, pin_file: str = "", expected_head: str = ""
) -> Restored:
    clock = datetime.now(UTC)
    pin = pins.read_pin(pin_file, variable=_MANAGER_PIN)
    with progress_line("events") as progress:
        return keeping.restore_backup(
            file=file,
            into=into,
            by=by,
            at=at,
            clock=clock,
            pin=pin,
            expected_head=expected_head,
            progress=progress,
        )


def _make_archive(store: Store, *, to: str, at: datetime, by: str = "") -> Kept:
    with progress_line("tables") as progress:
        return keeping.make_archive(store, to=to, at=at, by=by, progress=progress)


def _check_archive(*, file: str, expected_head: str = "") -> Checked:
    with progress_line("tables") as progress:
        return keeping.check_archive(file=file, expected_head=expected_head, progress=progress)


def _read_archive(
    *, file: str, into: str, at: datetime, by: str = "", pin_file: str = "", is_after_loss: bool = False,
    expected_head: str = "",
) -> Restored:  # fmt: skip
    clock = datetime.now(UTC)
    pin = pins.read_pin(pin_file, variable=_MANAGER_PIN) if is_after_loss else ""
    with progress_line("tables") as progress:
        return keeping.read_archive(
            file=file, into=into, by=by, at=at, clock=clock, pin=pin, is_after_loss=is_after_loss, expected_head=expected_head,
            progress=progress,
        )  # fmt: skip


def _give_rights(store: Store, *, role: str, password_file: str = "") -> Rights:
    password = pins.read_pin(password_file, variable="KITTRACK_ROLE_PASSWORD")
    return database_rights.give_terminal_rights(store, role=role, password=password)


def _set_pin(
    store: Store, *, person: str, by: str, at: datetime, new_pin_file: str = "", key: str = ""
) -> Done:
    """Set a PIN that a private file holds, or that is typed twice at the terminal."""
    pin = pins.read_pin(new_pin_file, asks_for=f"new PIN of {person}")
    if not pin:
        raise BadInput("No new PIN was given; put it into a private file and name that: --new-pin-file FILE")
    if not new_pin_file and pins.read_pin("", asks_for="the same once more") != pin:
        raise BadInput("The two were not the same; nothing was set, type them again.")
    return signing_on.set_pin(store, person=person, pin=pin, by=by, at=at, key=key)


def _sign_on(store: Store, *, who: str, pin_file: str = "") -> SignedOn:
    pin = ""
    if signing_on.needs_pin(store, who=who):
        pin = pins.read_pin(pin_file, variable="KITTRACK_PIN", asks_for=f"PIN of {who}")
    return signing_on.sign_on(store, who=who, pin=pin, at=datetime.now(UTC).astimezone())


def _checked(found: Checked) -> list[Table]:
    told = facts(
        ("file", found.file), ("events", found.events), ("head", found.head), ("head noted outside", found.noted),
        ("faults", len(found.faults)),
    )  # fmt: skip
    return [told, Table((), tuple((f,) for f in found.faults), title="faults")] if found.faults else [told]


def _signed_on(on: SignedOn) -> list[Table]:
    return [
        facts(
            ("person", on.code), ("name", on.name), ("roles", on.roles), ("script's account", on.is_script),
            ("has a PIN", on.has_pin), ("note", on.said),
        )
    ]  # fmt: skip


def _head(head: Head) -> list[Table]:
    return [Table((), ((head.text,),))]


_FILE: Final = word("file", "the file")
_EXPECTED_HEAD: Final = option(
    "expected_head", "number:hash of an event, as a voucher or another note shows it"
)
_TO: Final = word("to", "a new file, or a folder")
_PIN_FILE: Final = option(
    "pin_file", "a private file with the manager's PIN; default: KITTRACK_PIN_FILE, KITTRACK_PIN"
)


def _start(store: Store) -> tuple[Message, ...]:
    """What is said at start, with every page of the file looked through."""
    now = datetime.now(UTC).astimezone()
    return messages_at_start(store, at=now, who=os.environ.get("KITTRACK_BY", ""), most_bytes=sys.maxsize)


def _messages(found: tuple[Message, ...]) -> list[Table]:
    return [listing(found, "about", "is_grave", "text", "next_step", nothing="nothing is wrong")]


def _files(found: tuple[BackupFile, ...]) -> list[Table]:
    return [
        listing(
            found, "file", "event", "written", ("of this store", lambda f: f.is_of_this_store),
            ("beyond what is kept", lambda f: f.is_beyond), nothing="no backup with a note beside it is there",
        )
    ]  # fmt: skip


def _unfinished(found: UnfinishedForms) -> list[Table]:
    return [
        listing(
            found.forms, "at", "person", "deed", "title", "was_being_recorded",
            ("fields", lambda f: tuple(f"{name} {text}" for name, text in f.fields.items())), "rows",
            nothing="no form was left unfinished on this computer",
        ),
        *([listing(found.problems, ("not read", lambda p: p))] if found.problems else []),
    ]  # fmt: skip


def _rule(rule: BackupRule) -> list[Table]:
    return [facts((DAYS, rule.days), (KEPT, rule.kept))]


VERBS: Final = (
    Verb(
        "store check", Station.STORE, "Say what is said at every start, and look through every page of the file too.",
        "",
        _start,
        show=_messages,
        rows=lambda found: found,
        fails=lambda found: Exit.STORE if any(m.is_grave for m in found) else Exit.DONE,
        reaches=(messages_at_start,),
    ),
    Verb(
        "unfinished", Station.OFFICE, "Forms of the stations that were left unfinished on this computer; nothing of them is recorded.",
        "",
        unfinished_forms,
        show=_unfinished,
        rows=lambda found: found.forms,
    ),
    Verb(
        "store go-on", Station.STORE, "Go on with a store whose last days are lost: start a new range of numbers.",
        '--reason "the disk failed, and the last copy is of Monday" --second "Inspector One" --by "Manager One"',
        keeping.go_on_after_loss,
    ),
    Verb(
        "setting backups", Station.OFFICE, "Say how old the newest backup may be, and how many files are kept.",
        '--days 2 --keep 60 --reason "insurer\'s letter 4" --by "Manager One"',
        keeping.set_backup_rule,
        (
            option("days", "managers are told when the newest is older than so many days", read=reading.whole),
            option("kept", "so many of the newest are kept; what is beyond is only named", read=reading.whole, flag="--keep"),
        ),
    ),
    Verb(
        "backup rule", Station.STORE, "How old the newest backup may be, and how many files are kept.", "",
        backups.backup_rule,
        show=_rule,
    ),
    Verb(
        "backup list", Station.STORE, "The backups of a folder, and which are beyond what is kept.", "/mnt/backups",
        backups.backup_files,
        (word("folder", "the folder that holds the backups"),),
        show=_files,
        rows=lambda found: found,
    ),
    Verb(
        "backup make", Station.STORE, "Write a verified copy of a SQLite store while others work.",
        "/mnt/backups",
        _make_backup,
        (_TO,),
        reaches=(keeping.make_backup,),
    ),
    Verb(
        "backup check", Station.STORE, "Look through a backup: its file, its history, the note beside it.",
        "/mnt/backups/evening.kittrack",
        _check_backup,
        (_FILE, _EXPECTED_HEAD),
        show=_checked,
        fails=lambda found: Exit.STORE if found.faults else Exit.DONE,
        opens_store=False,
    ),
    Verb(
        "backup restore", Station.STORE, "Make a store of a backup where none is, and start a new range of numbers.",
        '/mnt/backups/evening.kittrack --into sqlite:///new.kittrack --by "Manager One"',
        _restore,
        (
            _FILE,
            option("into", "the store to make, sqlite:///path", read=store_address, needed=True),
            _PIN_FILE,
            _EXPECTED_HEAD,
        ),
        opens_store=False,
    ),
    Verb(
        "archive make", Station.STORE, "Write the whole store to one zip of open formats.",
        "stores.zip",
        _make_archive,
        (_TO,),
        reaches=(keeping.make_archive,),
    ),
    Verb(
        "archive check", Station.STORE, "Read an archive into a throw-away store and verify it, or check an airframe's records.",
        "stores.zip",
        _check_archive,
        (_FILE, _EXPECTED_HEAD),
        show=_checked,
        fails=lambda found: Exit.STORE if found.faults else Exit.DONE,
        opens_store=False,
    ),
    Verb(
        "archive read", Station.STORE, "Make a store of an archive, on SQLite or PostgreSQL, the same to the row.",
        "stores.zip --into postgresql://stores@db.example/kittrack",
        _read_archive,
        (
            _FILE,
            option(
                "into", "where no store is yet: sqlite:///path, or an empty PostgreSQL database",
                read=store_address, needed=True,
            ),
            switch("is_after_loss", "the store itself was lost: start a new range of numbers; takes a manager"),
            _PIN_FILE,
            _EXPECTED_HEAD,
        ),
        opens_store=False,
    ),
    Verb(
        "archive airframe", Station.STORE, "Write the records of one airframe as CSV files in a zip, to go along with it.",
        "QA-01 qa-01.zip",
        keeping.hand_over,
        (word("tail", "the airframe's tail or code", scans=(Kind.AIRFRAME,)), _TO),
    ),
    Verb(
        "chain head", Station.STORE, "The number and hash of the last event, to keep outside the store.",
        "",
        chain.chain_head,
        show=_head,
    ),
    Verb(
        "database rights", Station.STORE,
        "Give the terminals' PostgreSQL role its rights: it reads and adds, and erases nothing.",
        "kittrack_terminal --store postgresql://kittrack_owner@db.example/kittrack",
        _give_rights,
        (
            word("role", "the role's name; it is made where there is none"),
            option(
                "password_file",
                "a private file with the role's password; default: KITTRACK_ROLE_PASSWORD_FILE, KITTRACK_ROLE_PASSWORD",
            ),
        ),
        reaches=(database_rights.give_terminal_rights,),
    ),
    Verb(
        "sign-on", Station.OFFICE, "Try whether a person signs on, with the PIN where one is set.",
        '"Clerk One" --pin-file clerk.pin',
        _sign_on,
        (
            word("who", "badge or name"),
            option("pin_file", "a private file with the PIN; default: KITTRACK_PIN_FILE, KITTRACK_PIN"),
        ),
        show=_signed_on,
        reaches=(signing_on.sign_on, signing_on.needs_pin),
    ),
    Verb(
        "person pin", Station.OFFICE, "Set a person's PIN or passphrase: one's own, or by a manager anybody's.",
        '"Clerk One" --new-pin-file clerk.pin --by "Manager One"',
        _set_pin,
        (
            word("person", "badge or name"),
            option("new_pin_file", "a private file with the new PIN; without it you are asked at the terminal"),
        ),
        reaches=(signing_on.set_pin,),
    ),
    Verb(
        "setting sign-on", Station.OFFICE, "Say whether everybody signs on with a PIN, or who has one.",
        'yes --reason "audit of the stores" --second "Inspector One" --by "Manager One"',
        signing_on.require_pins,
        (word("needed", "yes: everybody; no: who has one", read=reading.yes_no),),
    ),
    Verb(
        "lock set", Station.OFFICE, "Say after how many idle minutes the stations lock until a badge is scanned.",
        '10 --reason "shared bench" --second "Inspector One" --by "Manager One"',
        idling.lock_when_idle,
        (word("minutes", f"minutes without a key or a scan, at the most {idling.MOST_MINUTES}; 0 for never", read=reading.whole),),
    ),
    Verb(
        "lock show", Station.OFFICE, "After how many idle minutes the stations lock.",
        "",
        idling.idle_lock,
        show=lambda lock: [facts(("stations lock after", f"{lock.minutes} idle minutes" if lock.minutes else "never"))],
    ),
)  # fmt: skip
