"""What is done at Goods-in: deliveries, papers, inspection, putting away, sending back, scrapping."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from kittrack.domain.codes import Kind, looks_like_code
from kittrack.domain.scan_result import Scan
from kittrack.services import (
    disposing,
    inspecting,
    inspecting_sets,
    inspecting_stock,
    moving,
    receiving,
    receiving_files,
)
from kittrack.services.accepting import ACCEPTED, HELD, REJECTED
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.line_standing import LineView, line_view
from kittrack.services.moving import MoveSpec
from kittrack.store.records import CONDITIONS
from kittrack.tui import typed
from kittrack.tui.deeds import Act, Ask, Asker, Deed, Texts, Values
from kittrack.tui.kit_text import amount

_LINE: Final = Ask("line", "Receipt line: scan its label", scans=(Kind.RECEIPT_LINE,))
_SUPPLIER: Final = (
    Ask("supplier", "Supplier", keeps=True),
    Ask("reference", "Number of the delivery note", keeps=True),
)
_WHERE: Final = Ask("place", "Where it lies, if in several places", needed=False, scans=(Kind.SHELF_PLACE,))
_RESULT: Final = Ask(
    "result", f"{ACCEPTED}, {HELD} or {REJECTED}", typed.one_of(ACCEPTED, HELD, REJECTED), value=ACCEPTED
)
_THINGS: Final = (Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET)


# ---- what was typed, as the services take it -----------------------------------------------------


def _line_spec(
    *, part: str, amount: tuple[int, str], lot_code: str | None, paper_kind: str = "", paper_number: str = "",
    paper_issuer: str = "", **rest: Any,
) -> LineSpec:  # fmt: skip
    """A line of a delivery; a paper is taken where any of its three is given."""
    paper = (paper_kind, paper_number, paper_issuer)
    quantity, unit = amount
    return LineSpec(
        part=part,
        quantity=quantity,
        lot_code=lot_code,
        unit=unit,
        papers=(PaperSpec(*paper),) if any(paper) else (),
        **rest,
    )


def _from_label(scan: Scan) -> Texts:
    """What a supplier's label says for a line. A GTIN is no part number, so the part stays to be typed."""
    fields = scan.fields
    part = fields.customer_part or fields.part_number or ""
    expiry = fields.expiry.isoformat() if fields.expiry else ""
    found = {
        "part": part,
        "amount": str(fields.quantity) if fields.quantity else "",
        "lot_code": fields.lot or "",
        "expiry": expiry,
        "made_on": fields.made_on.isoformat() if fields.made_on else "",
    }
    told = {name: text for name, text in found.items() if text}
    return told | {"raw_scan": scan.raw} if told else {}


def _serial_from_label(scan: Scan) -> Texts:
    return {"serial": scan.fields.serial} if scan.fields.serial else {}


def _file(values: Values) -> Values:
    content, name = values.pop("file")
    return values | {"content": content, "name": name}


def _paper(values: Values) -> Values:
    return values | {"paper": PaperSpec(values.pop("kind"), values.pop("number"), values.pop("issuer"))}


def _piece(values: Values) -> Values:
    line, place = values.pop("line"), values.pop("place", "")
    return {"line": line, "place": place, "pieces": (PieceSpec(values.pop("serial", None), **values),)}


def _finding(values: Values) -> Values:
    return {
        "findings": tuple(
            PieceFinding(code, **{k: v for k, v in values.items() if k != "pieces"})
            for code in values["pieces"]
        )
    }


def carried(values: Values) -> Values:
    """Where and in which condition counted stock lies is said once, for all that is carried."""
    from_place, condition = values.pop("from_place", ""), values.pop("condition", "")
    things = tuple(
        MoveSpec(code, quantity or None, from_place, condition) for code, quantity in values["things"]
    )
    return values | {"things": things}


def things(what: str, *, kits: bool = False) -> tuple[Ask, ...]:
    """The fields of an act that carries things."""
    kinds = (*_THINGS, Kind.KIT) if kits else _THINGS
    return (
        Ask(
            "things",
            what,
            typed.each(typed.named("CODE=QUANTITY", typed.amount_only, default=0)),
            scans=kinds,
            many=True,
        ),
        Ask("from_place", "From where, if in several places", needed=False, scans=(Kind.SHELF_PLACE,)),
        Ask("condition", "Which condition, if in several", typed.one_of(*CONDITIONS), needed=False),
    )


# ---- hints ---------------------------------------------------------------------------------------


async def _about_line(ask: Asker, texts: Texts, at: datetime) -> Sequence[str]:
    """What the store knows of the receipt line in the form."""
    if not looks_like_code(texts.get("line", "")):
        return ()
    view: LineView = await ask(line_view, line=texts["line"], at=at)
    return line_lines(view)


def line_lines(view: LineView) -> list[str]:
    """A receipt line in words: what it is, how far its inspection is, what it needs first."""
    named = " ".join(filter(None, (view.sense, view.part, view.name)))
    lot = view.lot_code or "lot unknown"
    lines = [
        f"{named}: {amount(view.quantity, view.unit)} received, {lot}, of {view.supplier}, {view.reference}"
    ]
    if view.is_by_piece:
        lines.append(f"{view.inspected} of {view.quantity} pieces inspected, {view.waiting} to go")
    else:
        lines += [
            f"{amount(quantity, view.unit)} {condition} in {place}"
            for place, condition, quantity in view.lying
        ]
    lines += [f"Sampling: {view.sampling}"] if view.sampling else []
    if view.marks:
        lines.append(f"Marks of the part: {', '.join(f'{mark} is {sense}' for mark, sense in view.marks)}")
    return [
        *lines,
        *(f"NEEDS: {need}" for need in view.needs),
        *(f"ON HOLD under {hold}" for hold in view.holds),
    ]


# ---- the acts ------------------------------------------------------------------------------------

RECEIVE: Final = Act(
    "Receive a delivery", receiving.receive,
    (
        *_SUPPLIER,
        Ask("part", "Part number", row=True),
        Ask("amount", "How many, or a volume (10 mL)", typed.amount, row=True),
        Ask("lot_code", "Lot code on the pack, or unknown", typed.or_word("unknown", typed.text), row=True),
        Ask("expiry", "Good until: a date, none, unknown", typed.expiry, row=True, value="unknown"),
        Ask("made_on", "Made on", typed.day, needed=False, row=True),
        Ask("maker", "Maker, if the part has several", needed=False, row=True),
        Ask("paper_kind", "Paper: its kind", needed=False, row=True),
        Ask("paper_number", "Paper: its number", needed=False, row=True),
        Ask("paper_issuer", "Paper: who issued it", needed=False, row=True),
        Ask("raw_scan", "As the label was scanned", needed=False, row=True),
    ),
    notes=("Each row is one line of the delivery note. Scan the supplier's label: it fills the row.",),
    rows="lines", row=_line_spec, scan=_from_label,
)  # fmt: skip

LOAD: Final = Act(
    "Receive a delivery from a CSV file", receiving_files.receive_file,
    (Ask("file", "File", typed.file_bytes), *_SUPPLIER),
    build=_file,
    notes=(f"Columns: {', '.join(receiving_files.COLUMNS)}. Nothing is half loaded.",),
)  # fmt: skip

ATTACH: Final = Act(
    "Attach a paper", receiving.attach_paper,
    (_LINE, Ask("kind", "Kind of paper"), Ask("number", "Its number"), Ask("issuer", "Who issued it")),
    build=_paper, hint=_about_line,
)  # fmt: skip

ACCEPT_WITHOUT: Final = Act(
    "Accept without paper (a manager)", receiving.accept_without_paper,
    (_LINE, Ask("reason", "Why it is accepted")),
    hint=_about_line,
)  # fmt: skip

EXPIRY: Final = Act(
    "Record a shelf life", receiving.record_expiry,
    (_LINE, Ask("expiry", "Good until: a date, or none", typed.expiry), Ask("source", "The paper that says so")),
    hint=_about_line,
)  # fmt: skip

PIECES: Final = Act(
    "Inspect pieces, one by one", inspecting.inspect_pieces,
    (
        Ask("line", "Receipt line: scan its label", scans=(Kind.RECEIPT_LINE,), keeps=True),
        Ask("serial", "Serial number, if it has one", needed=False),
        Ask("mark", "Mark as you read it on the piece", needed=False),
        _RESULT,
        Ask("mass_ug", "Mass", typed.mass, needed=False),
        Ask("moment_g_um", "Static moment", typed.moment, needed=False),
        Ask("scale", "Scale: scan its tag", needed=False, scans=(Kind.TOOL,), keeps=True),
        Ask("pair_code", "Pair number of the supplier", needed=False),
        Ask("note", "What was seen", needed=False),
        Ask("place", "Where it lies, if in several places", needed=False, scans=(Kind.SHELF_PLACE,), keeps=True),
    ),
    build=_piece, again=True, hint=_about_line, scan=_serial_from_label,
    notes=("Read the mark on the piece itself. F9 records one piece; the form stays for the next.",),
)  # fmt: skip

PIECES_AGAIN: Final = Act(
    "Inspect pieces again", inspecting.reinspect_pieces,
    (
        Ask("pieces", "Pieces: scan their labels", typed.listed, scans=(Kind.PIECE,), many=True),
        Ask("mark", "Mark as you read it", needed=False), _RESULT, Ask("note", "What was seen", needed=False),
    ),
    build=_finding,
)  # fmt: skip

STOCK: Final = Act(
    "Inspect counted stock", inspecting_stock.inspect_stock,
    (
        _LINE,
        Ask("accepted", "Accepted", typed.amount_only, needed=False),
        Ask("held", "Held after a look", typed.amount_only, needed=False),
        Ask("rejected", "Rejected", typed.amount_only, needed=False),
        Ask("property_class", "Class read on the screw heads", needed=False),
        Ask("note", "What was seen", needed=False),
        _WHERE,
        Ask("condition", "What is inspected", typed.one_of("on hold", "serviceable"), value="on hold"),
    ),
    hint=_about_line,
)  # fmt: skip

SET: Final = Act(
    "Inspect a rotor set", inspecting_sets.inspect_set,
    (
        Ask("rotor_set", "Rotor set: scan its label", scans=(Kind.ROTOR_SET,)),
        Ask("mark", "Mark as you read it on the rotor"),
        Ask("note", "What was looked at and seen"),
        _RESULT,
        Ask("to_place", "Bin for an accepted set", needed=False, scans=(Kind.SHELF_PLACE,)),
    ),
    notes=("For sets that were removed, came back, or have an unknown history.",),
)  # fmt: skip

OPEN_BOTTLE: Final = Act("Open a bottle", inspecting_stock.open_bottle, (_LINE, _WHERE), hint=_about_line)

PUT_AWAY: Final = Act(
    "Put away or move", moving.move_things,
    (
        *things("Things: scan them; CODE=QUANTITY for a part", kits=True),
        Ask("to", "To: scan the bin, van, bench or cage", scans=(Kind.SHELF_PLACE,)),
    ),
    build=carried, notes=("All of it arrives, or none of it.",),
)  # fmt: skip

SEND_BACK: Final = Act(
    "Return to the supplier", disposing.return_to_supplier,
    (
        *things("Things: scan them; CODE=QUANTITY for a part"),
        Ask("reference", "The supplier's number for the return"), Ask("reason", "Why it goes back"),
    ),
    build=carried,
)  # fmt: skip

SCRAP: Final = Act(
    "Scrap, before a witness", disposing.scrap,
    (
        *things("Things: scan them; CODE=QUANTITY for a part"),
        Ask("reason", "Why it is scrapped"), Ask("second", "Badge of the witness", scans=(Kind.PERSON,)),
    ),
    build=carried,
)  # fmt: skip

DEEDS: Final[tuple[Deed, ...]] = (
    RECEIVE, LOAD, ATTACH, ACCEPT_WITHOUT, EXPIRY, PIECES, PIECES_AGAIN, STOCK, SET, OPEN_BOTTLE, PUT_AWAY, SEND_BACK, SCRAP,
)  # fmt: skip
