"""Verbs of figures that are worked out before anything is recorded: trims, samples, balance, screws, torque tools."""

from decimal import Decimal, InvalidOperation
from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import ONE_STOP, Station, Verb, option, switch, word, words
from kittrack.domain.fasteners import Head
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.text import clean_label
from kittrack.domain.threads import Condition
from kittrack.errors import BadInput
from kittrack.queries import figures, sampling, trims
from kittrack.queries.explaining import Asked
from kittrack.queries.sampling import SamplingPlan, SamplingRecord
from kittrack.queries.trims import TrimProposal
from kittrack.services import sampling as sampling_acts
from kittrack.services import trimming
from kittrack.services.trimming import BladeTrim

_TRIM: Final = record(
    BladeTrim, piece=Key("piece"), mass=Key("mass_ug", reading.mass), radius=Key("radius_um", reading.length),
    takes_away=Key("takes_away", reading.yes_no),
)  # fmt: skip


def _scaled(text: str, *, by: int, what: str) -> int:
    """A decimal number as a whole number of its `by`-th parts."""
    try:
        scaled = Decimal(text) * by
    except InvalidOperation:
        scaled = Decimal(-1)
    if not (scaled.is_finite() and 0 < scaled < 10**9 and scaled == scaled.to_integral_value()):
        raise BadInput(f"{clean_label(text, max_length=40)!r} is no {what}.")
    return int(scaled)


def _grade(text: str) -> int:
    """A balance grade such as "G 6.3" or "6.3", in µm/s."""
    body = text.strip().removeprefix("G").removeprefix("g").strip()
    return _scaled(body, by=1000, what="balance grade; type one such as 6.3")


def _percent(text: str) -> int:
    """A percentage such as "0.1 %", in parts per million."""
    return _scaled(
        text.strip().removesuffix("%").strip(), by=10_000, what="percentage; type one such as 0.1 %"
    )


def _explained(asked: Asked) -> list[Table]:
    return [Table((), tuple((line,) for line in one.lines())) for one in asked.explanations]


def _trims(found: TrimProposal) -> list[Table]:
    return [
        facts(
            ("part", found.part), ("residual", reading.moment_text(found.residual_g_um)),
            ("uncertainty", reading.moment_text(found.uncertainty_g_um)),
            ("tolerance", reading.moment_text(found.tolerance_g_um)),
            ("residual after the trim", reading.moment_text(found.residual_after_g_um)), ("", found.said),
        ),
        listing(
            found.blades, ("blade", lambda b: b.piece), "serial", ("what", lambda b: "take away" if b.takes_away else "add"),
            ("mass", lambda b: write_quantity(b.mass_ug, dimension=Dimension.MASS)),
            ("at radius", lambda b: write_quantity(b.radius_um, dimension=Dimension.LENGTH)),
            nothing="no blade is to be trimmed",
        ),
    ]  # fmt: skip


def _plan(found: SamplingPlan) -> list[Table]:
    state = "" if found.passed is None else ("passed" if found.passed else "FAILED")
    return [
        facts(
            ("line", f"{found.line} {found.part}"), ("pieces", found.lot_size), ("look at", found.look_at),
            ("passes with at most", f"{found.passes_with} faulty"), ("inspection", found.severity),
            ("code letter", found.code_letter or "none: every piece is looked at"), ("AQL", f"{found.aql} %"),
            ("sample on record", state and f"{state}, {'uncounted' if found.faulty is None else found.faulty} faulty"),
            ("", found.said),
        )
    ]  # fmt: skip


def _records(found: tuple[SamplingRecord, ...]) -> list[Table]:
    return [
        listing(
            found, "supplier", "part", "lots", "refused",
            ("inspection", lambda r: "STOPPED" if r.stopped else r.severity),
            ("reduced", lambda r: "allowed" if r.reduced_allowed else "not allowed"), "score",
            nothing="no lot of fasteners was sampled",
        )
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "trim propose", Station.MATCHING, "The least trim that brings weighed blades inside their tolerance (C5).",
        'U000017-A U000018-8 --radius "80 mm"',
        trims.trim_proposal,
        (
            words("blades", "codes or serials of the blades, in their order around the hub"),
            option("radius_um", "where on the blade the trim is put", read=reading.length, flag="--radius", needed=True),
            switch("take_away", "remove material instead of adding it"),
            ONE_STOP,
        ),
        show=_trims,
        rows=lambda found: found.blades,
    ),
    Verb(
        "trim record", Station.MATCHING, "Record that blades were trimmed; their weighing is void, weigh them again.",
        '"piece=U000017-A; mass=12 mg; radius=80 mm" --reason "maker\'s manual, page 12" --by "Technician One"',
        trimming.trim_blades,
        (words("trims", 'a blade: "piece=CODE; mass=12 mg; radius=80 mm; takes away=yes"', read=_TRIM),),
    ),
    Verb(
        "sampling plan", Station.GOODS_IN, "How many pieces of a line to look at, by its supplier's history (C13).",
        "Y000004-T",
        sampling.sampling_plan,
        (word("line", "the receipt line's code"),),
        show=_plan,
    ),
    Verb(
        "sampling records", Station.GOODS_IN, "Where each supplier stands: normal, tightened, reduced or stopped (C13).",
        "",
        sampling.sampling_records,
        show=_records,
        rows=lambda found: found,
    ),
    Verb(
        "sampling decide", Station.OFFICE, "Resume sampling that was stopped, or allow or end reduced sampling (C13).",
        'SC-M3x10 "Invented Fasteners" resume --reason "new wire supplier, report 7" --by "Manager One"',
        sampling_acts.decide_sampling,
        (
            word("part", "the part number"),
            word("supplier", "the supplier's name"),
            word("decision", "what is decided", choices=sampling_acts.DECISIONS),
        ),
    ),
    Verb(
        "figure permissible", Station.MATCHING, "The residual that a balance grade allows, and its force (C2).",
        '6.3 --mass "42 g" --speed 4200',
        figures.permissible_residual,
        (
            word("grade_um_s", "the balance grade, such as 6.3", read=_grade),
            option("mass_ug", "the mass of the whole rotor, hub included", read=reading.mass, flag="--mass", needed=True),
            option("speed_rpm", "its greatest speed in turns per minute", read=reading.whole, flag="--speed", needed=True),
        ),
        show=_explained,
        opens_store=False,
    ),
    Verb(
        "figure grade", Station.MATCHING, "The balance grade that a residual amounts to at a speed (C2).",
        '"0.6 g mm" --mass "42 g" --speed 4200',
        figures.grade_reached,
        (
            word("residual_g_um", "the residual of the set", read=reading.moment),
            option("mass_ug", "the mass of the whole rotor, hub included", read=reading.mass, flag="--mass", needed=True),
            option("speed_rpm", "its speed in turns per minute", read=reading.whole, flag="--speed", needed=True),
        ),
        show=_explained,
        opens_store=False,
    ),
    Verb(
        "figure mass", Station.MATCHING, "The tolerance that a maker's difference of mass amounts to (C2).",
        '"30 mg" --radius "96 mm"',
        figures.tolerance_of_masses,
        (
            word("difference_ug", "the greatest difference of mass that the maker allows", read=reading.mass),
            option("cg_radius_um", "the radius of gravity of a blade", read=reading.length, flag="--radius", needed=True),
        ),
        show=_explained,
        opens_store=False,
    ),
    Verb(
        "figure share", Station.MATCHING, "The tolerance that a maker's percentage amounts to (C2).",
        '"0.1 %" --moment "4200 g mm"',
        figures.tolerance_of_share,
        (
            word("share_ppm", "the greatest difference in percent that the maker allows", read=_percent),
            option("moment_g_um", "the static moment of a blade", read=reading.moment, flag="--moment", needed=True),
        ),
        show=_explained,
        opens_store=False,
    ),
    Verb(
        "figure screw", Station.OFFICE, "What a screw carries, what a torque makes of it, which key fits (C8).",
        'M3 A2-70 --torque "0.8 N m" --condition threadlocker --head "socket head"',
        figures.screw_figures,
        (
            word("thread", "a coarse metric thread, such as M3"),
            word("strength", "its property class, such as 8.8 or A2-70"),
            option("torque_mnm", "a torque, to see its preload", read=reading.torque, flag="--torque"),
            option("condition", "how the thread is when it is tightened", choices=tuple(Condition)),
            option("head", "the form of its head, to see the key", choices=tuple(Head)),
        ),
        show=_explained,
        opens_store=False,
    ),
    Verb(
        "figure tool", Station.OFFICE, "Whether a torque tool's reading is within its allowed deviation (C9).",
        '"Torque driver 1" --set "0.8 N m" --reference "0.78 N m"',
        figures.tool_reading,
        (
            word("tool", "its code or name"),
            option("set_mnm", "what it was set to", read=reading.torque, flag="--set", needed=True),
            option("reference_mnm", "what the calibration device read", read=reading.torque, flag="--reference", needed=True),
        ),
        show=_explained,
    ),
)  # fmt: skip
