"""The records of an airframe are looked through: against their manifest, their note, and a head on paper."""

import hashlib
import json
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kittrack.errors import BadInput, KittrackError, Refused
from kittrack.queries.backups import backup_files
from kittrack.queries.chain import chain_head
from kittrack.services import keeping
from kittrack.store.database import Store
from kittrack.store.head_note import note_of
from tests.aircraft_scene import Scene
from tests.factories import TAIL, after

Members = dict[str, bytes]


@pytest.fixture
def records(store: Store, tmp_path: Path) -> Path:
    Scene(store).all_four()
    return Path(keeping.hand_over(store, tail=TAIL, to=str(tmp_path / "tail.zip"), at=after(200)).codes[0])


def members_of(path: Path) -> Members:
    with zipfile.ZipFile(path) as whole:
        return {name: whole.read(name) for name in whole.namelist()}


def write(path: Path, members: Members) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in members.items():
            whole.writestr(name, content)


def rewritten(path: Path, change: Callable[[Members], None]) -> None:
    """Change what is in the zip, and the manifest's hashes with it, as whoever has the zip alone can."""
    members = members_of(path)
    change(members)
    manifest = json.loads(members["manifest.json"])
    for name, told in manifest["files"].items():
        told["sha256"], told["bytes"] = hashlib.sha256(members[name]).hexdigest(), len(members[name])
    members["manifest.json"] = json.dumps(manifest).encode()
    write(path, members)


def nothing(_members: Members) -> None:
    pass


def more_hours(members: Members) -> None:
    members["fits.csv"] = members["fits.csv"].replace(b"CCW", b"CW")


def another_history(members: Members) -> None:
    members["events.csv"] = members["events.csv"].replace(b'"fit a rotor set"', b'"inspect a rotor set"')


def test_sound_records_agree_with_the_private_note_beside_them(store: Store, records: Path) -> None:
    head = chain_head(store).text
    note = note_of(records)
    assert stat.S_IMODE(note.stat().st_mode) == 0o600
    assert f"head: {head}\n" in note.read_text(encoding="utf-8")
    found = keeping.check_archive(file=str(records))
    assert (found.faults, found.head, found.noted, found.events) == ((), head, head, chain_head(store).event)


def test_nothing_is_written_where_a_note_stands_already(store: Store, tmp_path: Path) -> None:
    note_of(tmp_path / "tail.zip").write_text("of another one", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        keeping.hand_over(store, tail=TAIL, to=str(tmp_path / "tail.zip"), at=after(200))
    assert refused.value.rules == {"R12"}
    assert not (tmp_path / "tail.zip").exists()


@pytest.mark.parametrize("change", [nothing, more_hours, another_history])
def test_records_rewritten_with_right_hashes_are_not_those_of_their_note(
    records: Path, change: Callable[[Members], None]
) -> None:
    rewritten(records, change)
    (fault,) = keeping.check_archive(file=str(records)).faults
    assert "SHA-256 differs" in fault


def test_without_their_note_records_are_held_against_a_head_on_paper(store: Store, records: Path) -> None:
    note_of(records).unlink()
    with store.reading() as read:
        event, digest = read.rows("SELECT id, hash FROM event WHERE act = 'fit a rotor set' ORDER BY id")[0]
        other = read.value("SELECT id FROM event WHERE act = 'found the store'")
    for head, words in (
        ("", ""), (f"{event}:{digest}", ""), (chain_head(store).text, ""),
        (f"{event}:{'0' * 64}", "they were rewritten"), (f"{other}:{digest}", "list no such event"),
    ):  # fmt: skip
        found = keeping.check_archive(file=str(records), expected_head=head)
        assert found.noted == ""
        assert [words in fault for fault in found.faults] == ([True] if words else []), head


def drop_sheet(members: Members) -> None:
    del members["papers.csv"]


def add_file(members: Members) -> None:
    members["\x1b[2Jrun.exe"] = b"x"


def change_a_sheet(members: Members) -> None:
    more_hours(members)


def no_head(members: Members) -> None:
    members["manifest.json"] = members["manifest.json"].replace(b'"head": "', b'"head": "x')


def no_files(members: Members) -> None:
    told = json.loads(members["manifest.json"])
    members["manifest.json"] = json.dumps({**told, "files": [1]}).encode()


def no_hash(members: Members) -> None:
    members["manifest.json"] = members["manifest.json"].replace(b'"sha256"', b'"sha1"')


@pytest.mark.parametrize("change", [drop_sheet, add_file, change_a_sheet, no_head, no_files, no_hash])
def test_damaged_records_are_refused(records: Path, change: Callable[[Members], None]) -> None:
    members = members_of(records)
    change(members)
    write(records, members)
    with pytest.raises(BadInput) as refused:
        keeping.check_archive(file=str(records))
    assert "take another copy" in str(refused.value)
    assert "\x1b" not in str(refused.value)


def against_paper(records: Path, events: bytes) -> tuple[str, ...]:
    """What records with another list of events tell against a head on paper."""

    def put(members: Members) -> None:
        assert "events.csv" in members
        members["events.csv"] = events

    rewritten(records, put)
    note_of(records).unlink()
    return keeping.check_archive(file=str(records), expected_head=f"1:{'a' * 64}").faults


@pytest.mark.parametrize(
    ("events", "told"),
    [
        (b"event,hash\n1," + b"a" * 200_000 + b"\n", "events.csv can't be read"),
        (b"event,hash\n1,\xff\n", "no archive that can be read"),
    ],
    ids=["a cell without end", "no UTF-8"],
)
def test_a_list_of_events_that_can_not_be_read_is_told(records: Path, events: bytes, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        against_paper(records, events)


@pytest.mark.parametrize("events", [b'event,hash\n1,"a\r\rb', b"\x00\n\x00\n", b""])
def test_a_list_of_events_without_the_one_noted_outside_is_not_believed(records: Path, events: bytes) -> None:
    [fault] = against_paper(records, events)
    assert fault.startswith("event 1 ")


def test_records_of_an_airframe_are_no_backup_of_the_store(store: Store, records: Path) -> None:
    whole = Path(keeping.make_archive(store, to=str(records.with_name("whole.zip")), at=after(201)).codes[0])
    assert [f.file for f in backup_files(store, folder=str(records.parent))] == [whole.name]


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    cuts=st.lists(st.tuples(st.integers(0, 2**20), st.integers(0, 255)), max_size=4), tail=st.integers(0, 400)
)
def test_whatever_came_of_the_file_is_told_in_words(
    records: Path, tmp_path: Path, cuts: list[tuple[int, int]], tail: int
) -> None:
    data = bytearray(records.read_bytes())
    for at, value in cuts:
        data[at % len(data)] = value
    spoilt = tmp_path / "spoilt.zip"
    spoilt.write_bytes(bytes(data[: len(data) - tail]))
    try:
        assert keeping.check_archive(file=str(spoilt)).faults == ()
    except KittrackError as error:
        assert str(error).strip()  # noqa: PT017 - some of it is sound still
