"""How suppliers deliver, as the command line shows it: a percentage never without its counts, and of few pieces none."""

import pytest

from kittrack.domain.dates import Expiry
from kittrack.services import inspecting_stock, receiving
from kittrack.services.booking import LineSpec
from kittrack.store.database import Store
from tests import factories as world
from tests.cli.line import CommandLine


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def deliver(store: Store, part: str, quantity: int, minute: int, *, rejected: int) -> None:
    spec = LineSpec(part, quantity, "LOT-1", expiry=Expiry.unlimited())
    done = receiving.receive(
        store,
        supplier="Invented Rotors",
        reference="DN-1",
        lines=[spec],
        by=world.CLERK,
        at=world.after(minute),
    )
    inspecting_stock.inspect_stock(
        store, line=done.codes[1], rejected=rejected, held=quantity - rejected, note="burrs", every_one=True,
        by=world.CLERK, at=world.after(minute + 1),
    )  # fmt: skip


def test_the_two_counts_stand_first_and_the_percentage_of_few_is_left_out(
    line: CommandLine, store: Store
) -> None:
    deliver(store, world.SCREW, 40, 1, rejected=40)
    deliver(store, world.WASHER, 2, 5, rejected=1)
    rows = line.do("supply", "record").out.splitlines()[1:]
    by_part = {part: next(row for row in rows if part in row) for part in (world.SCREW, world.WASHER)}
    assert "40 of 40 (100.0 %)" in by_part[world.SCREW]
    assert "1 of 1" in by_part[world.WASHER]
    assert "%" not in by_part[world.WASHER]
    assert "no order" in by_part[world.WASHER]
    found = {row["part"]: row for row in line.do("supply", "record", "--json").json}
    assert (found[world.SCREW]["inspected"], found[world.SCREW]["rejected"]) == (40, 40)
    assert (found[world.SCREW]["without_paper"], found[world.SCREW]["still_without"]) == (1, 0)
    assert (found[world.WASHER]["still_without"], found[world.WASHER]["late"]) == (1, 0)


def test_days_that_cannot_be_looked_back_are_told(line: CommandLine) -> None:
    assert "can't be looked back" in line.run("supply", "record", "--within-days", "0").err
