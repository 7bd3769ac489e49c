"""How a line ends: one exit code for each kind of answer, sentences on stderr, and never a trace."""

import os
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

import pytest

from kittrack.__main__ import main
from kittrack.cli import run as cli_run
from kittrack.cli.exits import Exit, exit_of
from kittrack.cli.stations import store_url
from kittrack.errors import KittrackError
from kittrack.store.database import Store
from tests import factories as world
from tests.cli.line import CommandLine


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def test_done_puts_codes_on_stdout_and_sentences_on_stderr(line: CommandLine) -> None:
    ran = line.run("place", "add", "bin", "A-09", "--site", world.SITE)
    assert ran.code == Exit.DONE
    assert ran.out == f"{ran.first}\n"
    assert ran.first.startswith("N")
    assert "A-09" in ran.err


def test_a_refusal_prints_every_reason_with_its_rule(line: CommandLine, store: Store) -> None:
    received = world.put_in_stock(
        store, number=world.SCREW, quantity=8, at=world.after(1), condition="on hold",
    )  # fmt: skip
    ran = line.run(
        "inspect", "stock", received, "--accepted", "8", "--property-class", "8.8", by=world.AUDITOR
    )
    assert ran.code == Exit.REFUSED
    assert ran.out == ""
    rules = [sentence.split(":")[0] for sentence in ran.err.splitlines()]
    assert rules == ["role", "R18"]


@pytest.mark.parametrize(
    "typed",
    [
        ["person", "add", "Clerk Nine"],
        ["person", "add", "Clerk Nine", "pilot"],
        ["place", "add", "bin", "A-09"],
        ["trace", "K000042-X"],
        ["airframe", "hours", world.TAIL, "12.5", "3", "--source", "log"],
        ["shelf", "--sence", "CW"],
        ["expiring", "--within-days", "soon"],
        ["log", "--limit", "-5"],
    ],
)
def test_what_cannot_be_read_is_usage(line: CommandLine, typed: list[str]) -> None:
    ran = line.run(*typed, by=world.MANAGER)
    assert ran.code == Exit.USAGE
    assert ran.out == ""
    assert ran.err.count("\n") == 1
    assert "Traceback" not in ran.err


def test_every_argument_that_cannot_be_read_is_named_at_once(line: CommandLine) -> None:
    ran = line.run("airframe", "hours", world.TAIL, "soon", "few", "--source", "log")
    assert ran.code == Exit.USAGE
    assert [text.split(":")[0] for text in ran.err.splitlines()] == ["HOURS", "FLIGHTS"]


def test_what_is_not_in_the_store_is_not_found(line: CommandLine) -> None:
    assert line.run("person", "show", "Nobody").code == Exit.NOT_FOUND
    assert line.run("key", "never-used").code == Exit.NOT_FOUND
    assert line.run("place", "add", "bin", "A-9", "--site", world.SITE, by="Nobody").code == Exit.NOT_FOUND


def test_the_same_key_twice_is_a_conflict_and_can_be_looked_up(line: CommandLine) -> None:
    usage = ["airframe", "hours", world.TAIL, "1:00", "2", "--source", "log", "--key", "run-1"]
    line.do(*usage)
    assert line.run(*usage).code == Exit.CONFLICT
    found = line.do("key", "run-1", "--json").json
    assert found["act"] == "enter hours and flights"


def test_a_store_that_is_not_there_is_named_with_the_way_to_make_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path / 'none.kittrack'}"
    assert main(["verify", "--store", url]) == Exit.STORE
    assert f"kittrack found --store {url}" in capsys.readouterr().err
    assert main(["verify", "--store", "mysql://host/name"]) == Exit.USAGE


def test_a_store_can_be_founded_and_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    url = f"sqlite:///{tmp_path / 'new.kittrack'}"
    found = [
        "found",
        "--store",
        url,
        "--site",
        "Home",
        "--time-zone",
        "Europe/Oslo",
        "--manager",
        "Manager One",
    ]
    assert main(found) == Exit.DONE
    badge = capsys.readouterr().out.strip()
    assert main(["--store", url, "person", "show", badge]) == Exit.DONE
    assert "Manager One" in capsys.readouterr().out
    assert main(found) == Exit.REFUSED
    assert capsys.readouterr().err.startswith("R12: ")


def test_person_and_store_may_come_from_the_environment(
    line: CommandLine, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("KITTRACK_STORE", line.url)
    monkeypatch.delenv("KITTRACK_BY", raising=False)
    assert main(["cautions", "read"]) == Exit.USAGE
    assert "KITTRACK_BY" in capsys.readouterr().err
    monkeypatch.setenv("KITTRACK_BY", world.CLERK)
    assert main(["cautions", "read"]) == Exit.DONE
    assert main(["log", "--limit", "1"]) == Exit.DONE
    assert world.CLERK in capsys.readouterr().out


def test_the_moment_keeps_its_own_offset(line: CommandLine, store: Store) -> None:
    line.do("cautions", "read", "--at", "2026-03-02T16:00+05:30")
    assert line.do("log", "--limit", "1", "--json").json[0]["at"] == "2026-03-02T10:30:00.000000Z"
    with store.reading() as read:
        assert read.value("SELECT offset_minutes FROM event ORDER BY id DESC LIMIT 1") == 330


def test_a_moment_without_an_offset_is_refused(line: CommandLine) -> None:
    ran = line.run("cautions", "read", "--at", "2026-03-02T12:00")
    assert ran.code == Exit.USAGE
    assert "offset" in ran.err


# ---- faults of the program itself ------------------------------------------------------------------


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "private" / "kittrack.log"
    monkeypatch.setenv("KITTRACK_LOG", str(path))
    return path


def _break(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def broken(*_: object, **__: object) -> NoReturn:
        raise error

    monkeypatch.setattr(cli_run, "_run_line", broken)


def test_a_fault_is_one_sentence_and_its_trace_is_in_a_private_log(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _break(monkeypatch, RuntimeError("secret of the person"))
    assert main(["person", "add", "Somebody Private", "clerk"]) == Exit.FAULT
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert str(log) in shown.err
    written = log.read_text(encoding="utf-8")
    assert "Traceback" in written
    assert "person add" in written
    assert "Somebody Private" not in written
    assert log.stat().st_mode & 0o777 == 0o600
    assert log.parent.stat().st_mode & 0o777 == 0o700


def test_the_log_turns_over_before_it_grows_without_end(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _break(monkeypatch, RuntimeError("x" * 300_000))
    for _ in range(8):
        main(["verify"])
    files = sorted(log.parent.iterdir())
    assert len(files) == 4
    assert all(f.stat().st_size < 1_000_000 for f in files)
    assert all(f.stat().st_mode & 0o777 == 0o600 for f in files)


def test_a_log_that_cannot_be_written_does_not_hide_the_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("KITTRACK_LOG", str(tmp_path / "file" / "kittrack.log"))
    _break(monkeypatch, RuntimeError("odd"))
    assert main(["verify"]) == Exit.FAULT
    assert "RuntimeError" in capsys.readouterr().err


def test_an_interrupted_line_ends_as_shells_expect(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _break(monkeypatch, KeyboardInterrupt())
    assert main(["verify"]) == Exit.INTERRUPTED
    assert capsys.readouterr().err == "Interrupted.\n"


def test_every_kind_of_error_has_its_own_code() -> None:
    kinds = KittrackError.__subclasses__()
    codes = [exit_of(kind("x") if kind.__name__ != "Refused" else kind(())) for kind in kinds]
    assert sorted(codes) == [1, 2, 3, 4, 5, 6]


# ---- as a program of its own -----------------------------------------------------------------------


def _program(*typed: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "kittrack", *typed], capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, **environment},
    )  # fmt: skip


def test_the_version_loads_nothing_heavy() -> None:
    script = (
        "import sys; from kittrack.__main__ import main; code = main(['--version']); "
        "heavy = {'textual', 'peewee', 'pint', 'reportlab', 'barcode', 'zxingcpp', 'biip', 'psycopg', 'argparse', "
        "'sqlite3', 'platformdirs', 'tomllib'} & set(sys.modules); "
        "print(sorted(heavy), file=sys.stderr); sys.exit(code)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=60
    )
    assert ran.returncode == Exit.DONE
    assert ran.stdout.startswith("kittrack ")
    assert ran.stderr.strip() == "[]"


def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'pipe.kittrack'}"
    founded = _program(
        "found", "--store", url, "--site", "Home", "--time-zone", "Europe/Oslo", "--manager", "M One"
    )
    assert founded.returncode == Exit.DONE
    shell = f'"{sys.executable}" -m kittrack log --json --store "{url}" | true; echo "${{PIPESTATUS[0]}}"'
    ran = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False, timeout=60)
    assert ran.stdout.strip() == "0"
    assert ran.stderr == ""


def test_letters_that_a_terminal_cannot_show_are_written_as_escapes(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'ascii.kittrack'}"
    ran = _program(
        "found", "--store", url, "--site", "Home", "--time-zone", "Europe/Oslo", "--manager", "Żaneta Łuk",
        PYTHONIOENCODING="ascii",
    )  # fmt: skip
    assert ran.returncode == Exit.DONE
    assert "\\u017b" in ran.stderr


def test_an_answer_of_the_stations_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def stations(
        store_url: str, *, deeds: object, found: object, show_demo: object, demo: bool = False
    ) -> int:
        assert callable(deeds)
        assert callable(found)
        assert callable(show_demo)
        asked.append(store_url)
        return 0

    monkeypatch.setattr("kittrack.tui.app.run_stations", stations)
    assert main(["--store", "sqlite:///some.kittrack"]) == 0
    monkeypatch.setenv("KITTRACK_STORE", "sqlite:///other.kittrack")
    assert main([]) == 0
    assert asked == ["sqlite:///some.kittrack", "sqlite:///other.kittrack"]


def test_without_any_name_the_store_lies_in_the_users_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("KITTRACK_STORE", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "my data"))
    assert store_url(None) == f"sqlite:///{tmp_path}/my%20data/kittrack/store.kittrack"
