"""Backups, archives, the chain's head and PINs by lines of the command line."""

import os
import stat
import sys
from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.queries.chain import chain_head
from kittrack.services import signing_on
from kittrack.store import credentials
from kittrack.store.database import Store, open_store
from kittrack.store.head_note import note_of
from tests import factories as world
from tests.cli.line import CommandLine, Ran

PIN, SECOND = "482915", "correct horse battery"
VARIABLES = ("KITTRACK_PIN", "KITTRACK_PIN_FILE", "KITTRACK_SECOND_PIN", "KITTRACK_SECOND_PIN_FILE")


@pytest.fixture(autouse=True)
def surroundings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(credentials, "COST_N", 2**4)
    for name in VARIABLES:
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def private(path: Path, text: str, mode: int = 0o600) -> str:
    path.write_text(text, encoding="utf-8")
    path.chmod(mode)
    return str(path)


# ---- the chain, backups, archives -------------------------------------------------------------------


def test_the_head_of_the_chain_is_one_line_that_verify_takes(line: CommandLine, store: Store) -> None:
    shown = line.do("chain", "head")
    assert shown.out == f"{chain_head(store).text}\n"
    assert line.do("verify", "--expected-head", shown.out.strip()).code == Exit.DONE
    number, _, digest = shown.out.strip().partition(":")
    assert line.run("verify", "--expected-head", f"{int(number) + 1}:{digest}").code == Exit.STORE
    assert line.do("chain", "head", "--json").json["text"] == shown.out.strip()


def test_a_backup_is_made_checked_and_restored(line: CommandLine, store: Store, tmp_path: Path) -> None:
    head = chain_head(store).text
    ran = line.run("backup", "make", str(tmp_path / "evening.kittrack"))
    if store.engine == "postgresql":
        assert (ran.code, ran.out) == (Exit.STORE, "")
        assert "archive make" in ran.err
        return
    assert ran.code == Exit.DONE
    assert ran.first == str(tmp_path / "evening.kittrack")
    checked = line.do("backup", "check", ran.first, "--json").json
    assert checked["faults"] == []
    assert checked["head"] == checked["noted"] == head
    assert line.do("log", "--act", "make a backup", "--json").json[0]["by"] == world.CLERK
    into = f"sqlite:///{tmp_path / 'new.kittrack'}"
    done = line.do("backup", "restore", ran.first, "--into", into, by=world.MANAGER)
    assert done.first == into
    assert "New numbers begin after" in done.err
    again = line.run("backup", "restore", ran.first, "--into", into, by=world.MANAGER)
    assert again.code == Exit.REFUSED
    Path(ran.first).write_bytes(Path(ran.first).read_bytes()[:5000])
    assert line.run("backup", "check", ran.first).code == Exit.STORE


def test_the_rule_of_backups_is_set_and_the_files_of_a_folder_are_listed(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    line.do("setting", "backups", "--days", "2", "--keep", "1", "--reason", "letter 4", by=world.MANAGER)
    assert line.do("backup", "rule", "--json").json == {"days": 2, "kept": 1}
    assert line.run("setting", "backups", "--reason", "letter 4", by=world.MANAGER).code == Exit.USAGE
    assert line.run("setting", "backups", "--days", "2", "--reason", "x", by=world.CLERK).code == Exit.REFUSED
    assert line.run("backup", "list", str(tmp_path / "none")).code == Exit.NOT_FOUND
    if store.engine == "postgresql":
        return
    folder = tmp_path / "backups"
    folder.mkdir()
    first = Path(line.do("backup", "make", str(folder)).first)
    ran = line.do("backup", "make", str(folder))
    assert f"nothing was deleted: {first.name}." in ran.err
    listed = line.do("backup", "list", str(folder), "--json").json
    assert [f["is_beyond"] for f in listed] == [False, True]
    assert first.is_file()


def test_an_archive_is_made_checked_and_read(line: CommandLine, store: Store, tmp_path: Path) -> None:
    before = chain_head(store)
    file = line.do("archive", "make", str(tmp_path / "whole.zip")).first
    checked = line.do("archive", "check", file, "--json").json
    assert (checked["head"], checked["noted"], checked["faults"]) == (before.text, before.text, [])
    assert stat.S_IMODE(note_of(Path(file)).stat().st_mode) == 0o600
    assert line.run("archive", "check", file, "--expected-head", "1:" + "0" * 64).code == Exit.STORE
    into = f"sqlite:///{tmp_path / 'new.kittrack'}"
    assert line.do("archive", "read", file, "--into", into).first == into
    moved = open_store(into)
    assert chain_head(moved) == before
    moved.close()
    Path(file).write_bytes(b"PK")
    assert line.run("archive", "check", file).code == Exit.USAGE
    assert line.run("archive", "read", file, "--into", f"{into}2").code == Exit.USAGE


def test_the_records_of_an_airframe_are_written(line: CommandLine, tmp_path: Path) -> None:
    ran = line.do("archive", "airframe", world.TAIL, str(tmp_path / "tail.zip"))
    assert Path(ran.first).is_file()
    assert world.TAIL in ran.err
    assert line.run("archive", "airframe", "QA-99", str(tmp_path / "x.zip")).code == Exit.NOT_FOUND


# ---- PINs ---------------------------------------------------------------------------------------


def set_pin(line: CommandLine, tmp_path: Path, who: str, pin: str) -> None:
    line.do(
        "person", "pin", who, "--new-pin-file", private(tmp_path / "new.pin", f"{pin}\n"), by=world.MANAGER
    )


def add_bin(line: CommandLine, name: str, *more: str) -> Ran:
    return line.run("place", "add", "bin", name, "--site", world.SITE, *more)


def test_who_has_no_pin_acts_as_before(line: CommandLine) -> None:
    assert add_bin(line, "B-01").code == Exit.DONE


def test_who_has_a_pin_acts_with_it_from_a_file_or_the_environment(
    line: CommandLine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_pin(line, tmp_path, world.CLERK, PIN)
    file = private(tmp_path / "clerk.pin", f"{PIN}\n")
    assert add_bin(line, "B-01", "--pin-file", file).code == Exit.DONE
    monkeypatch.setenv("KITTRACK_PIN_FILE", file)
    assert add_bin(line, "B-02").code == Exit.DONE
    monkeypatch.delenv("KITTRACK_PIN_FILE")
    monkeypatch.setenv("KITTRACK_PIN", PIN)
    assert add_bin(line, "B-03").code == Exit.DONE
    monkeypatch.delenv("KITTRACK_PIN")
    ran = add_bin(line, "B-04")
    assert (ran.code, ran.out) == (Exit.REFUSED, "")
    assert line.do("shelf").code == Exit.DONE  # questions take none


def test_a_wrong_pin_is_refused_and_logged_without_it(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    set_pin(line, tmp_path, world.CLERK, PIN)
    ran = add_bin(line, "B-01", "--pin-file", private(tmp_path / "wrong.pin", "371905"))
    assert ran.code == Exit.REFUSED
    assert "4 attempts" in ran.err
    assert "371905" not in ran.err
    logged = line.do("log", "--act", "failed sign-on", "--json")
    assert len(logged.json) == 1
    with store.reading() as read:
        assert "371905" not in " ".join(r[0] for r in read.rows("SELECT statements FROM event"))


def test_the_second_person_signs_on_too(
    line: CommandLine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_pin(line, tmp_path, world.INSPECTOR, SECOND)
    act = [
        "clock", "correct", "--reason", "battery", "--second", world.INSPECTOR, "--at", world.after(500).isoformat(),
    ]  # fmt: skip
    assert line.run(*act, by=world.MANAGER).code == Exit.REFUSED
    monkeypatch.setenv("KITTRACK_PIN", SECOND)  # the first person's variable is not the second's
    assert line.run(*act, by=world.MANAGER).code == Exit.REFUSED
    monkeypatch.setenv("KITTRACK_SECOND_PIN", SECOND)
    assert line.run(*act, by=world.MANAGER).code == Exit.DONE


def test_a_pin_is_never_an_argument(line: CommandLine) -> None:
    assert add_bin(line, "B-01", "--pin", PIN).code == Exit.USAGE


@pytest.mark.skipif(os.name != "posix", reason="rights of files as POSIX has them")
def test_a_file_that_others_may_read_is_refused(line: CommandLine, tmp_path: Path) -> None:
    set_pin(line, tmp_path, world.CLERK, PIN)
    ran = add_bin(line, "B-01", "--pin-file", private(tmp_path / "open.pin", PIN, 0o644))
    assert ran.code == Exit.USAGE
    assert "chmod 600" in ran.err
    assert PIN not in ran.err


def test_a_file_that_cannot_be_read_is_named(line: CommandLine, tmp_path: Path) -> None:
    set_pin(line, tmp_path, world.CLERK, PIN)
    assert add_bin(line, "B-01", "--pin-file", str(tmp_path / "none.pin")).code == Exit.USAGE
    (tmp_path / "bytes.pin").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "bytes.pin").chmod(0o600)
    assert add_bin(line, "B-01", "--pin-file", str(tmp_path / "bytes.pin")).code == Exit.USAGE


def test_a_new_pin_comes_from_a_file_or_is_typed_twice(
    line: CommandLine, store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert line.run("person", "pin", world.CLERK, by=world.MANAGER).code == Exit.USAGE  # no terminal, no file
    typed = iter(["first try", "second try", PIN, PIN])
    monkeypatch.setattr("getpass.getpass", lambda _: next(typed))
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    assert line.run("person", "pin", world.CLERK, by=world.MANAGER).code == Exit.USAGE
    assert not signing_on.needs_pin(store, who=world.CLERK)
    assert line.run("person", "pin", world.CLERK, by=world.MANAGER).code == Exit.DONE
    assert signing_on.sign_on(store, who=world.CLERK, pin=PIN, at=world.after(900)).has_pin


def test_signing_on_can_be_tried(line: CommandLine, tmp_path: Path) -> None:
    assert "has no PIN" in line.do("sign-on", world.CLERK).out
    set_pin(line, tmp_path, world.CLERK, PIN)
    assert line.run("sign-on", world.CLERK).code == Exit.REFUSED
    file = private(tmp_path / "clerk.pin", PIN)
    assert line.do("sign-on", world.CLERK, "--pin-file", file, "--json").json["roles"] == ["clerk"]
    assert line.run("sign-on", "Nobody").code == Exit.NOT_FOUND


def test_everybody_may_be_asked_for_a_pin(line: CommandLine, tmp_path: Path) -> None:
    set_pin(line, tmp_path, world.MANAGER, PIN)
    file = private(tmp_path / "manager.pin", PIN)
    line.do(
        "setting", "sign-on", "yes", "--reason", "audit", "--second", world.INSPECTOR, "--pin-file", file,
        by=world.MANAGER,
    )  # fmt: skip
    ran = add_bin(line, "B-01")
    assert ran.code == Exit.REFUSED
    assert "kittrack person pin" in ran.err


def test_a_manager_restores_with_the_pin_of_the_backup(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    set_pin(line, tmp_path, world.MANAGER, PIN)
    file = line.do("archive", "make", str(tmp_path / "whole.zip")).first
    words = ["archive", "read", file, "--into", f"sqlite:///{tmp_path / 'new.kittrack'}", "--after-loss"]
    assert line.run(*words, by=world.MANAGER).code == Exit.REFUSED
    assert not list(tmp_path.glob("new.kittrack*"))
    pin = private(tmp_path / "manager.pin", PIN)
    assert line.run(*words, "--pin-file", pin, by=world.MANAGER).code == Exit.DONE


def test_a_file_that_is_not_there_or_is_no_backup_is_named_as_it_was_typed(
    line: CommandLine, tmp_path: Path
) -> None:
    missing, text, into = (
        tmp_path / "none.zip",
        tmp_path / "list.csv",
        f"sqlite:///{tmp_path / 'new.kittrack'}",
    )
    text.write_text("part,lot\n" * 200, encoding="utf-8")
    for words in (("archive", "check", str(missing)), ("archive", "read", str(missing), "--into", into)):
        ran = line.run(*words)
        assert (ran.code, str(missing) in ran.err) == (Exit.NOT_FOUND, True)
    ran = line.run("backup", "restore", str(text), "--into", into, by=world.MANAGER)
    assert (ran.code, str(text) in ran.err, ".part-" in ran.err) == (Exit.STORE, True, False)
    assert not (tmp_path / "new.kittrack").exists()
