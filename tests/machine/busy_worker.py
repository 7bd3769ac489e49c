"""A process that records acts as fast as it can and says each event's number once it is confirmed.

Run by the power-cut tests as `python -m tests.machine.busy_worker URL`; it ends when it is killed.
"""

import sys
from datetime import UTC, datetime

from kittrack.store.act import Slot
from kittrack.store.database import open_store
from kittrack.store.records import Company, ReceiptLine
from kittrack.store.stock import place_named
from tests.factories import BIN, BIN2, CLERK


def main() -> None:
    store = open_store(sys.argv[1])
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    here, there = BIN, BIN2
    while True:
        with store.act("move to and fro", by=CLERK, at=datetime.now(UTC)) as act:
            line = act.select(ReceiptLine, limit=1)[0]
            source, target = place_named(act, here), place_named(act, there)
            act.move_stock(
                line.id, 3, from_slot=Slot(source.id, "serviceable"), to_slot=Slot(target.id, "serviceable")
            )
            act.insert(Company(name=f"made by event {act.event_id}"))
            number = act.event_id
        sys.stdout.write(f"{number}\n")
        sys.stdout.flush()
        here, there = there, here


if __name__ == "__main__":
    main()
