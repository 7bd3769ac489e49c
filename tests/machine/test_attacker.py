"""An attacker's view: every column of every table changed by raw SQL, rows taken out and put in, events forged.

Each change is found by `verify` and named by table, row and column. `pytest tests/machine/test_attacker.py -rP`
prints how many rows were changed and how many of them were found.
"""

import shutil
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest

from kittrack.errors import BadInput, Refused, StoreError
from kittrack.printing.stock import stock_named
from kittrack.queries.chain import chain_head
from kittrack.queries.verify import Verdict, verify
from kittrack.services import keeping, labelling, printing_out, signing_on
from kittrack.store.act import event_hash
from kittrack.store.database import Store, open_store
from kittrack.store.head_note import note_of
from kittrack.store.records import CACHES, SECRETS, TABLES, Event, Movement
from kittrack.store.tables import columns
from tests import postgresql_server
from tests.machine.attack import Attack, attacking, neutered, of_no_guard, say
from tests.machine.filling import fill_empty_tables
from tests.postgresql_copies import Copies, copies_of

MANAGER, SECOND = "Manager Fennel", "Manager Gorse"
NOW = datetime(2026, 11, 1, 12, tzinfo=UTC)
WITHOUT_MEANING = {("holding", "id"), ("containment", "id"), ("credential", "id")}
"""Numbers that the engine gives by itself to rows that nothing refers to."""
STAMP = {"is_demo": 0, "number_floor": 7}
"""What an attacker may write into the stamp and still open the store; program and version are asked at opening."""


# ---- the store that is attacked ----------------------------------------------------------------


@pytest.fixture(scope="module")
def sqlite_victim(demo_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo store with a row in every table."""
    path = Path(shutil.copyfile(demo_template, tmp_path_factory.mktemp("victim") / "victim.kittrack"))
    store = open_store(f"sqlite:///{path}")
    _fill_what_the_demo_leaves_empty(store)
    store.close()
    return path


def _fill_what_the_demo_leaves_empty(store: Store) -> None:
    with store.reading() as read:
        lot = str(read.value("SELECT code FROM lot ORDER BY id DESC LIMIT 1"))
    stock = stock_named("roll-62x29@203")
    for _ in range(2):
        labelling.record_label_print(store, things=[lot], stock=stock, by=MANAGER, at=NOW)
    printing_out.void_label(store, thing=lot, copy=2, reason="smeared", by=MANAGER, at=NOW)
    signing_on.require_pins(store, needed=False, reason="try-out", second=SECOND, by=MANAGER, at=NOW)
    signing_on.set_pin(store, person=MANAGER, pin="471190", by=MANAGER, at=NOW)
    assert fill_empty_tables(store, by=MANAGER, at=NOW) == []
    for who in (MANAGER, SECOND):
        signing_on.set_pin(store, person=who, pin="471190", by=MANAGER, at=NOW)
    with suppress(Refused):
        signing_on.sign_on(store, who=SECOND, pin="471191", at=NOW)


@pytest.fixture(scope="module")
def postgresql_victim(
    postgresql_url: str, sqlite_victim: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    """The same store on PostgreSQL, moved there by an archive."""
    zipped = tmp_path_factory.mktemp("victim") / "victim.zip"
    store = open_store(f"sqlite:///{sqlite_victim}")
    keeping.make_archive(store, to=str(zipped), at=NOW)
    store.close()
    url = postgresql_server.create_database(postgresql_url)
    keeping.read_archive(file=str(zipped), into=url, at=NOW)
    yield url
    postgresql_server.drop_database(postgresql_url, url)


@pytest.fixture(scope="module")
def postgresql_victims(postgresql_url: str, postgresql_victim: str) -> Iterator[Copies]:
    """Copies of it."""
    yield from copies_of(postgresql_url, postgresql_victim)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def victim(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a copy of the store, once on each engine."""
    if request.param == "sqlite":
        path = tmp_path / "victim.kittrack"
        shutil.copyfile(request.getfixturevalue("sqlite_victim"), path)
        yield f"sqlite:///{path}"
        return
    victims: Copies = request.getfixturevalue("postgresql_victims")
    url = victims.take()
    yield url
    victims.give_back(url)


def looked_through(url: str, expected_head: str = "") -> Verdict:
    """What `verify` says of a store."""
    store = open_store(url)
    try:
        return verify(store, expected_head=expected_head)
    finally:
        store.close()


def head_of(url: str) -> str:
    """The head of a store's chain, as a voucher shows it."""
    store = open_store(url)
    try:
        return chain_head(store).text
    finally:
        store.close()


def test_the_store_is_sound_before_and_has_a_row_in_every_table(victim: str) -> None:
    assert looked_through(victim).faults == ()
    with attacking(victim) as attack:
        empty = [name for name in TABLES if not attack.ask(f'SELECT 1 FROM "{name}" LIMIT 1')]
    assert not empty, "let the attacked store hold a row of each"


# ---- every column of every table ---------------------------------------------------------------


@dataclass
class Changes:
    """What was changed: for each (table, row) the columns, and what finds it for each row of the record itself."""

    columns: dict[tuple[str, int], set[str]] = field(default_factory=lambda: defaultdict(set))
    events: dict[tuple[str, int], int] = field(default_factory=dict)

    def missed(self, verdict: Verdict) -> list[str]:
        """Every changed row or column that the verdict does not name."""
        said: dict[str, str] = defaultdict(str)
        for fault in verdict.faults:
            said[fault.subject] += f" {fault.message}"
        every = " ".join(said.values())
        return [
            f"{name} {row}: {', '.join(sorted(own))}"
            for (name, row), own in self.columns.items()
            if not self._is_named(name, row, own, said, every)
        ]

    def _is_named(self, name: str, row: int, own: set[str], said: dict[str, str], every: str) -> bool:
        if name in {"event", "movement"}:
            return f"event {self.events[name, row]} " in f"{every} "
        if name in CACHES:
            return ("the movements say" in every) and bool(self.subjects(name, row) & said.keys())
        if name in SECRETS:
            return "was changed without an act" in every or "without an act" in every
        text = said.get(f"{name} {row}", "")
        return all(f" {column}" in text for column in own)

    def subjects(self, name: str, row: int) -> set[str]:
        """What a row of a cache is named as, before and after it was changed."""
        return self._subjects.get((name, row), set())

    _subjects: dict[tuple[str, int], set[str]] = field(default_factory=dict)


def subtle(value: Any, optional: bool, number: int) -> Any:
    """The least change: one blank more, one more, something in place of nothing."""
    if value is None:
        return number
    return f"{value} " if isinstance(value, str) else value + 1


def coarse(value: Any, optional: bool, number: int) -> Any:
    """Something else altogether."""
    if isinstance(value, str) or value is None:
        return f"forged {number}"
    return 9_000_000_000 + number


def emptied(value: Any, optional: bool, number: int) -> Any:
    """Nothing in place of something, where there may be nothing; else a text or number of no meaning."""
    if optional and value is not None:
        return None
    return "" if isinstance(value, str) and value else -number


def is_text(record: type[Any], column: str) -> bool:
    return "str" in str(record.__dataclass_fields__[column].type)


def is_optional(record: type[Any], column: str) -> bool:
    return "None" in str(record.__dataclass_fields__[column].type)


Forging = Callable[[Any, bool, int], Any]


def change_every_column(attack: Attack, forge: Forging) -> Changes:
    """Change each column of each table in one row, another row for each column where there are enough."""
    made = Changes()
    for name, record in TABLES.items():
        own = [c for c in columns(record) if c != "id"]
        ids = [r[0] for r in attack.ask(f'SELECT id FROM "{name}" ORDER BY id LIMIT {3 * len(own)}')]
        for number, (column, row) in enumerate(zip(own, cycle(ids)), start=1):
            [(value,)] = attack.ask(f'SELECT "{column}" FROM "{name}" WHERE id = {row}')
            forged = forge(value, is_optional(record, column), number)
            if forged is not None:
                forged = str(forged) if is_text(record, column) else _whole(forged, number)
            if forged == value:
                continue
            _note_how_it_is_named(attack, made, name, row)
            attack.run(f'UPDATE "{name}" SET "{column}" = ? WHERE id = ?', forged, row)
            _note_how_it_is_named(attack, made, name, row)
            made.columns[name, row].add(column)
    return made


def _whole(value: object, number: int) -> int:
    return value if isinstance(value, int) else number


def _note_how_it_is_named(attack: Attack, made: Changes, name: str, row: int) -> None:
    if name == "event":
        made.events[name, row] = row
    elif name == "movement":
        [(event,)] = attack.ask(f"SELECT event_id FROM movement WHERE id = {row}")
        made.events.setdefault((name, row), event)
    elif name == "holding":
        [(line, piece)] = attack.ask(f"SELECT receipt_line_id, piece_id FROM holding WHERE id = {row}")
        subject = f"receipt line {line}" + (f", piece {piece}" if piece else "")
        made._subjects.setdefault((name, row), set()).add(subject)
    elif name == "containment":
        [(container,)] = attack.ask(f"SELECT container_id FROM containment WHERE id = {row}")
        made._subjects.setdefault((name, row), set()).add(f"place {container}")


@pytest.mark.parametrize("forge", [subtle, coarse, emptied], ids=lambda f: f.__name__)
def test_every_column_of_every_table_is_found_and_named(victim: str, forge: Forging) -> None:
    with attacking(victim) as attack:
        attack.drop_uniqueness()
        made = change_every_column(attack, forge)
    verdict = looked_through(victim)
    missed = made.missed(verdict)
    assert not missed
    say(f"{len(made.columns)} rows changed in {attack.rows} columns, {len(made.columns)} found")


def test_every_row_with_another_number_is_found(victim: str) -> None:
    with attacking(victim) as attack:
        for name in TABLES:
            if (name, "id") not in WITHOUT_MEANING:
                last = attack.ask(f'SELECT max(id) FROM "{name}"')[0][0]
                attack.move_row(name, last, last + 1000)
    said = " ".join(f.message for f in looked_through(victim).faults)
    for name in TABLES:
        if name not in {"movement", *CACHES, *SECRETS}:
            assert f"{name} " in said
    say(f"{attack.rows} rows renumbered, {attack.rows} found")


def test_a_row_taken_out_of_every_table_is_found(victim: str) -> None:
    taken = {}
    with attacking(victim) as attack:
        for name in TABLES:
            which = "max(id) - 1" if name == "event" else "min(id)"  # a late one, whose rows are its own
            taken[name] = attack.ask(f'SELECT {which} FROM "{name}"')[0][0]
            if name == "movement":
                taken["event of movement"] = attack.ask(
                    f"SELECT event_id FROM movement WHERE id = {taken[name]}"
                )[0][0]
            attack.run(f'DELETE FROM "{name}" WHERE id = ?', taken[name])
    said = "\n".join(f.message for f in looked_through(victim).faults)
    for name, row in taken.items():
        if name in {"event", "event of movement"}:
            assert f"event {row} " in said or f"events {row} to {row} " in said
        elif name not in {"movement", *CACHES, *SECRETS}:
            assert f"{name} {row} was taken out without an act" in said
    assert "credential of" in said
    assert "the movements say" in said
    say(f"{attack.rows} rows taken out, {attack.rows} found")


def test_a_row_put_into_every_table_is_found(victim: str) -> None:
    put: dict[str, int] = {}
    with attacking(victim) as attack:
        for name, record in TABLES.items():
            put[name] = 9_000_000 + len(put)
            own = ", ".join(f'"{c}"' for c in columns(record) if c != "id")
            _put_copy(attack, name, own, put[name])
    said = "\n".join(f.message for f in looked_through(victim).faults)
    for name, row in put.items():
        if name == "event":
            assert f"to {row - 1} are missing" in said
        elif name not in {"movement", *CACHES, *SECRETS}:
            assert f"{name} {row} was put in without an act" in said
    say(f"{attack.rows} rows put in, {attack.rows} found")


def _put_copy(attack: Attack, name: str, own: str, row: int) -> None:
    """Copy the first row under another id; what must be one of its kind is made so."""
    record = TABLES[name]
    [first] = attack.ask(f'SELECT {own} FROM "{name}" ORDER BY id LIMIT 1')
    names = [c for c in columns(record) if c != "id"]
    alone = {c for group in record.shape.unique for c in group}
    alone |= {c for group, _ in record.shape.unique_where for c in group}
    values = [
        (f"forged {row}" if is_text(record, c) else 8_000_000) if c in alone else v
        for c, v in zip(names, first, strict=True)
    ]
    attack.run(f'INSERT INTO "{name}" (id, {own}) VALUES (?{", ?" * len(names)})', row, *values)


@pytest.mark.parametrize("column", sorted(STAMP))
def test_a_changed_stamp_is_found(victim: str, column: str) -> None:
    with attacking(victim) as attack:
        attack.run(f"UPDATE store_stamp SET {column} = ?", STAMP[column])
    assert f"store_stamp {column}" in {f.subject for f in looked_through(victim).faults}


@pytest.mark.parametrize(("column", "value"), [("program", "other"), ("schema_version", 999)])
def test_a_stamp_of_another_program_or_version_does_not_open(victim: str, column: str, value: object) -> None:
    with attacking(victim) as attack:
        attack.run(f"UPDATE store_stamp SET {column} = ?", value)
    with pytest.raises(StoreError):
        open_store(victim)


# ---- the chain ---------------------------------------------------------------------------------


def last_event(attack: Attack) -> int:
    return int(attack.ask("SELECT max(id) FROM event")[0][0])


def test_two_events_that_changed_places_are_found(victim: str) -> None:
    with attacking(victim) as attack:
        a, b = last_event(attack) - 4, last_event(attack) - 3
        for old, new in ((a, 10**9), (b, a), (10**9, b)):
            attack.move_row("event", old, new)
    found = {f.subject for f in looked_through(victim).faults if f.check == "chain"}
    assert {f"event {a}", f"event {b}"} <= found


@pytest.mark.parametrize("back", [0, 40], ids=["at the end", "in the middle"])
def test_a_forged_event_is_found(victim: str, back: int) -> None:
    """Its own hash is right; in the middle the events after it are pushed up by one."""
    with attacking(victim) as attack:
        number = last_event(attack) - back
        for event in range(last_event(attack), number, -1):
            attack.move_row("event", event, event + 1)
        forged = replace(read_event(attack, number), id=number + 1, act="release a hold", key="forged")
        put_event(attack, replace(forged, hash=event_hash(forged, [])))
    found = {f.subject for f in looked_through(victim).faults if f.check == "chain"}
    assert f"event {number + 1}" in found


def read_event(attack: Attack, number: int) -> Event:
    names = ", ".join(columns(Event))
    [row] = attack.ask(f"SELECT {names} FROM event WHERE id = {number}")
    return Event(**dict(zip(columns(Event), row, strict=True)))


def read_movements(attack: Attack, number: int) -> list[Movement]:
    names = ", ".join(columns(Movement))
    rows = attack.ask(f"SELECT {names} FROM movement WHERE event_id = {number} ORDER BY id")
    return [Movement(**dict(zip(columns(Movement), row, strict=True))) for row in rows]


def put_event(attack: Attack, event: Event) -> None:
    marks = ", ".join("?" for _ in columns(Event))
    attack.run(
        f"INSERT INTO event ({', '.join(columns(Event))}) VALUES ({marks})",
        *(getattr(event, c) for c in columns(Event)),
    )


def rewrite(url: str, *, back: int = 30) -> None:
    """Change the reason of an act and compute every hash anew, as whoever has the file can."""
    with attacking(url) as attack:
        first = last_event(attack) - back
        previous = read_event(attack, first).previous_hash
        for number in range(first, last_event(attack) + 1):
            event = replace(read_event(attack, number), previous_hash=previous)
            event = replace(event, reason="all was well") if number == first else event
            previous = event_hash(event, read_movements(attack, number))
            attack.run(
                "UPDATE event SET reason = ?, previous_hash = ?, hash = ? WHERE id = ?",
                event.reason, event.previous_hash, previous, number,
            )  # fmt: skip


def test_a_history_rewritten_with_right_hashes_shows_against_a_head_kept_outside(victim: str) -> None:
    """The paper in the drawer still tells."""
    paper = head_of(victim)
    rewrite(victim)
    assert looked_through(victim).faults == ()
    [fault] = looked_through(victim, paper).faults
    assert "rewritten" in fault.message
    assert fault.subject == f"event {paper.partition(':')[0]}"


def test_an_archive_of_a_rewritten_history_shows_against_its_note_and_against_paper(
    world_url: str, tmp_path: Path
) -> None:
    file, into = tmp_path / "stores.zip", f"sqlite:///{tmp_path / 'new.kittrack'}"
    paper = archived(world_url, file)
    assert keeping.check_archive(file=str(file)).faults == ()
    rewrite(world_url, back=5)
    archived(world_url, tmp_path / "forged.zip")
    (tmp_path / "forged.zip").replace(file)
    not_its_note, rewritten = keeping.check_archive(file=str(file)).faults
    assert "SHA-256 differs" in not_its_note
    assert "rewritten" in rewritten
    with pytest.raises(BadInput, match="its note was written for"):
        keeping.read_archive(file=str(file), into=into, at=NOW)
    note_of(file).unlink()
    assert keeping.check_archive(file=str(file)).faults == ()
    [against_paper] = keeping.check_archive(file=str(file), expected_head=paper).faults
    assert "rewritten" in against_paper
    with pytest.raises(BadInput, match=r"not the one that was noted.*nothing was read in"):
        keeping.read_archive(file=str(file), into=into, at=NOW, expected_head=paper)
    assert not (tmp_path / "new.kittrack").exists()


def archived(url: str, file: Path) -> str:
    """Write an archive of a store; answers with its head."""
    store = open_store(url)
    try:
        return keeping.make_archive(store, to=str(file), at=NOW).head
    finally:
        store.close()


def test_a_truncated_history_shows_against_a_head_kept_outside(victim: str) -> None:
    """The last act is a wrong PIN: it leaves no row but the event and the count of failures."""
    paper = head_of(victim)
    with attacking(victim) as attack:
        attack.run("DELETE FROM event WHERE id = ?", last_event(attack))
        attack.run("UPDATE credential SET failures = 0 WHERE failures = 1")
    assert looked_through(victim).faults == ()
    [fault] = looked_through(victim, paper).faults
    assert "cut off" in fault.message
    assert looked_through(victim, head_of(victim)).faults == ()


@pytest.mark.parametrize(
    "text", ["abc", "12", "²:" + "0" * 64, "12:" + "0" * 63, ":", "1" * 30 + ":" + "0" * 64]
)
def test_what_is_no_head_is_told(victim: str, text: str) -> None:
    with pytest.raises(BadInput, match="NUMBER:HASH"):
        looked_through(victim, text)


# ---- the guards themselves ---------------------------------------------------------------------


def test_a_guard_without_its_body_is_found(victim: str) -> None:
    with attacking(victim) as attack:
        for statement in neutered(attack.engine):
            attack.do(statement)
    found = looked_through(victim).faults
    assert [f.check for f in found] == ["guards"]
    assert "never_changed" in found[0].message


def test_an_index_that_holds_things_apart_is_missed(victim: str) -> None:
    with attacking(victim) as attack:
        attack.do("DROP INDEX piece_one_code")
    [fault] = looked_through(victim).faults
    assert "piece_one_code" in fault.message


def test_a_trigger_or_rule_of_somebody_else_is_found(victim: str) -> None:
    with attacking(victim) as attack:
        attack.do(of_no_guard(attack.engine))
    [fault] = looked_through(victim).faults
    assert "helpful" in fault.message
    assert "not of kittrack's making" in fault.message
