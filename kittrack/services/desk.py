"""What every act asks: who may do it, what a scanned text means, and whether stock is fit for issue.

The checks read facts inside the act's own transaction and hand back every reason (R6, R13), so that a hold
placed a moment earlier is seen. Source: design R6, R8, R13, A3.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, TypeVar

from kittrack.domain import codes, dates, soundness
from kittrack.domain.rules import Rule
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.store.act import Act, Reading, person_known_as
from kittrack.store.kit_facts import marks, stock_facts
from kittrack.store.numbers import not_held
from kittrack.store.parts import part_numbered
from kittrack.store.records import (
    AloneDeclaration,
    Job,
    Kit,
    Person,
    Piece,
    ReceiptLine,
    Record,
    RotorSet,
)
from kittrack.store.stock import Stock, open_holds

R = TypeVar("R", bound=Record)
F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True)
class Done:
    """What an act answers: its event number, the codes it gave out, and sentences for the person."""

    event: int
    codes: tuple[str, ...] = ()
    said: tuple[str, ...] = ()


def require_text(**fields: str) -> None:
    """Raise BadInput for every free text that is empty, too long or holds what is no text."""
    problems = [p for field, text in fields.items() for p in check_text(text, field=field)]
    if problems:
        raise BadInput(problems)


# ---- people ------------------------------------------------------------------------------------


find_person = person_known_as
"""The person whose badge code or exact name is given; NotFound where nobody is known so."""


def has_role(read: Reading, person: Person, *roles: str) -> bool:
    """Whether the person has one of the roles now."""
    return not read.roles_of(person).isdisjoint(roles)


_DONE_BY: Final[dict[Callable[..., Any], tuple[str, ...]]] = {}


def done_by(*roles: str) -> Callable[[F], F]:
    """Say of an act which roles may do it; `check_done_by` asks it, and a form tells it at its head."""

    def declare(act: F) -> F:
        _DONE_BY[act] = roles
        return act

    return declare


def done_as(step: Callable[..., Any]) -> Callable[[F], F]:
    """Say of an act that the roles of one of its steps may do it, which asks for them."""
    return done_by(*roles_for(step))


def roles_for(act: Callable[..., Any]) -> tuple[str, ...]:
    """The roles of which one has to be held to do an act; none where it says none."""
    return _DONE_BY.get(act, ())


def roles_in_words(roles: Sequence[str]) -> str:
    """Roles as the end of a sentence: "an inspector or a technician"."""
    return " or ".join(f"{'an' if role[0] in 'aeiou' else 'a'} {role}" for role in roles)


def check_done_by(act: Act, service: Callable[..., Any]) -> list[Refusal]:
    """Refuse an act whose person has none of the roles that it is done by."""
    return check_role(act, *roles_for(service))


def check_role(act: Act, *roles: str, person: Person | None = None) -> list[Refusal]:
    """Refuse an act whose person, or the other `person` of it, has none of the roles."""
    who = person or act.by
    if has_role(act, who, *roles):
        return []
    message = f"{who.name} is not {roles_in_words(roles)}, and this act ({act.name}) takes one; ask somebody who is."
    return [Refusal("role", who.code, message)]


def check_second(*, first: Person, second: Person | None, what: str) -> list[Refusal]:
    """Refuse where the second person is missing or is the first one under any badge (R8)."""
    if second is None:
        message = f"{what} takes a second person; let another person confirm it."
        return [Refusal(Rule.SECOND_PERSON, first.code, message)]
    if _human(first) == _human(second):
        message = f"{first.name} can't be the second person for an act of their own ({what}); let another person confirm it."
        return [Refusal(Rule.SECOND_PERSON, first.code, message)]
    return check_human(second, what=what)


def check_human(person: Person, *, what: str) -> list[Refusal]:
    """Refuse a script's account where a person has to look with their own eyes (R8)."""
    if not person.is_script:
        return []
    message = (
        f"{person.name} is a script's account, and {what} takes a person; let one do it under their own name."
    )
    return [Refusal(Rule.SECOND_PERSON, person.code, message)]


def _human(person: Person) -> int:
    return person.same_human_as_id or person.id


def is_declared_alone(read: Reading, person: Person, *, on: date, job: Job | None = None) -> bool:
    """Whether a manager declared that nobody else is there, for this job or this day (R8)."""
    found = read.select(AloneDeclaration, "person_id = ? AND from_on <= ? AND until_on >= ?",
                        person.id, on.isoformat(), on.isoformat())  # fmt: skip
    return any(d.job_id is None or (job is not None and d.job_id == job.id) for d in found)


# ---- what a scanned text means -----------------------------------------------------------------


def zone(read: Reading) -> str:
    """The time zone of the stores: that of its first site."""
    return read.time_zone


def today(act: Act) -> date:
    """The local calendar day of an act."""
    return dates.local_day(act.moment, zone=zone(act))


def find_kit(read: Reading, text: str) -> Kit:
    """The kit of a scanned code; BadInput or NotFound name what is wrong with the scan."""
    code = codes.read_code(text, expect=codes.Kind.KIT).text
    return _known(read, read.find(Kit, code=code), code)


def find_set(read: Reading, text: str) -> RotorSet:
    """The rotor set of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.ROTOR_SET).text
    return _known(read, read.find(RotorSet, code=code), code)


def find_job(read: Reading, text: str) -> Job:
    """The job of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.JOB).text
    return _known(read, read.find(Job, code=code), code)


def find_line(read: Reading, text: str) -> ReceiptLine:
    """The receipt line of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.RECEIPT_LINE).text
    return _known(read, read.find(ReceiptLine, code=code), code)


def find_piece(read: Reading, text: str) -> Piece:
    """The piece of a scanned code of ours, or of a maker's serial that only one piece has."""
    if codes.looks_like_code(text):
        code = codes.read_code(text, expect=codes.Kind.PIECE).text
        return _known(read, read.find(Piece, code=code), code)
    same = read.select(Piece, "serial = ?", text.strip())
    if len(same) == 1:
        return same[0]
    if not same:
        near = codes.near_misses(
            text.strip(),
            candidates=[r[0] for r in read.rows("SELECT serial FROM piece WHERE serial IS NOT NULL")],
        )
        hint = f"; it looks like {near[0].candidate} ({near[0].why}): read it again" if near else ""
        raise NotFound(f"no piece has the serial {text.strip()!r}{hint}")
    raise BadInput(
        f"{len(same)} pieces have the serial {text.strip()!r}; scan our own code: {', '.join(p.code for p in same)}"
    )


find_part = part_numbered
"""The part of a part number that only one maker uses, or of "maker: number"."""


def _known(read: Reading, found: R | None, code: str) -> R:
    if found is None:
        raise not_held(read, code)
    return found


# ---- fit for issue -----------------------------------------------------------------------------


def check_fit(act: Act, stock: Sequence[Stock]) -> list[Refusal]:
    """Every reason why stock can't be picked, sealed, issued or fitted now (R6, R13).

    Holds on sets and kits around it are `check_holds`' business.
    """
    lines, places = {s.receipt_line_id for s in stock}, {s.place_id for s in stock}
    where = f"h.receipt_line_id IN ({marks([*lines])}) AND h.place_id IN ({marks([*places])})"
    wanted = {(s.receipt_line_id, s.piece_id, s.place_id, s.condition) for s in stock}
    facts = [
        fact
        for fact in stock_facts(act, where, *sorted(lines), *sorted(places))
        if (fact.line_id, fact.piece_id, fact.place_id, fact.condition) in wanted
    ]
    return soundness.check_stock(facts, now=soundness.Moment(act.moment, zone(act)))


def check_holds(
    act: Act,
    *,
    receipt_lines: Iterable[int] = (),
    pieces: Iterable[int] = (),
    rotor_sets: Iterable[int] = (),
    kits: Iterable[int] = (),
) -> list[Refusal]:
    """A refusal for each open hold on any of the things (R6)."""
    held = open_holds(
        act,
        receipt_lines=list(receipt_lines),
        pieces=list(pieces),
        rotor_sets=list(rotor_sets),
        kits=list(kits),
    )
    facts = []
    for hold in held:
        code = act.value(f"SELECT code FROM {hold.thing.replace(' ', '_')} WHERE id = ?", hold.thing_id)
        facts.append(soundness.HoldFact(hold.thing, str(code), hold.hold_code, hold.reason, hold.is_recall))
    return soundness.check_holds(facts)


def expiry_of(line: ReceiptLine, piece: Piece | None = None) -> dates.Expiry:
    """The last day of a line's stock; an opened bottle has its own, whichever is earlier."""
    own = {"none": dates.Expiry.unlimited(), "unknown": dates.Expiry.unknown()}.get(line.expiry_kind)
    whole = own or dates.Expiry.limited(date.fromisoformat(line.expires_on or ""))
    if piece is not None and piece.expires_on:
        return dates.earliest([whole, dates.Expiry.limited(date.fromisoformat(piece.expires_on))])
    return whole


def amount_of(quantity: int, unit: str) -> str:
    """A quantity of stock as a sentence says it: "4 of", "0.32 mL of"."""
    return f"{quantity / 1000:g} mL of" if unit == "volume_ul" else f"{quantity} of"
