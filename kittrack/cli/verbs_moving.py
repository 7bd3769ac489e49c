"""Verbs that carry stock: put away and move, send back, scrap, and the extension of a shelf life."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.verb import Argument, Station, Values, Verb, option, word, words
from kittrack.domain.codes import Kind
from kittrack.services import disposing, moving
from kittrack.services.booking import PaperSpec
from kittrack.services.moving import MoveSpec
from kittrack.store.records import CONDITIONS


def _thing(text: str) -> tuple[str, int | None]:
    """Read "CODE" or "CODE=QUANTITY"."""
    code, mark, quantity = text.partition("=")
    return code.strip(), reading.amount_only(quantity) if mark else None


def _carried(values: Values) -> Values:
    """Where and in which condition counted stock lies is said once, for all of it."""
    from_place, condition = values.pop("from_place", ""), values.pop("condition", "")
    things = tuple(MoveSpec(code, quantity, from_place, condition) for code, quantity in values["things"])
    return values | {"things": things}


def _tested(values: Values) -> Values:
    test = PaperSpec(disposing.EXTENSION_TEST, values.pop("number"), values.pop("issuer"))
    return values | {"test": test}


def _things(last: str) -> tuple[Argument, ...]:
    return (
        words("things", f"{last}; CODE=QUANTITY for a part of counted stock", read=_thing),
        option("from_place", "where counted stock lies, if in several places", flag="--from"),
        option("condition", "which of it, if it lies there in several conditions", choices=CONDITIONS),
    )


VERBS: Final = (
    Verb(
        "move", Station.GOODS_IN, "Put away or carry things to one place; all of them arrive or none.",
        'Y000004-T=40 R000012-3 K000042-G --to A-01 --by "Clerk One"',
        moving.move_things,
        (
            *_things("codes of receipt lines, pieces, rotor sets or kits"),
            option("to", "code or name of a bin, bench, van, goods-in or cage", needed=True, scans=(Kind.SHELF_PLACE,)),
        ),
        build=_carried,
    ),
    Verb(
        "return supplier", Station.GOODS_IN, "Send stock, pieces or whole sets back to the supplier they came from.",
        'Y000004-T=5 --reference RMA-3 --reason "heads without marking" --by "Clerk One"',
        disposing.return_to_supplier,
        (
            *_things("codes of receipt lines, pieces or rotor sets"),
            option("reference", "the supplier's number for the return", needed=True),
        ),
        build=_carried,
    ),
    Verb(
        "scrap", Station.GOODS_IN, "Scrap stock, pieces or whole sets before a witness.",
        'U000017-A --reason "crack at the root" --second "Inspector One" --by "Clerk One"',
        disposing.scrap,
        _things("codes of receipt lines, pieces or rotor sets"),
        build=_carried,
    ),
    Verb(
        "expiry extend", Station.OFFICE, "Extend a shelf life by a recorded test; the Office lists it (R20).",
        'Y000009-B 2027-09-30 --number T-5 --issuer "Invented Laboratory" --reason "viscosity in range" '
        '--second "Manager One" --by "Inspector One"',
        disposing.extend_shelf_life,
        (
            word("line", "the receipt line's code"),
            word("expires_on", "the new last day", read=reading.day),
            option("number", "the number of the test", needed=True),
            option("issuer", "who made it", needed=True),
        ),
        build=_tested,
    ),
)  # fmt: skip
