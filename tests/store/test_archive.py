"""Archives: the same to the row and to the chain on either engine; hostile ones refused with nothing left behind."""

import csv
import hashlib
import io
import json
import stat
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kittrack.errors import BadInput, KittrackError, NotFound, Refused, StoreError
from kittrack.queries.chain import chain_head
from kittrack.queries.verify import verify
from kittrack.services import airframes, founding, handing_over, keeping, reversing, signing_on
from kittrack.store import archive, credentials
from kittrack.store.act import canonical
from kittrack.store.database import Store, open_store
from kittrack.store.numbers import RANGE
from kittrack.store.records import CACHES, TABLES, Paper
from tests.aircraft_scene import Scene
from tests.factories import (
    BUILDER,
    CLERK,
    MANAGER,
    SCREW,
    SITE,
    TAIL,
    TAIL2,
    after,
    put_in_stock,
    sealed_kit,
    stock_up,
)
from tests.postgresql_server import create_database, drop_database

PIN = "482915"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(credentials, "COST_N", 2**4)


def busy(store: Store) -> None:
    """Fill a store with closed containers, dead places, fitted sets, a PIN, text of every kind."""
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    stock_up(store, at=after(2))
    sealed_kit(store, at=after(3))
    scene = Scene(store)
    scene.all_four()
    scene.walk()
    scene.remove()
    text = "a\u2028b 'x'; DROP TABLE event; -- \u202e =1+1 \U0001f6e9 \\N % ? \x1b[2J \r\n\t\x7f"
    put_in_stock(store, SCREW, 8, at=after(90), lot_code=text)


def table_rows(store: Store, name: str) -> list[dict[str, Any]]:
    with store.reading() as read:
        rows = [asdict(r) for r in read.select(TABLES[name])]  # type: ignore[call-overload]  # a dataclass
    if name in CACHES:  # whose ids each engine gives by itself
        rows = sorted(({k: v for k, v in r.items() if k != "id"} for r in rows), key=canonical)
    return rows


def everything(store: Store) -> dict[str, list[dict[str, Any]]]:
    return {name: table_rows(store, name) for name in TABLES}


def made(store: Store, tmp_path: Path, name: str = "whole.zip") -> Path:
    return Path(keeping.make_archive(store, to=str(tmp_path / name), at=after(200)).codes[0])


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def target_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where no store is yet, on each engine."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'target.kittrack'}"
        return
    maintenance: str = request.getfixturevalue("postgresql_url")
    url = create_database(maintenance)
    yield url
    drop_database(maintenance, url)


def test_a_store_moves_to_the_row_and_to_the_chain(store: Store, target_url: str, tmp_path: Path) -> None:
    """SQLite to SQLite, SQLite to PostgreSQL, and both ways back."""
    busy(store)
    head = chain_head(store).text
    keeping.read_archive(file=str(made(store, tmp_path)), into=target_url, at=after(200))
    moved = open_store(target_url)
    assert everything(moved) == everything(store)
    assert verify(moved, expected_head=head).faults == verify(store, expected_head=head).faults
    assert signing_on.sign_on(moved, who=CLERK, pin=PIN, at=after(201)).has_pin
    founding.add_place(
        moved, kind="bin", name="Z-01", site=SITE, by=MANAGER, at=after(202)
    )  # guards and acts work on
    put_in_stock(moved, SCREW, 8, at=after(203), lot_code="S-7")
    with pytest.raises(StoreError, match="deleted"), moved._writing():
        moved._database.execute_sql("DELETE FROM event")
    moved.close()


def test_there_and_back_gives_the_same_files(store: Store, target_url: str, tmp_path: Path) -> None:
    busy(store)
    first = made(store, tmp_path)
    keeping.read_archive(file=str(first), into=target_url, at=after(200))
    moved = open_store(target_url)
    second = made(moved, tmp_path, "again.zip")
    moved.close()
    with zipfile.ZipFile(first) as one, zipfile.ZipFile(second) as other:
        for name in one.namelist():
            if name != archive.MANIFEST:
                assert one.read(name) == other.read(name), name


def test_the_first_hand_over_of_a_shift_moves_too(store: Store, target_url: str, tmp_path: Path) -> None:
    """It follows no earlier one, so the instant before it is blank."""
    handing_over.hand_over_shift(store, text="all quiet", second=BUILDER, by=CLERK, at=after(1))
    keeping.read_archive(file=str(made(store, tmp_path)), into=target_url, at=after(200))
    moved = open_store(target_url)
    assert everything(moved) == everything(store)
    moved.close()


@pytest.mark.postgresql
def test_references_are_checked_at_once_again_after_reading(
    store: Store, fresh_postgresql_url: str, tmp_path: Path
) -> None:
    keeping.read_archive(file=str(made(store, tmp_path)), into=fresh_postgresql_url, at=after(200))
    moved = open_store(fresh_postgresql_url)
    sql = "SELECT conname, condeferrable FROM pg_constraint WHERE contype = 'f' ORDER BY conname"
    found = dict(moved._database.execute_sql(sql).fetchall())
    moved.close()
    assert {name for name, waits in found.items() if waits} == {n for n in found if n.endswith("event_id")}
    assert "lot_refers_part_id" in found


def test_an_archive_is_read_without_us(store: Store, tmp_path: Path) -> None:
    """The oracle is what README.txt tells, followed by hand: hashes, chain, what lies where."""
    busy(store)
    with zipfile.ZipFile(made(store, tmp_path)) as whole:
        readme = whole.read("README.txt").decode()
        manifest = json.loads(whole.read("manifest.json"))
        tables = {}
        for name, told in manifest["tables"].items():
            data = whole.read(f"tables/{name}.jsonl")
            assert hashlib.sha256(data).hexdigest() == told["sha256"]
            tables[name] = [json.loads(line) for line in data.decode("ascii").split("\n")[:-1]]
            assert [r["id"] for r in tables[name]] == sorted(r["id"] for r in tables[name])
            assert len(tables[name]) == told["rows"]
    assert "previous_hash" in readme
    previous = "0" * 64
    for event in tables["event"]:
        content = {k: v for k, v in event.items() if k != "hash"}
        content["movements"] = [list(m.values()) for m in tables["movement"] if m["event_id"] == event["id"]]
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert event["previous_hash"] == previous
        previous = hashlib.sha256(text.encode()).hexdigest()
        assert event["hash"] == previous
    assert manifest["head"] == f"{len(tables['event'])}:{previous}"
    sums: dict[tuple[Any, ...], int] = {}
    for m in (m for m in tables["movement"] if m["receipt_line_id"]):
        for end, sign in (("to", 1), ("from", -1)):
            key = (m["receipt_line_id"], m[f"{end}_piece_id"], m[f"{end}_place_id"], m[f"{end}_condition"])
            sums[key] = sums.get(key, 0) + sign * m["quantity"]
    kept = {
        (h["receipt_line_id"], h["piece_id"], h["place_id"], h["condition"]): h["quantity"]
        for h in table_rows(store, "holding")
    }
    assert {k: v for k, v in sums.items() if v} == kept


def test_an_archive_is_private_and_the_same_moment_gives_the_same_bytes(store: Store, tmp_path: Path) -> None:
    first, second = made(store, tmp_path), made(store, tmp_path, "second.zip")
    assert first.read_bytes() == second.read_bytes()
    assert stat.S_IMODE(first.stat().st_mode) == 0o600
    assert not keeping.check_archive(file=str(first)).faults
    assert sorted(p.name for p in tmp_path.glob("*.zip*")) == [
        "second.zip", "second.zip.head.txt", "whole.zip", "whole.zip.head.txt",
    ]  # fmt: skip
    with pytest.raises(Refused):
        made(store, tmp_path)


def test_an_archive_is_not_read_over_a_store(store: Store, world_url: str, tmp_path: Path) -> None:
    before = everything(store)
    with pytest.raises(Refused) as refused:
        keeping.read_archive(file=str(made(store, tmp_path)), into=world_url, at=after(200))
    assert refused.value.rules == {"R12"}
    assert everything(store) == before


def test_after_a_loss_an_archive_starts_a_new_range(store: Store, target_url: str, tmp_path: Path) -> None:
    file = made(store, tmp_path)
    with pytest.raises(BadInput):
        keeping.read_archive(file=str(file), into=target_url, at=after(200), is_after_loss=True)
    with pytest.raises(Refused):
        keeping.read_archive(file=str(file), into=target_url, by=CLERK, at=after(200), is_after_loss=True)
    keeping.read_archive(file=str(file), into=target_url, by=MANAGER, at=after(200), is_after_loss=True)
    moved = open_store(target_url)
    with moved.reading() as read:
        assert read.value("SELECT number_floor FROM store_stamp") >= RANGE
    assert not verify(moved, expected_head=chain_head(store).text).faults
    moved.close()


# ---- hostile archives ----------------------------------------------------------------------------


@pytest.fixture(scope="session")
def good(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The files of a sound archive."""
    folder = tmp_path_factory.mktemp("good")
    copy = folder / "store.kittrack"
    copy.write_bytes(sqlite_template.read_bytes())
    store = open_store(f"sqlite:///{copy}")
    put_in_stock(store, SCREW, 8, at=after(1))
    file = made(store, folder)
    store.close()
    with zipfile.ZipFile(file) as whole:
        return {name: whole.read(name) for name in whole.namelist()}


Files = dict[str, bytes]


def packed(files: Files, path: Path, *, how: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", how) as whole:
        for name, content in files.items():
            whole.writestr(name, content)
    return path


def refused(file: Path, tmp_path: Path, expected: type[KittrackError] = BadInput) -> str:
    """Reading it is refused, and nothing of it stays."""
    before = sorted(tmp_path.rglob("*"))
    target = tmp_path / "never.kittrack"
    with pytest.raises(expected) as error:
        keeping.read_archive(file=str(file), into=f"sqlite:///{target}", at=after(200))
    with pytest.raises(expected):
        keeping.check_archive(file=str(file))
    assert sorted(tmp_path.rglob("*")) == before
    return str(error.value)


def told_again(files: Files) -> Files:
    """The same with a manifest that tells the truth about every table: a forger knows how, too."""
    manifest = json.loads(files["manifest.json"])
    for name, told in manifest["tables"].items():
        data = files[f"tables/{name}.jsonl"]
        told |= {"rows": data.count(b"\n"), "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    return files | {"manifest.json": json.dumps(manifest).encode()}


def with_manifest(files: Files, **changes: Any) -> Files:
    return files | {"manifest.json": json.dumps(json.loads(files["manifest.json"]) | changes).encode()}


def replaced(files: Files, table: str, old: bytes, new: bytes) -> Files:
    name = f"tables/{table}.jsonl"
    assert old in files[name]
    return files | {name: files[name].replace(old, new, 1)}


def test_the_sound_one_is_read(good: Files, tmp_path: Path) -> None:
    assert not keeping.check_archive(file=str(packed(good, tmp_path / "a.zip"))).faults


@pytest.mark.parametrize(
    "name", ["../evil", "/etc/evil", "tables/../../evil.jsonl", "C:\\evil", "tables/part.jsonl/", "x" * 300]
)
def test_other_names_than_ours_are_refused(good: Files, tmp_path: Path, name: str) -> None:
    assert "no part of one" in refused(packed(good | {name: b"x"}, tmp_path / "a.zip"), tmp_path)


def test_a_name_that_stands_twice_is_refused(good: Files, tmp_path: Path) -> None:
    file = packed(good, tmp_path / "a.zip")
    with zipfile.ZipFile(file, "a") as whole, pytest.warns(UserWarning, match="Duplicate"):
        whole.writestr("tables/event.jsonl", b"")
    refused(file, tmp_path)


def test_a_missing_file_is_named(good: Files, tmp_path: Path) -> None:
    for number, missing in enumerate(good):
        left = {name: content for name, content in good.items() if name != missing}
        assert missing in refused(packed(left, tmp_path / f"{number}.zip"), tmp_path)


def test_a_bomb_is_refused_before_it_unfolds(good: Files, tmp_path: Path) -> None:
    """100 MiB of zeros in about 100 KiB; the ratio of deflate comes close to 1000."""
    bomb = packed(good | {"tables/event.jsonl": b"0" * (100 * 2**20)}, tmp_path / "a.zip")
    assert bomb.stat().st_size < 2**20
    assert "unfolds" in refused(bomb, tmp_path)


def test_a_bomb_that_lies_about_its_size_is_refused(good: Files, tmp_path: Path) -> None:
    file = packed(good | {"tables/event.jsonl": b"0" * (100 * 2**20)}, tmp_path / "a.zip")
    data = file.read_bytes()
    size = (100 * 2**20).to_bytes(4, "little")
    assert data.count(size) == 2  # in the file's own head and in the list at the end
    file.write_bytes(data.replace(size, (1000).to_bytes(4, "little")))
    refused(file, tmp_path)


def test_other_ways_of_packing_are_refused(good: Files, tmp_path: Path) -> None:
    refused(packed(good, tmp_path / "a.zip", how=zipfile.ZIP_BZIP2), tmp_path)
    refused(packed(good, tmp_path / "b.zip", how=zipfile.ZIP_LZMA), tmp_path)
    data = bytearray(packed(good, tmp_path / "c.zip").read_bytes())
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1  # says that it is locked with a password
    (tmp_path / "c.zip").write_bytes(bytes(data))
    refused(tmp_path / "c.zip", tmp_path)


@pytest.mark.parametrize("content", [b"", b"PK", b"no zip at all", b"PK\x05\x06" + b"\0" * 18])
def test_what_is_no_archive_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "a.zip").write_bytes(content)
    refused(tmp_path / "a.zip", tmp_path)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    refused(tmp_path / "none.zip", tmp_path, NotFound)
    refused(tmp_path, tmp_path, StoreError)


@pytest.mark.parametrize("key", ["schema_version", "format_version"])
def test_a_newer_one_is_refused(good: Files, tmp_path: Path, key: str) -> None:
    assert "newer" in refused(
        packed(with_manifest(good, **{key: 999}), tmp_path / "a.zip"), tmp_path, StoreError
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"format": "other"}, {"head": "12:abc"}, {"head": None}, {"tables": []}, {"tables": {}}, {"schema_version": "1"},
        {"schema_version": True}, {"schema_version": -1}, {"number_floor": 2**70}, {"tables": {"event": 5}},
        {"made_at": "x" * 5000},
    ],
)  # fmt: skip
def test_a_manifest_that_is_none_is_refused(good: Files, tmp_path: Path, changes: dict[str, Any]) -> None:
    refused(packed(with_manifest(good, **changes), tmp_path / "a.zip"), tmp_path)


@pytest.mark.parametrize(
    "text",
    [b"", b"[", b"[]", b"\xff\xfe", b"[" * 200_000, b'{"format": NaN}', b"1" * 5000, b" " * (2**20 + 1)],
)
def test_a_manifest_that_is_no_json_is_refused(good: Files, tmp_path: Path, text: bytes) -> None:
    refused(packed(good | {"manifest.json": text}, tmp_path / "a.zip"), tmp_path)


Forge = Callable[[Files], Files]


@pytest.mark.parametrize(
    "forge",
    [
        lambda f: replaced(f, "company", b"Invented Supplies", b"Invented Sapplies"),
        lambda f: f | {"tables/event.jsonl": f["tables/event.jsonl"][:-20]},
        lambda f: f | {"tables/event.jsonl": b"\n".join(f["tables/event.jsonl"].split(b"\n")[:-2]) + b"\n"},
        lambda f: f | {"tables/person.jsonl": f["tables/person.jsonl"] * 2},
        lambda f: f | {"tables/holiday.jsonl": b""},
    ],
    ids=["a letter", "cut off", "last event", "twice", "other table"],
)
def test_a_table_that_the_manifest_does_not_tell_of_is_refused(
    good: Files, tmp_path: Path, forge: Forge
) -> None:
    refused(packed(forge(good), tmp_path / "a.zip"), tmp_path)


@pytest.mark.parametrize(
    "forge",
    [
        lambda f: replaced(f, "company", b"Invented Supplies", b"Invented Sapplies"),
        lambda f: f | {"tables/event.jsonl": b"\n".join(f["tables/event.jsonl"].split(b"\n")[:-2]) + b"\n"},
        lambda f: f | {"tables/event.jsonl": b"", "tables/movement.jsonl": b""},
        lambda f: f | {"tables/movement.jsonl": b""},
        lambda f: replaced(f, "movement", b'"quantity": 8', b'"quantity": 9'),
        lambda f: replaced(f, "movement", b'"quantity": 8', b'"quantity": -8'),
        lambda f: replaced(f, "movement", b'"quantity": 8', b'"quantity": 8.0'),
        lambda f: replaced(f, "movement", b'"quantity": 8', b'"quantity": true'),
        lambda f: replaced(f, "movement", b'"quantity": 8', b'"quantity": 9223372036854775808'),
        lambda f: replaced(f, "company", b'"is_maker": 1', b'"is_maker": null'),
        lambda f: replaced(f, "company", b'"is_maker": 1, ', b""),
        lambda f: replaced(f, "company", b'"is_maker": 1', b'"is_maker": 1, "x": 1'),
        lambda f: replaced(f, "company", b'"name": "', b'"name": "\\u0000'),
        lambda f: replaced(f, "company", b'"name": "', b'"name": "\\ud800'),
        lambda f: replaced(f, "receipt_line", b'"part_id": ', b'"part_id": 99'),
        lambda f: replaced(f, "event", b'"at": "2026', b'"at": "soon'),
        lambda f: replaced(f, "event", b'"statements": "', b'"statements": "' + b"[" * 100_000),
        lambda f: f | {"tables/company.jsonl": b"[]\n"},
        lambda f: f | {"tables/company.jsonl": b"[" * 200_000 + b"\n"},
        lambda f: f | {"tables/company.jsonl": b"\n".join(reversed(f["tables/company.jsonl"].split(b"\n")[:-1])) + b"\n"},
        lambda f: f | {"tables/person_role.jsonl": b""},
    ],
)  # fmt: skip
def test_rows_that_a_forger_told_again_are_refused_too(good: Files, tmp_path: Path, forge: Forge) -> None:
    refused(packed(told_again(forge(good)), tmp_path / "a.zip"), tmp_path)


def without(files: Files, table: str, column: str) -> Files:
    """Rows without a column, as a schema wrote them that did not know it."""
    name = f"tables/{table}.jsonl"
    rows = [json.loads(line) for line in files[name].splitlines()]
    kept = [{c: v for c, v in row.items() if c != column} for row in rows]
    return files | {name: b"".join(json.dumps(row).encode() + b"\n" for row in kept)}


@pytest.mark.parametrize(
    ("column", "is_read"), [("superseded_how", True), ("sense", False), ("number", False)]
)  # only the first is empty everywhere, as a column is that came later
def test_what_an_older_archive_has_no_column_for_is_left_at_its_default(
    good: Files, tmp_path: Path, column: str, *, is_read: bool
) -> None:
    made = told_again(without(good, "part", column))
    refused(packed(made, tmp_path / "same.zip"), tmp_path)
    older = packed(with_manifest(made, schema_version=1), tmp_path / "older.zip")
    if is_read:
        assert keeping.check_archive(file=str(older)).faults == ()
    else:
        refused(older, tmp_path)


def test_progress_of_an_archive_reaches_the_whole(store: Store, target_url: str, tmp_path: Path) -> None:
    steps: dict[str, list[tuple[int, int]]] = {"make": [], "check": [], "read": []}

    def note(of: str) -> Callable[[int, int], None]:
        return lambda done, total: steps[of].append((done, total))

    file = tmp_path / "whole.zip"
    keeping.make_archive(store, to=str(file), at=after(200), progress=note("make"))
    keeping.check_archive(file=str(file), progress=note("check"))
    keeping.read_archive(file=str(file), into=target_url, at=after(200), progress=note("read"))
    for of, told in steps.items():
        assert told[-1][0] == told[-1][1] > 1, of


def test_a_history_that_tells_of_what_is_not_there_is_refused_though_every_hash_holds(
    sqlite_template: Path, target_url: str, tmp_path: Path
) -> None:
    copy = tmp_path / "store.kittrack"
    copy.write_bytes(sqlite_template.read_bytes())
    store = open_store(f"sqlite:///{copy}")
    store._database.execute_sql("PRAGMA foreign_keys = OFF")
    with store.act("a paper of no line", by=MANAGER, at=after(1)) as act:
        act.insert(Paper(receipt_line_id=999, kind="x", number="1", issuer="y", event_id=act.event_id))
    assert [f.check for f in verify(store).faults if f.check in ("chain", "rows")] == []
    file = made(store, tmp_path)
    store.close()
    with pytest.raises(BadInput, match="nothing was read in"):
        keeping.read_archive(file=str(file), into=target_url, at=after(200))
    if target_url.startswith("sqlite"):
        assert not (tmp_path / "target.kittrack").exists()
    else:
        left = open_store(target_url)
        with left.reading() as read:
            assert not any(read.value(f'SELECT count(*) FROM "{name}"') for name in TABLES)
        left.close()


def test_a_history_of_another_end_is_refused(good: Files, tmp_path: Path) -> None:
    refused(packed(with_manifest(good, head=f"7:{'a' * 64}"), tmp_path / "a.zip"), tmp_path)


@pytest.mark.postgresql
def test_nothing_half_loaded_stays_on_a_server(
    good: Files, fresh_postgresql_url: str, tmp_path: Path
) -> None:
    bad = packed(
        told_again(replaced(good, "movement", b'"quantity": 8', b'"quantity": 9')), tmp_path / "a.zip"
    )
    with pytest.raises(BadInput):
        keeping.read_archive(file=str(bad), into=fresh_postgresql_url, at=after(200))
    store = open_store(fresh_postgresql_url)
    with store.reading() as read:
        assert not any(read.value(f'SELECT count(*) FROM "{name}"') for name in TABLES)
    store.close()
    sound = packed(good, tmp_path / "b.zip")
    keeping.read_archive(file=str(sound), into=fresh_postgresql_url, at=after(200))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cuts=st.lists(st.tuples(st.integers(0, 2**20), st.integers(0, 255)), min_size=1, max_size=6),
    tail=st.integers(0, 200),
)
def test_no_spoilt_byte_ends_in_a_fault(
    good: Files, tmp_path: Path, cuts: list[tuple[int, int]], tail: int
) -> None:
    """Any bytes changed, any end cut off: read as it was, or refused by one of our own sentences."""
    whole = tmp_path / "whole.zip"
    if not whole.exists():
        packed(good, whole)
    data = bytearray(whole.read_bytes())
    for at, value in cuts:
        data[at % len(data)] = value
    (tmp_path / "spoilt.zip").write_bytes(bytes(data[: len(data) - tail]))
    try:
        assert not keeping.check_archive(file=str(tmp_path / "spoilt.zip")).faults
    except KittrackError:
        return


# ---- one airframe --------------------------------------------------------------------------------


def sheets(path: Path) -> dict[str, list[dict[str, str]]]:
    with zipfile.ZipFile(path) as whole:
        manifest = json.loads(whole.read("manifest.json"))
        for name, told in manifest["files"].items():
            assert hashlib.sha256(whole.read(name)).hexdigest() == told["sha256"]
        return {
            n.removesuffix(".csv"): list(csv.DictReader(io.StringIO(whole.read(n).decode())))
            for n in whole.namelist()
            if n.endswith(".csv")
        }


def test_the_records_of_an_airframe_go_along_with_it(store: Store, tmp_path: Path) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.walk()
    scene.fly(minutes=600, flights=30)
    made_zip = keeping.hand_over(store, tail=TAIL, to=str(tmp_path / "tail.zip"), at=after(200))
    path = Path(made_zip.codes[0])
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    found = sheets(path)
    assert found["airframe"][0]["tail"] == TAIL
    assert found["airframe"][0]["minutes flown"] == "600"
    assert {r["fitted set"] for r in found["positions"]} == set(scene.sets)
    assert {r["rotor set"] for r in found["rotor_sets"]} == set(scene.sets)
    assert {(r["position"], r["sense"]) for r in found["fits"]} == {
        ("FL", "CW"), ("RR", "CW"), ("FR", "CCW"), ("RL", "CCW"),
    }  # fmt: skip
    assert {r["screw line"] for r in found["fits"]} == {scene.screws}
    lines = {r["receipt line"] for r in found["lots"]}
    assert scene.screws in lines
    assert scene.washers in lines
    assert {r["receipt line"] for r in found["pieces"]} <= lines
    assert len(found["pieces"]) == 8
    assert any(r["minutes flown"] == "600" for r in found["readings"])
    assert {r["sense seen from above"] for r in found["sense_maps"]} == {"CW", "CCW"}
    with store.reading() as read:
        hashes = {str(n): h for n, h in read.rows("SELECT id, hash FROM event")}
    assert found["events"]
    assert all(hashes[r["event"]] == r["hash"] for r in found["events"])


def test_another_airframe_has_nothing_of_the_first(store: Store, tmp_path: Path) -> None:
    Scene(store).all_four()
    found = sheets(Path(keeping.hand_over(store, tail=TAIL2, to=str(tmp_path), at=after(200)).codes[0]))
    assert found["airframe"][0]["tail"] == TAIL2
    assert not found["fits"]
    assert not found["rotor_sets"]


def test_a_reading_that_was_reversed_does_not_go_along(store: Store, tmp_path: Path) -> None:
    usage: dict[str, Any] = {"airframe": TAIL, "flights": 3, "source": "logbook", "by": MANAGER}
    airframes.enter_usage(store, minutes=60, at=after(61), **usage)
    wrong = airframes.enter_usage(store, minutes=6000, at=after(62), **usage).event
    reversing.reverse_event(
        store, event=wrong, reason="a digit too many", second=CLERK, by=MANAGER, at=after(63)
    )
    found = sheets(Path(keeping.hand_over(store, tail=TAIL, to=str(tmp_path), at=after(200)).codes[0]))
    assert found["airframe"][0]["minutes flown"] == "60"
    assert "60" in {r["minutes flown"] for r in found["readings"]}
    assert "6000" not in {r["minutes flown"] for r in found["readings"]}


def test_hostile_text_runs_in_no_spreadsheet(store: Store, tmp_path: Path) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.remove(reason="=cmd|' /C calc'!A0")
    found = sheets(Path(keeping.hand_over(store, tail=TAIL, to=str(tmp_path), at=after(200)).codes[0]))
    assert found["removals"][0]["reason"].startswith("'=cmd")


def test_no_secret_goes_along_with_an_airframe(store: Store, tmp_path: Path) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    path = Path(keeping.hand_over(store, tail=TAIL, to=str(tmp_path), at=after(200)).codes[0])
    with store.reading() as read:
        salt, digest = read.row("SELECT salt, digest FROM credential") or ("", "")
    with zipfile.ZipFile(path) as whole:
        text = b"".join(whole.read(n) for n in whole.namelist()).decode()
    assert salt not in text
    assert digest not in text


def test_an_unknown_airframe_is_not_found(store: Store, tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        keeping.hand_over(store, tail="QA-99", to=str(tmp_path / "x.zip"), at=after(200))
    assert not (tmp_path / "x.zip").exists()
