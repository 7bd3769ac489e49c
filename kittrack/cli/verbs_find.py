"""Questions about stock: what a code is, what lies where, where a lot went, what expires, which sets are sound."""

from collections.abc import Sequence
from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Values, Verb, option, word
from kittrack.cli.verbs_hold import SCOPE_OPTIONS
from kittrack.domain.codes import Kind
from kittrack.domain.ledger import AccountClass
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput
from kittrack.queries import expiring, integrity, lookup, recall, shelf, trace
from kittrack.queries.expiring import Expiring
from kittrack.queries.integrity import Integrity
from kittrack.queries.lookup import Thing
from kittrack.queries.recall import RecallAccount
from kittrack.queries.shelf import ShelfLine
from kittrack.queries.trace import Trace
from kittrack.store.records import CONDITIONS

_TRACED: Final = (
    Kind.LOT, Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.JOB,
)  # fmt: skip
RECALLED: Final = (
    Kind.LOT, Kind.RECEIPT_LINE, Kind.DELIVERY, Kind.PIECE, Kind.ROTOR_SET, Kind.TOOL, Kind.HOLD,
)  # fmt: skip


def _thing(thing: Thing) -> list[Table]:
    return [
        facts(
            (thing.kind, thing.code), *thing.facts, ("where", " in ".join(thing.where)), ("holds", thing.holds),
            ("labels", thing.labels),
        )
    ]  # fmt: skip


def _shelf(lines: tuple[ShelfLine, ...]) -> list[Table]:
    return [
        listing(
            lines, "sense", "part", ("quantity", lambda s: reading.amount_text(s.quantity, s.unit)), "state",
            "condition", "place", "receipt_line", "lot", "lot_code", ("expires", _last_day), "holds",
            nothing="nothing of this is in the stores",
        )
    ]  # fmt: skip


def _last_day(line: ShelfLine) -> str:
    if not line.expiry_known:
        return "UNKNOWN"
    if line.expires_on is None:
        return "no expiry"
    return f"{line.expires_on.isoformat()}{' EXPIRED' if line.expired else ''}"


def _expiring(lines: tuple[Expiring, ...]) -> list[Table]:
    return [
        listing(
            lines, "within", ("days left", lambda e: e.days_left), "expires_on", "what", "part",
            ("quantity", lambda e: reading.amount_text(e.quantity, e.unit)), "place", "state",
            nothing="nothing expires within these days",
        )
    ]  # fmt: skip


def _trace(found: Trace) -> list[Table]:
    return [
        listing(
            found.made_of, "what", "part", ("quantity", lambda c: reading.amount_text(c.quantity, c.unit)), "serial",
            "receipt_line", "lot", "lot_code", "maker", "supplier", "delivery", "papers",
            title=f"{found.kind} {found.code} is made of",
        ),
        listing(
            found.uses, "event", "at", "kind", "code", "airframe", "position", "until_event", "detail",
            title="where it went",
        ),
        listing(
            found.steps, "event", "at", "act", "by",
            ("quantity", lambda s: reading.amount_text(s.quantity, s.unit)), "from_place", "to_place", "condition", "reason",
            title="how it moved",
        ),
    ]  # fmt: skip


def _account(account: RecallAccount) -> list[Table]:
    mixed = len({p.unit for p in account.parts}) > 1
    return [
        facts(
            ("recall account of", account.scope), ("lots", account.lots),
            ("AIRFRAMES that carry it", account.airframes), ("VANS that have it", account.vans),
            ("PEOPLE who have it in hand", account.people), ("NEW OWNERS who got it", account.owners),
            ("rotors held by its threadlocker", account.bonded),
        ),
        *([] if mixed else [_sums(account.received, account.classes, account.missing, account.unit)]),
        *(
            _sums(p.received, p.classes, p.missing, p.unit, title=f"{p.sense} {p.part}".strip())
            for p in account.parts
            if len(account.parts) > 1
        ),
        listing(
            account.items, ("class", lambda i: i.account_class), ("quantity", lambda i: reading.amount_text(i.quantity, i.unit)),
            "part", "airframe", "position", "where", "inside", "receipt_line", "piece", "serial", "condition", "holds",
        ),
    ]  # fmt: skip


def _sums(
    received: int, classes: Sequence[tuple[AccountClass, int]], missing: int, unit: str, title: str = ""
) -> Table:
    """The account itself, class by class; what is missing is a fault and stands last."""
    rows = [("received", received), *((kind.value, quantity) for kind, quantity in classes)]
    rows += [("MISSING", missing)] if missing else []
    return Table(("class", "quantity"), tuple((n, reading.amount_text(q, unit)) for n, q in rows), title)


def _sets(found: Integrity) -> list[Table]:
    return [
        facts(("sound sets", found.sound), *found.by_breach, ("broken", found.broken)),
        listing(
            found.sets, "sense", "code", "part", "condition", "where", "blades", "proof",
            ("residual", lambda s: reading.moment_text(s.residual_g_um)),
            ("uncertainty", lambda s: reading.moment_text(s.uncertainty_g_um)),
            ("tolerance", lambda s: reading.moment_text(s.tolerance_g_um)), "breaches",
            title="rotor sets",
        ),
        listing(
            found.orphans, "sense", "code", "part", "serial", "set_it_was_in", "where", "condition",
            title="orphaned blades",
        ),
    ]  # fmt: skip


def recall_scope(values: Values) -> Values:
    """What was typed of a scope, which has to be one of a kind."""
    if "serials" in values and len(values["serials"]) != 2:
        raise BadInput(
            "A range of serials has a first and a last one; give --serial twice.", field="--serial"
        )
    if not any(values.get(name) for name in ("code", "lot_code", "serials", "supplier", "maker")):
        raise BadInput(
            "It is not said what to account for; give a code, --lot, --serial, --supplier or --maker.",
            field="CODE",
        )
    return values


VERBS: Final = (
    Verb(
        "what", Station.OFFICE, "What a code of ours is, where it is, what holds it.", "K000042-G",
        lookup.what_is,
        (word("code", "any code of ours, or the bar code of a paper", scans=tuple(Kind)),),
        show=_thing,
    ),
    Verb(
        "shelf", Station.OFFICE, "What is in the stores and vans.", "--part RB-18-CW --condition serviceable",
        shelf.on_the_shelf,
        (
            option("part", "a part number"),
            option("sense", "the sense of blades, seen from above", choices=tuple(Sense)),
            option("lot", "a lot of ours, or a maker's lot code"),
            option("place", "code or name of a bin, cage, bench or van"),
            option("condition", "a condition", choices=(*CONDITIONS, "expired")),
        ),
        show=_shelf,
        rows=lambda lines: lines,
    ),
    Verb(
        "trace", Station.OFFICE, "What a thing is made of, where it went, how it moved.", "R000012-3",
        trace.trace,
        (word("code", "a lot, receipt line, piece, rotor set, kit, airframe or job", scans=_TRACED),),
        show=_trace,
        rows=lambda found: found.uses,
    ),
    Verb(
        "recall", Station.OFFICE, "The recall account: where every piece of a lot is, adding up to what was received.",
        '--lot LOT-17 --maker "Invented Rotors"',
        recall.recall_account,
        (
            word("code", "a lot, receipt line, delivery, piece, rotor set, scale or hold of ours", needed=False, scans=RECALLED),
            *SCOPE_OPTIONS,
        ),
        build=recall_scope,
        show=_account,
        rows=lambda account: account.items,
    ),
    Verb(
        "expiring", Station.OFFICE, "What is expired, expires soon, or has no known expiry.", "--within-days 30",
        expiring.expiring,
        (option("within_days", "how many days ahead; default 90", read=reading.whole),),
        show=_expiring,
        rows=lambda lines: lines,
    ),
    Verb(
        "sets", Station.MATCHING, "Every rotor set with its proof, every breach, every orphaned blade.", "",
        integrity.set_integrity,
        show=_sets,
        rows=lambda found: found.sets,
    ),
)  # fmt: skip
