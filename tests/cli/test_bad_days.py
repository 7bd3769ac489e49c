"""Bad days: after each, the next start says plainly what happened and what to do, and nothing confirmed is lost."""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from kittrack.cli.exits import Exit
from kittrack.errors import StoreError
from kittrack.queries.at_start import Message, messages_at_start
from kittrack.queries.verify import verify
from kittrack.services import founding, jobs, keeping, kitting
from kittrack.store import terminal_memory
from kittrack.store.database import Store, open_store
from tests import factories as world
from tests.cli.line import CommandLine

ROOT = Path(__file__).resolve().parents[2]
NOW = world.after(24 * 60)
FLIPS = int(os.environ.get("KITTRACK_FLIPS", "60"))


@pytest.fixture
def url(sqlite_template: Path, tmp_path: Path) -> str:
    """A store file of the factories' world that nobody has open."""
    file = Path(shutil.copyfile(sqlite_template, tmp_path / "store.kittrack"))
    file.chmod(0o600)
    return f"sqlite:///{file}"


@pytest.fixture
def line(url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(url, capsys)


def path_of(url: str) -> Path:
    return Path(url.removeprefix("sqlite:///"))


def about(messages: tuple[Message, ...]) -> list[str]:
    return [m.about for m in messages]


def add_bin(line: CommandLine, name: str) -> None:
    line.do("place", "add", "bin", name, "--site", world.SITE)


# ---- nothing happened ------------------------------------------------------------------------------


def test_an_ordinary_day_says_nothing(line: CommandLine) -> None:
    add_bin(line, "B-01")
    assert line.do("shelf").err.strip() == "nothing of this is in the stores"
    assert "nothing is wrong" in line.do("store", "check").err


# ---- copies, old and half --------------------------------------------------------------------------


def test_a_store_copied_while_open_is_known_by_the_head_that_was_seen(
    line: CommandLine, url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The companion file holds the newest acts; the file alone is an older, sound store."""
    copy = tmp_path / "copy.kittrack"
    busy = open_store(url)
    with busy.reading() as read:
        before = read.value("SELECT max(id) FROM event")
    add_bin(line, "B-01")
    add_bin(line, "B-02")
    assert path_of(url).with_name("store.kittrack-wal").stat().st_size > 0
    shutil.copyfile(path_of(url), copy)  # and not copy.kittrack-wal
    busy.close()
    ran = CommandLine(f"sqlite:///{copy}", capsys).run("store", "check")
    assert ran.code == Exit.STORE
    assert f"ends with event {before}; " in ran.out
    assert f"saw event {before + 2} of it" in ran.out
    assert "-wal" in ran.out
    assert "kittrack store go-on" in ran.out
    assert line.run("store", "check").code == Exit.DONE


def test_an_old_copy_put_back_is_told_by_every_verb_until_a_manager_goes_on(
    line: CommandLine, url: str, tmp_path: Path
) -> None:
    old = shutil.copyfile(path_of(url), tmp_path / "old")
    add_bin(line, "B-01")
    for beside in path_of(url).parent.glob("store.kittrack*"):
        beside.unlink()
    shutil.copyfile(old, path_of(url))
    for _ in range(2):
        assert "this computer saw event" in line.do("shelf").err
    line.do("store", "go-on", "--reason", "the disk failed", "--second", world.INSPECTOR, by=world.MANAGER)
    assert "this computer saw" not in line.do("shelf").err
    new = line.do("place", "add", "bin", "B-02", "--site", world.SITE).first
    assert int(new[1:7]) > 10_000
    assert line.run("verify").code == Exit.DONE
    lost = line.run("what", "K000400-4")
    assert lost.code in (Exit.NOT_FOUND, Exit.USAGE)


def test_two_copies_that_went_different_ways_are_told_apart(
    line: CommandLine, url: str, tmp_path: Path
) -> None:
    shutil.copyfile(path_of(url), tmp_path / "other")
    (tmp_path / "other").chmod(0o600)
    other = f"sqlite:///{tmp_path / 'other'}"
    add_bin(line, "B-01")
    away = open_store(other)
    world.put_in_stock(away, world.SCREW, 3, at=world.after(200))
    found = messages_at_start(away, at=NOW)
    away.close()
    assert [m.is_grave for m in found] == [True]
    assert "two copies of one store" in found[0].text


def test_a_restored_backup_has_told_of_its_loss_itself(
    line: CommandLine, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    backup = line.do("backup", "make", str(tmp_path / "evening.kittrack")).first
    add_bin(line, "B-01")
    into = f"sqlite:///{tmp_path / 'new.kittrack'}"
    later = datetime.now(UTC).isoformat()
    line.do("backup", "restore", backup, "--into", into, "--at", later, by=world.MANAGER)
    assert "this computer saw" not in CommandLine(into, capsys).do("shelf").err


def test_a_store_moved_by_an_archive_that_is_on_record_lacks_nothing(
    line: CommandLine, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The record of the archive is written after it, so what is made of the archive ends before that record."""
    archive = line.do("archive", "make", str(tmp_path / "all.zip"), by=world.MANAGER).first
    assert line.do("log", "--limit", "1", "--json").json[0]["act"] == "make an archive"
    into = f"sqlite:///{tmp_path / 'moved.kittrack'}"
    line.do("archive", "read", archive, "--into", into)
    assert "this computer saw" not in CommandLine(into, capsys).do("shelf").err
    add_bin(line, "B-01")
    assert "this computer saw" in CommandLine(into, capsys).do("shelf").err


# ---- damaged files ---------------------------------------------------------------------------------


def test_a_file_that_was_cut_off_is_told_with_what_to_do(line: CommandLine, url: str) -> None:
    whole = path_of(url).read_bytes()
    for share in (0.3, 0.6, 0.95, 0.999):
        path_of(url).write_bytes(whole[: int(len(whole) * share)])
        ran = line.run("shelf")
        assert ran.code == Exit.STORE, share
        assert "was cut off" in ran.err
        assert "kittrack backup restore" in ran.err
        assert path_of(url).stat().st_size == int(len(whole) * share)  # it is left as it is


def test_no_flipped_bit_goes_unseen_or_unexplained(line: CommandLine, url: str) -> None:
    """Each flip is found by a start, by the check of pages or by verify, or it changes nothing that is stored."""
    whole, chance = path_of(url).read_bytes(), random.Random(20260302)  # noqa: S311 - the same flips in each run
    store = open_store(url)
    rows = dump(store)
    store.close()
    found = 0
    for _ in range(FLIPS):
        byte, bit = chance.randrange(len(whole)), chance.randrange(8)
        flipped = bytearray(whole)
        flipped[byte] ^= 1 << bit
        for beside in path_of(url).parent.glob("store.kittrack-*"):
            beside.unlink()
        path_of(url).write_bytes(flipped)
        ran = line.run("verify")
        assert ran.code in (Exit.DONE, Exit.STORE), f"byte {byte}, bit {bit}: {ran.err}"
        if ran.code == Exit.DONE:
            store = open_store(url)
            assert dump(store) == rows, f"byte {byte}, bit {bit}"
            store.close()
        else:
            found += 1
    print(f"{FLIPS} bits: {found} told, the others changed nothing that is kept")  # noqa: T201 - the figure
    assert found > FLIPS // 12


def dump(store: Store) -> list[str]:
    """Every row of every table, as SQLite's own driver tells them."""
    connection = store._database.connection()
    return [line for line in connection.iterdump() if line.startswith("INSERT")]


def test_a_damaged_newest_event_is_told_at_the_next_start(line: CommandLine, url: str) -> None:
    add_bin(line, "ZEBRA-77")
    content = path_of(url).read_bytes()
    assert content.count(b"ZEBRA-77") >= 2
    path_of(url).write_bytes(content.replace(b"ZEBRA-77", b"ZEBRA-78"))  # in the row and in the event alike
    ran = line.run("shelf")
    assert "don't hold together" in ran.err
    assert "kittrack verify" in ran.err
    assert line.run("store", "check").code == Exit.STORE


def test_rows_of_the_newest_events_that_are_gone_are_told(url: str) -> None:
    store = open_store(url)
    world.put_in_stock(store, world.SCREW, 3, at=world.after(5))
    store._database.execute_sql("PRAGMA foreign_keys = 0")
    store._database.execute_sql("DROP TRIGGER delivery_never_deleted")
    store._database.execute_sql("DELETE FROM delivery")
    found = messages_at_start(store, at=NOW)
    store.close()
    assert [(m.about, m.is_grave) for m in found] == [("history", True)]
    assert "delivery" in found[0].text


# ---- disks -----------------------------------------------------------------------------------------


def test_after_a_full_disk_the_act_is_absent_and_the_next_start_is_clean(line: CommandLine, url: str) -> None:
    store = open_store(url)
    pages = store._database.execute_sql("PRAGMA page_count").fetchone()[0]
    store._database.execute_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreError, match="make room"):
        for minute in range(200):
            world.put_in_stock(store, world.SCREW, 3, at=world.after(minute), lot_code=f"L{minute}")
    with store.reading() as read:
        last = read.value("SELECT max(id) FROM event")
    store.close()
    assert line.run("store", "check", by=world.CLERK).code == Exit.DONE
    assert line.do("verify", "--json").json["events"] == last


def test_little_room_on_the_disk_is_told_before_it_is_full(
    line: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=3 * 2**20))
    assert "has 3 MB left. Make room now" in line.do("shelf").err


@pytest.fixture
def somebody_else() -> Iterator[None]:
    """An account that is not the superuser, to whom rights of files apply."""
    own = os.geteuid()
    if own == 0:
        os.seteuid(65534)
    yield
    os.seteuid(own)


@pytest.mark.skipif(os.name != "posix", reason="rights of files as POSIX has them")
def test_a_disk_that_is_read_only_is_told(url: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    folder = Path("/tmp") / f"kittrack-read-only-{os.getpid()}"  # noqa: S108 - every account can reach it
    folder.mkdir()
    try:
        file = shutil.copyfile(path_of(url), folder / "store.kittrack")
        file.chmod(0o444)
        folder.chmod(0o555)
        request.getfixturevalue("somebody_else")
        with pytest.raises(StoreError, match="disk isn't read-only"):
            open_store(f"sqlite:///{file}")
    finally:
        os.seteuid(os.getuid())
        folder.chmod(0o755)
        shutil.rmtree(folder)


# ---- the clock -------------------------------------------------------------------------------------


def test_a_clock_that_was_set_back_is_told_with_the_way_out(line: CommandLine, url: str) -> None:
    store = open_store(url)
    ahead = datetime.now(UTC) + timedelta(days=400)
    founding.add_place(store, kind="bin", name="B-01", site=world.SITE, by=world.CLERK, at=ahead)
    store.close()
    ran = line.do("shelf")
    assert "the clock was set back, or was ahead then" in ran.err
    assert "kittrack clock correct" in ran.err
    assert line.run("place", "add", "bin", "B-02", "--site", world.SITE).code == Exit.USAGE
    line.do("clock", "correct", "--reason", "battery", "--second", world.INSPECTOR, by=world.MANAGER)
    assert "clock" not in line.do("shelf").err


@pytest.mark.postgresql
def test_a_clock_that_differs_from_the_servers_is_told(store: Store) -> None:
    found = messages_at_start(store, at=datetime.now(UTC) + timedelta(hours=3))
    assert ("clock" in about(found)) == (store.engine == "postgresql")
    assert "clock" not in about(messages_at_start(store, at=datetime.now(UTC)))


# ---- terminals that go away ------------------------------------------------------------------------


def cut_short(url: str, *what: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.machine.cut_short", url, *what], cwd=ROOT, check=False
    )
    assert done.returncode == -signal.SIGKILL


def test_a_terminal_closed_before_anything_was_recorded_is_told(url: str, line: CommandLine) -> None:
    cut_short(url, "nothing")
    said = line.do("shelf").err
    assert "was cut short here" in said
    assert f"({world.CLERK})" in said
    assert "Nothing of it was recorded. Do what was begun once more." in said
    assert "cut short" in line.do("store", "check").out  # a person who asks has read it
    assert "cut short" not in line.do("shelf").err


def test_a_terminal_closed_after_an_act_names_the_act(
    world_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    cut_short(world_url, "act")
    store = open_store(world_url)
    found = messages_at_start(store, at=datetime.now(UTC))
    assert not verify(store).faults
    store.close()
    assert about(found) == ["last run"]
    assert "it is whole" in found[0].text
    assert "What was typed after it is not recorded" in found[0].next_step


def test_a_voucher_of_a_run_that_was_cut_short_is_asked_for(world_url: str) -> None:
    store = open_store(world_url)
    world.stock_up(store, at=world.after(1))
    kit = kitting.build_kit(
        store, bench=world.BENCH, airframe=world.TAIL, by=world.BUILDER, at=world.after(2)
    ).codes[0]
    world.finished_kit(store, kit, at=world.after(3), seal="7")
    job = jobs.open_job(
        store, airframe=world.TAIL, purpose="rotors", by=world.TECHNICIAN, at=world.after(4)
    ).codes[0]
    cut_short(world_url, "issue", kit, job)
    found = messages_at_start(store, at=datetime.now(UTC))
    store.close()
    assert about(found) == ["last run"]
    assert f"kit {kit} to {world.TECHNICIAN}" in found[0].text
    assert "Was the kit handed over?" in found[0].next_step
    assert f"kittrack return unopened {kit}" in found[0].next_step


def test_a_terminal_that_still_works_is_not_called_cut_short(url: str) -> None:
    script = (
        "import sys, time\nfrom kittrack.store.database import open_store\n"
        "from kittrack.store.terminal_memory import opened_here\n"
        "store = open_store(sys.argv[1])\nwith opened_here(store):\n    print('ready', flush=True)\n    time.sleep(60)\n"
    )
    other = subprocess.Popen([sys.executable, "-c", script, url], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert other.stdout is not None
    assert other.stdout.readline() == "ready\n"
    store = open_store(url)
    assert about(messages_at_start(store, at=NOW)) == []
    other.kill()
    other.wait()
    other.stdout.close()
    time.sleep(0.05)
    assert about(messages_at_start(store, at=NOW)) == ["last run"]
    store.close()


# ---- the memory itself -----------------------------------------------------------------------------


def test_the_memory_is_private_and_holds_no_secret(line: CommandLine) -> None:
    add_bin(line, "B-01")
    folder = terminal_memory.folder()
    assert folder.stat().st_mode & 0o777 == 0o700
    files = list(folder.iterdir())
    assert [f.name.endswith(".seen.json") for f in files] == [True]
    assert files[0].stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("content", ["", "{", "[]", '{"number": 1}', '{"strange": 1}', "\x00"])
def test_a_memory_that_cannot_be_read_is_no_obstacle(line: CommandLine, content: str) -> None:
    add_bin(line, "B-01")
    for file in terminal_memory.folder().iterdir():
        file.write_text(content)
    assert line.do("shelf").err.strip() == "nothing of this is in the stores"
    add_bin(line, "B-02")


def test_a_computer_that_can_keep_no_memory_works_without(
    line: CommandLine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("KITTRACK_STATE", str(tmp_path / "file" / "state"))
    add_bin(line, "B-01")
    assert line.do("shelf").err.strip() == "nothing of this is in the stores"


# ---- backups ---------------------------------------------------------------------------------------


def test_managers_hear_of_a_backup_that_is_due(url: str, line: CommandLine, tmp_path: Path) -> None:
    store = open_store(url)
    late, early = world.after(4 * 24 * 60), world.after(60)
    assert about(messages_at_start(store, at=late, who=world.MANAGER)) == ["backup"]
    assert about(messages_at_start(store, at=late, who=world.CLERK)) == []
    assert about(messages_at_start(store, at=early, who=world.MANAGER)) == []
    keeping.make_backup(store, to=str(tmp_path), at=world.after(24 * 60 * 3), by=world.CLERK)
    assert about(messages_at_start(store, at=late, who=world.MANAGER)) == []
    keeping.set_backup_rule(
        store, days=1, kept=2, reason="insurer's letter", by=world.MANAGER, at=world.after(24 * 60 * 3)
    )
    later = late + timedelta(days=1)
    found = messages_at_start(store, at=later, who=world.MANAGER)
    assert "in the last 1 days" in found[0].text
    store.close()


def test_a_file_that_everybody_may_open_is_told(url: str) -> None:
    path_of(url).chmod(0o644)
    store = open_store(url)
    found = messages_at_start(store, at=NOW)
    store.close()
    assert [m.next_step for m in found] == [f"Make it private: chmod o= {path_of(url)}"]
