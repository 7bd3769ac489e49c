"""An act that is stated to be of another time than the clock's says so for good, and is not of a time to come."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from kittrack.__main__ import main
from kittrack.cli.areas import all_verbs
from kittrack.cli.exits import Exit
from kittrack.cli.run import moment_of
from kittrack.cli.verb import Verb
from kittrack.errors import BadInput
from kittrack.queries.log import event_log
from kittrack.queries.verify import verify
from kittrack.store.act import read_instant_text
from kittrack.store.database import Store, open_store
from tests import factories as world
from tests.cli.line import CommandLine


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.mark.parametrize("days", [-1, -200])
def test_a_time_far_from_the_clock_is_kept_with_what_the_clock_said(
    line: CommandLine, store: Store, days: int
) -> None:
    before = datetime.now(UTC)
    stated = before + timedelta(days=days)
    line.do("place", "add", "bin", "B-77", "--site", world.SITE, "--at", stated.isoformat())
    (entry,) = event_log(store, limit=1)
    assert read_instant_text(entry.at) == stated
    assert before <= read_instant_text(entry.recorded) <= datetime.now(UTC)
    assert verify(store).faults == ()
    shown = line.do("log", "--limit", "1").out
    assert f"{read_instant_text(entry.recorded):%Y-%m-%d %H:%M}" in shown
    assert "recorded" in shown


def test_the_clocks_own_time_needs_no_second_one(line: CommandLine, store: Store) -> None:
    now = datetime.now(UTC).isoformat()
    line.do("place", "add", "bin", "B-77", "--site", world.SITE, "--at", now)
    (entry,) = event_log(store, limit=1)
    assert (entry.act, entry.recorded) == ("add a place", "")


def test_acts_before_it_was_kept_have_none(store: Store) -> None:
    assert {entry.recorded for entry in event_log(store)} == {""}


# ---- what makes a store of its own -----------------------------------------------------------------


def last_of(url: str) -> tuple[str, str]:
    """The last act of a store, and what the clock said where that was not its time."""
    store = open_store(url)
    (entry,) = event_log(store, limit=1)
    store.close()
    return entry.act, entry.recorded


YESTERDAY = timedelta(days=-1)


def when(after: timedelta) -> list[str]:
    return ["--at", (datetime.now(UTC) + after).isoformat()]


def founding(url: str, after: timedelta) -> list[str]:
    names = ["--site", "Home", "--time-zone", "Europe/Oslo", "--manager", "Manager One"]
    return ["found", *names, *when(after), "--store", url]


def test_a_store_founded_as_of_yesterday_says_so(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'new.kittrack'}"
    assert main(founding(url, YESTERDAY)) == Exit.DONE
    act, recorded = last_of(url)
    assert act == "found the store"
    assert recorded


@pytest.mark.parametrize("what", ["backup", "archive"])
@pytest.mark.parametrize("is_stated", [True, False])
def test_a_store_restored_as_of_yesterday_says_so(
    line: CommandLine, store: Store, tmp_path: Path, what: str, *, is_stated: bool
) -> None:
    if store.engine == "postgresql" and what == "backup":
        assert line.run("backup", "make", str(tmp_path)).code == Exit.STORE
        return
    file = line.do(what, "make", str(tmp_path)).first
    into = f"sqlite:///{tmp_path / 'new.kittrack'}"
    words = ["backup", "restore"] if what == "backup" else ["archive", "read", "--after-loss"]
    at = when(YESTERDAY) if is_stated else when(timedelta())
    line.do(*words, file, "--into", into, *at, by=world.MANAGER)
    act, recorded = last_of(into)
    assert act == "restore a backup"
    assert bool(recorded) is is_stated


# ---- a time to come --------------------------------------------------------------------------------

ACTS = [verb for verb in all_verbs() if "at" in verb.common and ("by" in verb.common or verb.makes_store)]


@pytest.mark.parametrize("verb", ACTS, ids=[verb.words for verb in ACTS])
def test_no_act_is_of_a_time_to_come(verb: Verb) -> None:
    with pytest.raises(BadInput, match="has not come yet") as refused:
        moment_of(verb, (datetime.now(UTC) + timedelta(minutes=5)).isoformat())
    assert "--at" in str(refused.value)
    soon = datetime.now(UTC) + timedelta(minutes=1)  # two clocks may lie so far apart
    assert moment_of(verb, soon.isoformat()) == soon


def test_a_refused_time_leaves_nothing_behind(line: CommandLine, store: Store, tmp_path: Path) -> None:
    before = event_log(store, limit=1)
    ahead = when(timedelta(days=1))
    assert line.run("place", "add", "bin", "B-77", "--site", world.SITE, *ahead).code == Exit.USAGE
    assert event_log(store, limit=1) == before
    assert main(founding(f"sqlite:///{tmp_path / 'new.kittrack'}", timedelta(days=1))) == Exit.USAGE
    file = line.do("archive", "make", str(tmp_path / "stores.zip")).first
    into = f"sqlite:///{tmp_path / 'new.kittrack'}"
    ran = line.run("archive", "read", file, "--into", into, "--after-loss", *ahead, by=world.MANAGER)
    assert ran.code == Exit.USAGE
    assert "set the clock right first" in ran.err
    assert sorted(p.name for p in tmp_path.iterdir() if "new" in p.name) == []


def test_a_question_may_be_about_a_day_to_come(line: CommandLine) -> None:
    line.do("expiring", *when(timedelta(days=400)))
