"""Verbs of matching: weigh blades, make, prove and break rotor sets, and explain the figures that decided."""

from dataclasses import dataclass
from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import ONE_STOP, Station, Verb, option, word, words
from kittrack.domain.balance import Tape
from kittrack.domain.codes import Kind
from kittrack.queries import explaining, pairing, proofs
from kittrack.queries.explaining import Asked
from kittrack.queries.pairing import PairingProposal
from kittrack.queries.proofs import SetProof
from kittrack.services import matching, set_breaking, weighing
from kittrack.services.weighing import PieceWeighing

_WEIGHING: Final = record(
    PieceWeighing,
    piece=Key("piece", help="its code"),
    mass=Key("mass_ug", reading.mass, "what the scale showed, such as 31.204 g"),
    radius=Key(
        "radius_um", reading.length, "of its support from the hub's middle, such as 96.5 mm", keeps=True
    ),
)
_TAPE: Final = record(
    Tape, mass=Key("mass_ug", reading.mass), radius=Key("radius_um", reading.length),
    angle=Key("angle_mdeg", reading.angle),
)  # fmt: skip
_EXPLAINED: Final = (Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.POSITION, Kind.LOT, Kind.RECEIPT_LINE)
_BLADES: Final = words("blades", "codes or serials of the blades, in their order around the hub")
_WHERE: Final = (
    option("hub", "the hub's code, where the hub belongs to the set"),
    option("at_place", "the bench or bin where it is made; by default where the blades lie", flag="--in"),
)
_TAPES: Final = (
    ONE_STOP,
    option(
        "tapes",
        'balance tape: "mass=12 mg; radius=80 mm; angle=45" from slot 0',
        read=_TAPE,
        flag="--tape-at",
        many=True,
    ),
    option("tape", "the tape in words, as it is seen on the rotor"),
)


def _explained(asked: Asked) -> list[Table]:
    return [Table((), tuple((line,) for line in one.lines())) for one in asked.explanations]


def _set_proofs(found: tuple[SetProof, ...]) -> list[Table]:
    return [
        listing(
            found, "code", ("proof", lambda p: p.method or "NOT PROVED"), ("residual", lambda p: reading.moment_text(p.residual_g_um)),
            ("tolerance", lambda p: reading.moment_text(p.tolerance_g_um)), nothing="none of these is a rotor set",
        )
    ]  # fmt: skip


@dataclass(frozen=True)
class ProposedSet:
    """One set of a pairing proposal, as a row of CSV; moments in g·µm."""

    part: str
    sense: str
    lots: tuple[str, ...]
    scale: str
    blades: tuple[str, ...]
    residual_g_um: int
    uncertainty_g_um: int
    tolerance_g_um: int


def _proposed(found: PairingProposal) -> list[ProposedSet]:
    return [
        ProposedSet(
            found.part, found.sense, lot.lots, lot.scale, tuple(one.keys), round(one.residual_g_um),
            round(lot.uncertainty_g_um), lot.tolerance_g_um,
        )
        for lot in found.lots
        for one in lot.pairing.sets
    ]  # fmt: skip


def _proposal(found: PairingProposal) -> list[Table]:
    return [
        facts((f"{found.sense} {found.part}", f"{found.sets} sets"), *(("lot " + ", ".join(p.lots), p.said) for p in found.lots)),
        listing(
            _proposed(found), "sense", "blades", ("residual", lambda s: reading.moment_text(s.residual_g_um)),
            ("uncertainty", lambda s: reading.moment_text(s.uncertainty_g_um)),
            ("tolerance", lambda s: reading.moment_text(s.tolerance_g_um)), "lots", "scale",
            title="sets, blades in their order around the hub",
        ),
        listing(
            [single for lot in found.lots for single in lot.pairing.singles],
            ("blade", lambda s: s.key), ("moment", lambda s: reading.moment_text(s.moment_g_um)), ("why", lambda s: s.in_words),
            title="single blades",
        ),
        Table(("blade", "why not"), found.left_out, "left out"),
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "set propose", Station.MATCHING, "The best sets that the loose blades of a part would make (C3).",
        "RB-18-CW --one-stop",
        pairing.propose_pairing,
        (word("part", "the part number"), ONE_STOP),
        show=_proposal,
        rows=_proposed,
    ),
    Verb(
        "weigh", Station.MATCHING, "Keep what a scale showed for blades.",
        '"piece=U000017-A; mass=31.204 g; radius=96.5 mm" --scale W000002-7 --by "Technician One"',
        weighing.record_weighing,
        (
            words("weighings", 'a blade: "piece=CODE; mass=31.204 g; radius=96.5 mm"', read=_WEIGHING),
            option("scale", "code or name of the scale", needed=True),
        ),
    ),
    Verb(
        "set pair", Station.MATCHING, "Make a rotor set of blades that their supplier paired (R19).",
        'U000017-A U000018-8 --by "Clerk One"',
        matching.make_set_of_pair,
        (_BLADES, *_WHERE, option("tape", "tape or putty that the supplier put on, in words")),
    ),
    Verb(
        "set measure", Station.MATCHING, "Make a rotor set of weighed blades, proved within tolerance (R19).",
        'U000017-A U000018-8 --in "Bench 1" --by "Clerk One"',
        matching.make_set_by_measurement,
        (_BLADES, *_WHERE, *_TAPES),
    ),
    Verb(
        "set single", Station.MATCHING, "Make the set of one that a one-piece rotor is, by its balance proof.",
        'U000021-3 --scale W000002-7 --residual "1.2 g mm" --uncertainty "0.4 g mm" --by "Clerk One"',
        matching.make_set_of_one,
        (
            word("rotor", "its code or serial"),
            option("scale", "the balancing stand or scale", needed=True),
            option("residual_g_um", "what is left over, tape included", read=reading.moment, flag="--residual", needed=True),
            option(
                "uncertainty_g_um", "the expanded uncertainty (k = 2) of it", read=reading.moment, flag="--uncertainty",
                needed=True,
            ),
            *_WHERE,
            option("tape", "the tape in words"),
        ),
    ),
    Verb(
        "set proofs", Station.MATCHING, "The proof of each of some sets.", "R000012-3 R000013-1",
        proofs.set_proofs,
        (words("rotor_sets", "codes of rotor sets"),),
        show=_set_proofs,
        rows=lambda found: found,
    ),
    Verb(
        "set prove", Station.MATCHING, "Prove the match of a set anew from the weighings of its blades.",
        'R000012-3 --by "Technician One"',
        matching.prove_set,
        (word("rotor_set", "the set's code"), *_TAPES),
    ),
    Verb(
        "set break", Station.MATCHING, "Break a rotor set for good; its blades go on hold as orphans (R1).",
        'R000012-3 --reason "nick in one blade" --damaged U000017-A --by "Technician One"',
        set_breaking.break_set,
        (
            word("rotor_set", "the set's code"),
            option("damaged", "code or serial of a piece that is unserviceable", many=True),
        ),
    ),
    Verb(
        "explain", Station.MATCHING, "The figures that decided about a thing: formula, inputs, source, result.",
        "R000012-3 --speed 4200",
        explaining.explain_code,
        (
            word("code", "a rotor set, kit, airframe, position, lot or receipt line", scans=_EXPLAINED),
            option("speed_rpm", "for a rotor set: turns per minute for the rotating force", read=reading.whole, flag="--speed"),
        ),
        show=_explained,
    ),
)  # fmt: skip
