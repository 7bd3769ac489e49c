"""An act that is stated to be of another time than the clock's says so for good."""

from datetime import UTC, datetime, timedelta

import pytest

from kittrack.queries.log import event_log
from kittrack.queries.verify import verify
from kittrack.store.act import read_instant_text
from kittrack.store.database import Store
from tests import factories as world
from tests.cli.line import CommandLine


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.mark.parametrize("days", [-1, 400])
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
