"""The process whose children record acts and are killed at it.

Run as `python -m tests.machine.worker URL`. Each line of its input is one order in JSON; a child made for it
opens the store, does the deed, and says each event's number once it is confirmed. The process itself never
opens the store, so that no connection is shared. When a child has ended, it says how.
"""

import json
import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from kittrack.domain.dates import Expiry
from kittrack.services import fitting, issuing, receiving
from kittrack.services.desk import Done
from kittrack.services.receiving import LineSpec
from kittrack.store.act import Slot
from kittrack.store.database import Store, open_store
from kittrack.store.records import Company, Place, ReceiptLine
from tests.factories import BIN, BIN2, CLERK, SCREW, TECHNICIAN, WASHER, after
from tests.machine.dying import die_before

TO_AND_FRO = "move to and fro"


def say(text: str) -> None:
    """One line to whoever gave the order, in one write: a line is there whole or not at all."""
    os.write(1, f"{text}\n".encode())


def be_busy(store: Store) -> None:
    """Move the same three screws between two bins until killed."""
    while True:
        with store.act(TO_AND_FRO, by=CLERK, at=datetime.now(UTC)) as act:
            line = act.select(ReceiptLine, limit=1)[0]
            bins = {place.name: place for place in act.select(Place, "name IN (?, ?)", BIN, BIN2)}
            lies_in = act.value(
                "SELECT place_id FROM holding WHERE receipt_line_id = ? AND quantity = 3", line.id
            )
            source = bins[BIN] if bins[BIN].id == lies_in else bins[BIN2]
            target = bins[BIN2] if source is bins[BIN] else bins[BIN]
            act.move_stock(
                line.id, 3, from_slot=Slot(source.id, "serviceable"), to_slot=Slot(target.id, "serviceable")
            )
            act.insert(Company(name=f"made by event {act.event_id}"))
        say(str(act.event_id))


def receive(store: Store, *, key: str = "") -> Done:
    """Take in a delivery of two lines."""
    lines = [LineSpec(part, 16, "L-1", expiry=Expiry.unlimited()) for part in (SCREW, WASHER)]
    return receiving.receive(
        store, supplier="Invented Rotors", reference="DN-9", lines=lines, by=CLERK, at=after(60), key=key
    )


def issue(store: Store, *, kit: str, job: str, key: str = "") -> Done:
    """Issue a sealed kit."""
    return issuing.issue_kit(
        store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(60), key=key
    )


def fit(store: Store, *, job: str, position: str, rotor_set: str, mark: str, key: str = "") -> Done:
    """Fit a rotor set on a position."""
    return fitting.fit_set(
        store,
        job=job,
        position=position,
        rotor_set=rotor_set,
        mark=mark,
        by=TECHNICIAN,
        at=after(60),
        key=key,
    )


DEEDS: dict[str, Callable[..., Done]] = {"receive": receive, "issue": issue, "fit": fit}


def obey(url: str, order: dict[str, Any]) -> None:
    """Do what one order says, in a process of its own."""
    store = open_store(url)
    say("ready")
    if order["deed"] == "be busy":
        be_busy(store)
    if order.get("die_before"):
        die_before(order["die_before"])
    done = DEEDS[order["deed"]](store, **order["with"])
    if order.get("die_unconfirmed"):
        os.kill(os.getpid(), 9)
    say(str(done.event))
    store.close()


def main() -> None:
    url = sys.argv[1]
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                obey(url, json.loads(line))
            except BaseException as error:  # noqa: BLE001 - told to whoever gave the order, whatever it is
                say(f"failed {error!r}".replace("\n", " "))
                os._exit(1)
            os._exit(0)
        say(f"child {child}")
        _, status = os.waitpid(child, 0)
        say(f"ended {os.waitstatus_to_exitcode(status)}")


if __name__ == "__main__":
    main()
