"""Verbs of kits until they are sealed and put away."""

from dataclasses import dataclass
from typing import Final

from kittrack.cli import reading
from kittrack.cli.positions import POSITIONS, with_coverage
from kittrack.cli.reading import amount_text
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Verb, option, word
from kittrack.queries import buildable
from kittrack.queries.buildable import Buildable
from kittrack.services import kit_settings, kitting, making_good, picking, sealing
from kittrack.services.sealing import Counted

_KIT: Final = word("kit", "the kit's code")


def _counted(text: str) -> Counted:
    rank, quantity = reading.pair_of("LINE", reading.counted, "QUANTITY")(text)
    return Counted(reading.whole(rank), quantity)


@dataclass(frozen=True)
class ShipSetLine:
    """One line of a type revision's ship set, as a row of CSV."""

    type_name: str
    revision: str
    ship_sets: int
    line: str
    on_the_shelf: int
    per_ship_set: int
    limits: bool
    unit: str


def _lines(found: tuple[Buildable, ...]) -> list[ShipSetLine]:
    return [
        ShipSetLine(
            b.type_name,
            b.revision,
            b.ship_sets.count,
            name,
            there,
            each,
            name in b.ship_sets.limiting,
            "volume_ul" if name in b.volume_lines else "pieces",
        )
        for b in found
        for name, there, each in b.stock
    ]


def _ship_sets(found: tuple[Buildable, ...]) -> list[Table]:
    counts = listing(
        found, ("type", lambda b: b.type_name), "revision", ("ship sets", lambda b: b.ship_sets.count),
        ("senses", lambda b: "; ".join(f"{sense} {there}, {each} a ship set" for sense, there, each in b.sets_by_sense)),
        ("one more takes", lambda b: "; ".join(b.one_more_takes)),
        nothing="no airframe type is in the catalogue",
    )  # fmt: skip
    lines = listing(
        _lines(found), ("type", lambda r: f"{r.type_name} {r.revision}"), "line",
        ("on the shelf", lambda r: amount_text(r.on_the_shelf, r.unit)),
        ("per ship set", lambda r: amount_text(r.per_ship_set, r.unit)),
        ("limits", lambda r: "limits" if r.limits else ""), title="lines",
    )  # fmt: skip
    return [counts, lines] if found else [counts]


VERBS: Final = (
    Verb(
        "kit build", Station.KITTING, "Begin a kit: its lines are computed and picked, first expiry first out.",
        '--bench "Bench 1" --revision "QA A" --group front --by "Clerk One"',
        kitting.build_kit,
        (
            option("bench", "the bench where it is built", needed=True),
            option("revision", 'the type revision, such as "QA A", for a kit for the shelf'),
            option("airframe", "the airframe whose current map decides"),
            *POSITIONS,
            option("job", "the job that sets are reserved for"),
        ),
        build=with_coverage,
    ),
    Verb(
        "kit make-good", Station.KITTING, "Build a kit of what a job still owes after a loss, a broken set or a transport (R11).",
        'J000031-6 --bench "Bench 1" --by "Clerk One"',
        making_good.build_make_good,
        (word("job", "the job's code"), option("bench", "the bench where it is built", needed=True)),
    ),
    Verb(
        "kit pick", Station.KITTING, "Pick what a kit in work still lacks.",
        'K000042-G --by "Clerk One"',
        picking.pick_missing,
        (_KIT, option("job", "a job whose reserved sets may be taken")),
    ),
    Verb(
        "kit swap", Station.KITTING, "Take a picked thing out of a kit in work and pick another for it.",
        'K000042-G R000012-3 --reason "label torn" --to A-01 --by "Clerk One"',
        picking.swap_pick,
        (
            _KIT,
            word("out", "the set, receipt line or bottle that comes out"),
            option("to_bin", "the bin for what comes out", flag="--to", needed=True),
            option("take", "what is taken instead; by default the next by expiry"),
        ),
    ),
    Verb(
        "kit check", Station.KITTING, "Confirm, as another person than its builders, that a kit is complete (R8).",
        'K000042-G --counted 3=16 --counted 4=16 --by "Clerk Two"',
        sealing.check_kit,
        (
            _KIT,
            option("second", "who checks, where a builder stays signed on: badge or exact name"),
            option("counted", "what was counted: LINE=QUANTITY, the line by its rank from 1", read=_counted, many=True),
        ),
    ),
    Verb(
        "kit confirm", Station.KITTING, "Check a kit again after settings of its type revision changed (R21).",
        'K000042-G --by "Clerk Two"',
        kit_settings.confirm_settings,
        (_KIT,),
    ),
    Verb(
        "kit seal", Station.KITTING, "Seal a checked kit with a numbered seal.",
        'K000042-G 004417 --by "Clerk Two"',
        sealing.seal_kit,
        (
            _KIT, word("seal", "the number of the seal"),
            option("second", "who puts the seal on, where another person stays signed on: badge or exact name"),
        ),
    ),
    Verb(
        "kit put", Station.KITTING, "Move a sealed kit, whole, to a bin, a van or the hold cage.",
        'K000042-G A-02 --by "Clerk One"',
        sealing.put_away_kit,
        (_KIT, word("to_place", "code or name of the place")),
    ),
    Verb(
        "kit dissolve", Station.KITTING, "Take an unopened kit apart in the stores; its number is dead.",
        'K000042-G --reason "type revision changed" --to A-01 --by "Clerk One"',
        kitting.dissolve_kit,
        (
            _KIT, option("to_bin", "the bin for what comes out", flag="--to", needed=True),
            option("seal", "the seal as read on the kit, where it was out in a van or in hands"),
        ),
    ),
    Verb(
        "buildable", Station.KITTING, "How many ship sets the stock gives, and what limits them.", "--place A-01",
        buildable.buildable,
        (option("place", "only from this bin or van"),),
        show=_ship_sets,
        rows=_lines,
    ),
)  # fmt: skip
