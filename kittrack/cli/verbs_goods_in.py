"""Verbs of goods-in: deliveries, papers, inspection."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Values, Verb, option, switch, word, words
from kittrack.services import (
    inspecting,
    inspecting_sets,
    inspecting_stock,
    line_standing,
    receiving,
    receiving_files,
)
from kittrack.services.accepting import ACCEPTED, HELD, REJECTED
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.line_standing import LineView

LINE_KEYS: Final = {
    "part": Key("part", help='part number, or "maker: number"'),
    "quantity": Key("amount", reading.amount, "pieces, or a volume such as 10 mL"),
    "lot": Key("lot_code", reading.or_none(str, "unknown"), "the lot code on the pack, or unknown"),
    "expires": Key("expiry", reading.expiry, "the last good day, none, or unknown"),
    "made": Key("made_on", reading.day, "the day of making or cure"),
    "maker": Key("maker", help="where the part number alone does not tell"),
    "paper_kind": Key("paper_kind", help="the kind of conformity document that came with it"),
    "paper_number": Key("paper_number", help="its number"), "paper_issuer": Key("paper_issuer", help="who issued it"),
    "scan": Key("raw_scan", help="the code on the box as it was scanned", is_raw=True),
}  # fmt: skip
"""The values of one line of a delivery, by the names that the columns of a delivery file have."""


def line_spec(
    *, part: str, amount: tuple[int, str], lot_code: str | None, paper_kind: str = "", paper_number: str = "",
    paper_issuer: str = "", **rest: object,
) -> LineSpec:  # fmt: skip
    """A line of a delivery from its typed values; a paper is taken where any of its three is given."""
    paper = (paper_kind, paper_number, paper_issuer)
    papers = (PaperSpec(*paper),) if any(paper) else ()
    quantity, unit = amount
    given: dict[str, object] = {
        "part": part,
        "quantity": quantity,
        "unit": unit,
        "lot_code": lot_code,
        "papers": papers,
    }
    return LineSpec(**given, **rest)  # type: ignore[arg-type]  # the readers of LINE_KEYS give the fields' types


READ_LINE: Final = record(
    line_spec,
    order=Key("order", help="the order that it is of, where it was ordered", keeps=True),
    **LINE_KEYS,
)
_FILE: Final = (
    f"a CSV file in UTF-8, its cells parted by commas, semicolons or tabs, with the columns {', '.join(receiving_files.NEEDED)} "
    f"and where known {', '.join(c for c in receiving_files.COLUMNS if c not in receiving_files.NEEDED)}; quantities such as 8 or "
    "10 mL, days such as 2027-03-31"
)
LINE_HELP: Final = (
    'a line: "part=..; quantity=8 or 10 mL; lot=CODE or unknown; expires=2027-03-31, none or unknown", and where '
    "known made=2026-03-31, maker=, paper kind=, paper number=, paper issuer=, scan="
)

_RESULT_WORDS: Final = (ACCEPTED, HELD, REJECTED)
_MARK_HELP: Final = "as you read it on the piece itself"
_RESULTS: Final = f"result={ACCEPTED}, {HELD} or {REJECTED}; note="


def _piece(*, serial: str | None = None, **rest: object) -> PieceSpec:
    return PieceSpec(serial, **rest)  # type: ignore[arg-type]  # the readers below give the fields' types


_PIECE: Final = record(
    _piece, serial=Key("serial", help="the maker's serial, where it has one"), mark=Key("mark", help=_MARK_HELP),
    result=Key("result", help="accepted where nothing is said", choices=_RESULT_WORDS),
    mass=Key("mass_ug", reading.mass, "such as 31.204 g"),
    moment=Key("moment_g_um", reading.moment, "static moment, such as 3011 g mm"),
    scale=Key("scale", help="code or name of the scale", keeps=True),
    pair=Key("pair_code", help="the supplier's number of the pair"), note=Key("note", help="what was seen"),
)  # fmt: skip
_FINDING: Final = record(
    PieceFinding,
    piece=Key("piece", help="its code"),
    mark=Key("mark", help=_MARK_HELP),
    result=Key("result", help="accepted where nothing is said", choices=_RESULT_WORDS),
    note=Key("note", help="what was seen"),
)


def _file(values: Values) -> Values:
    content, name = values.pop("file")
    return values | {"content": content, "name": name}


def _paper(values: Values) -> Values:
    paper = PaperSpec(values.pop("kind"), values.pop("number"), values.pop("issuer"))
    return values | {"paper": paper}


def _line_tables(view: LineView) -> list[Table]:
    return [
        facts(
            ("receipt line", view.code), ("part", f"{view.sense} {view.part} {view.name}".strip()),
            ("received", reading.amount_text(view.quantity, view.unit)), ("lot code", view.lot_code or "unknown"),
            ("supplier", view.supplier), ("delivery note", view.reference), ("sampling", view.sampling),
            ("pieces inspected", view.inspected if view.is_by_piece else ""),
            ("on hold", reading.amount_text(view.waiting, view.unit)), ("holds", view.holds), ("next", view.next_step),
        ),
        listing(view.lying, "place", "condition", ("quantity", lambda one: reading.amount_text(one.quantity, view.unit)), title="where it lies"),
        *([Table(("mark", "sense"), view.marks, "marks of the part")] if view.marks else []),
        *([Table((), tuple((need,) for need in view.needs), "what it needs first")] if view.needs else []),
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "line show", Station.GOODS_IN, "A receipt line: where it lies, its sampling plan, what it needs, its next step.",
        "Y000004-T",
        line_standing.line_view,
        (word("line", "the receipt line's code"),),
        show=_line_tables,
        rows=lambda view: view.lying,
    ),
    Verb(
        "delivery receive", Station.GOODS_IN, "Take in a delivery, line by line, on hold until inspected.",
        '"part=RB-18-CW; quantity=10; lot=LOT-17; expires=none" --supplier "Invented Rotors" --reference DN-7 '
        '--by "Clerk One"',
        receiving.receive,
        (
            words("lines", f"{LINE_HELP}; order= where it was ordered", read=READ_LINE),
            option("supplier", "the supplier's name", needed=True),
            option("reference", "the number of the delivery note", needed=True),
        ),
    ),
    Verb(
        "delivery load", Station.GOODS_IN, "Take in a delivery from a CSV file; nothing is half loaded.",
        'delivery.csv --supplier "Invented Rotors" --reference DN-7 --by "Clerk One"',
        receiving_files.receive_file,
        (
            word("file", _FILE, read=reading.file_bytes),
            option("supplier", "the supplier's name", needed=True),
            option("reference", "the number of the delivery note", needed=True),
        ),
        build=_file,
    ),
    Verb(
        "paper attach", Station.GOODS_IN, "Add a conformity document to a receipt line (R14).",
        'Y000004-T --kind "certificate of conformity" --number C-17 --issuer "Invented Rotors" --by "Clerk One"',
        receiving.attach_paper,
        (
            word("line", "the receipt line's code"),
            option("kind", "the kind of paper", needed=True),
            option("number", "its number", needed=True),
            option("issuer", "who issued it", needed=True),
        ),
        build=_paper,
    ),
    Verb(
        "paper accept", Station.GOODS_IN, "Record a manager's own acceptance of a receipt line without paper (R14).",
        'Y000004-T --reason "sample from the maker\'s visit" --by "Manager One"',
        receiving.accept_without_paper,
        (word("line", "the receipt line's code"),),
    ),
    Verb(
        "expiry record", Station.GOODS_IN, "Record the shelf life of a line that came without one (R13).",
        'Y000004-T 2027-03-31 --source "maker\'s letter of 2 March" --by "Clerk One"',
        receiving.record_expiry,
        (
            word("line", "the receipt line's code"),
            word("expiry", "the last good day, such as 2027-03-31, or none", read=reading.expiry),
            option("source", "the paper that says so", needed=True),
        ),
    ),
    Verb(
        "inspect pieces", Station.GOODS_IN, "Inspect blades, hubs or serialised parts of a line, one by one.",
        'Y000004-T "serial=0417; mark=R" "serial=0418; mark=R; result=held; note=nick at the tip" --by "Inspector One"',
        inspecting.inspect_pieces,
        (
            word("line", "the receipt line's code"),
            words("pieces", f'a piece: "serial=..; mark=..", and {_RESULTS}, mass=42 g, moment=3011 g mm, scale=, pair=', read=_PIECE),
            option("place", "where they lie, if the line lies in several places"),
        ),
    ),
    Verb(
        "inspect again", Station.GOODS_IN, "Inspect pieces again that have a code already.",
        '"piece=U000017-A; mark=R" --by "Inspector One"',
        inspecting.reinspect_pieces,
        (words("findings", f'a piece: "piece=CODE; mark=..", and {_RESULTS}', read=_FINDING),),
    ),
    Verb(
        "inspect stock", Station.GOODS_IN, "Accept, hold or reject counted stock of a line.",
        'Y000004-T --accepted 95 --held 5 --note "five without head marking" --by "Inspector One"',
        inspecting_stock.inspect_stock,
        (
            word("line", "the receipt line's code"),
            option("accepted", "how much becomes serviceable", read=reading.amount_only),
            option("held", "how much is held after a look", read=reading.amount_only),
            option("rejected", "how much is unserviceable", read=reading.amount_only),
            option("note", "what was seen"),
            option("property_class", "the class read on the heads of screws"),
            option("faulty", "how many pieces of the sample were faulty", read=reading.whole),
            switch("every_one", "every piece was looked at, not a sample"),
            option("place", "where it lies, if the line lies in several places"),
            option("condition", "what is inspected", choices=("on hold", "serviceable")),
        ),
    ),
    Verb(
        "inspect set", Station.GOODS_IN, "Inspect a rotor set that was removed, came back, or has an unknown history.",
        'R000012-3 --mark R --note "no nicks, hub clean" --result accepted --to A-01 --by "Inspector One"',
        inspecting_sets.inspect_set,
        (
            word("rotor_set", "the set's code"),
            option("mark", "the mark, as read on the rotor itself", needed=True),
            option("note", "what was looked at and seen", needed=True),
            option("result", "what follows", choices=(ACCEPTED, HELD, REJECTED), is_asked=True),
            option("to_place", "the bin into which an accepted set goes", flag="--to"),
        ),
    ),
    Verb(
        "bottle open", Station.GOODS_IN, "Open a bottle of a consumable; answers with its own code.",
        'Y000009-B --by "Technician One"',
        inspecting_stock.open_bottle,
        (
            word("line", "the receipt line's code"),
            option("place", "where it lies, if the line lies in several places"),
        ),
    ),
)  # fmt: skip
