"""The scenario while it is played: the names that were given, and what a written reference means now.

A reference in the scenario's files is one of

    a name that an act gave (`as kit-12`)         its code
    BR4-05 FR                                     the code of that position
    at BR4-05 FR                                  the rotor set that is fitted there now
    CW 2 in kit-12                                the second clockwise set in a kit, a job or a place
    last CW in A-01                               the clockwise set there that was made last
    SC-M3x8 in job-12                             the receipt line, or the bottle, of a part there
    blade 1 of set-3                              a piece of a rotor set, in slot order
    anything else                                 itself: a person, a tail, a serial, a place

Source: design A6.
"""

import re
from collections.abc import Iterator
from datetime import datetime, timedelta

from kittrack.errors import NotFound
from kittrack.services.set_making import blades_of
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import find_airframe, sets_at
from kittrack.store.database import Store
from kittrack.store.records import Finding, Lot, Part, Piece, Place, Position, ReceiptLine, RotorSet
from kittrack.store.stock import containers_in, directly_in


class Scene:
    """The store that is being filled, and the names by which the scenario calls what is in it."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.codes: dict[str, str] = {}
        self.events: dict[str, int] = {}

    def name(self, name: str, code: str, event: int) -> None:
        """Let later paragraphs call a code by a name."""
        self.codes[name] = code
        self.events[name] = event

    def code(self, text: str) -> str:
        """What a reference means now.

        Raises:
            NotFound: it is written as one, and nothing is there.
        """
        text = text.strip()
        if text in self.codes:
            return self.codes[text]
        with self.store.reading() as read:
            return self._look_up(read, text)

    def _look_up(self, read: Reading, text: str) -> str:
        if position := read.find(Place, kind="position", name=text):
            return position.code
        for form, look in _FORMS:
            if found := form.fullmatch(text):
                return look(self, read, *found.groups())
        return text

    def blade_of(self, read: Reading, number: str, rotor_set: str) -> str:
        """A piece of a rotor set, in slot order."""
        one = read.find(RotorSet, code=self.code(rotor_set))
        pieces = [p.code for p in blades_of(read, one)] if one else []
        return _nth(pieces, int(number), f"blade {number} of {rotor_set}")

    def lot_of(self, read: Reading, line_name: str) -> str:
        """The lot of a receipt line."""
        line = read.find(ReceiptLine, code=self.code(line_name))
        return _nth([read.get(Lot, line.lot_id).code] if line else [], 1, f"lot of {line_name}")

    def set_in(self, read: Reading, last: str | None, sense: str, number: str | None, where: str) -> str:
        """The nth, or the last, rotor set of a sense in a kit, a job or a place."""
        sets = [one.code for one in self._sets_in(read, where) if one.sense == sense]
        rank = len(sets) if last and sets else int(number or 1)
        return _nth(sets, rank, f"{sense} {rank} in {where}")

    def part_in(self, read: Reading, number: str, where: str) -> str:
        """The receipt line, or the bottle, of a part in a kit, a job or a place."""
        return _nth(self._stock_in(read, number, where), 1, f"{number} in {where}")

    def set_at(self, read: Reading, text: str) -> str:
        """The rotor set that is fitted at a position."""
        place = read.find(Place, kind="position", name=text)
        position = read.find(Position, place_id=place.id) if place else None
        return _nth([one.code for one in sets_at(read, position)] if position else [], 1, f"at {text}")

    def _sets_in(self, read: Reading, where: str) -> list[RotorSet]:
        return sets_of_place(read, self.place(read, where).id)

    def _stock_in(self, read: Reading, number: str, where: str) -> list[str]:
        part = read.find(Part, number=number)
        found = []
        for stock in directly_in(read, self.place(read, where).id):
            line = read.get(ReceiptLine, stock.receipt_line_id)
            if part and line.part_id == part.id:
                found.append(read.get(Piece, stock.piece_id).code if stock.piece_id else line.code)
        return found

    def open_findings(self, tail: str) -> list[int]:
        """The numbers of the open findings of an airframe, the oldest first.

        Raises:
            NotFound: it has none.
        """
        with self.store.reading() as read:
            frame = find_airframe(read, tail)
            rows = read.select(Finding, "airframe_id = ? AND settled_event_id IS NULL", frame.id)
        if not rows:
            raise NotFound(f"{tail} has no open finding at this moment of the scenario")
        return [row.id for row in rows]

    def place(self, read: Reading, where: str) -> Place:
        """The place of a kit, a job or a set by its name in the scenario, or a place by its own name."""
        code = self.codes.get(where.strip(), where.strip())
        found = read.find(Place, code=code) or next(iter(read.select(Place, "name = ?", code)), None)
        if found is None:
            raise NotFound(f"no place is called {where.strip()!r} in the scenario; look at its name")
        return found


def sets_of_place(read: Reading, place_id: int) -> list[RotorSet]:
    """The whole rotor sets directly in a place, in the order of their making."""
    found = [one for i in containers_in(read, place_id) if (one := read.find(RotorSet, place_id=i))]
    return sorted((one for one in found if one.state == "complete"), key=lambda one: one.id)


def minutes_from(start: datetime, *, step: int = 3) -> Iterator[datetime]:
    """Instants from one on, some minutes apart: a day's work that is written as one paragraph."""
    while True:
        yield start
        start += timedelta(minutes=step)


def _nth(found: list[str], number: int, text: str) -> str:
    if len(found) < number:
        raise NotFound(f"there is no {text!r} at this moment of the scenario; look at what happened before")
    return found[number - 1]


_FORMS = (
    (re.compile(r"at (.+)"), Scene.set_at),
    (re.compile(r"blade (\d+) of (.+)"), Scene.blade_of),
    (re.compile(r"lot of (.+)"), Scene.lot_of),
    (re.compile(r"(?:(last) )?(CW|CCW)(?: (\d+))? in (.+)"), Scene.set_in),
    (re.compile(r"(\S+) in (.+)"), Scene.part_in),
)
"""How a reference may be written, and what looks up each form."""
