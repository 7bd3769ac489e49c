"""Questions about the health of matched sets: orphans and partners, scales, sets matched again, the trend."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Verb, option, switch
from kittrack.queries import set_health
from kittrack.queries.set_health import IntegrityMonth, OrphanPartner, ProofOnScale, Rebalanced


def _orphans(found: tuple[OrphanPartner, ...]) -> list[Table]:
    return [
        listing(
            found, "sense", "blade", "part", "serial", "where", "condition", ("moment", lambda o: reading.moment_text(o.moment_g_um)),
            ("nearest", lambda o: o.partner), ("there", lambda o: o.partner_where),
            ("apart", lambda o: reading.moment_text(o.difference_g_um)),
            ("misses by", lambda o: reading.moment_text(o.misses_by_g_um)), "says",
            nothing="no blade is orphaned",
        )
    ]  # fmt: skip


def _rebalanced(found: tuple[Rebalanced, ...]) -> list[Table]:
    return [
        listing(
            found, ("matched again", lambda r: r.rematches), "proofs", "sense", "rotor_set", "part", "where", "condition",
            ("used", lambda r: reading.time_text(r.used_minutes)), nothing="no set was matched again so often",
        )
    ]  # fmt: skip


def _scales(found: tuple[ProofOnScale, ...]) -> list[Table]:
    return [
        listing(
            found, ("against it", lambda p: p.doubt), ("scale", lambda p: f"{p.scale_name} ({p.scale})"), "proved_on",
            ("calibrated until", lambda p: p.calibrated_until or "not on record"), "sense", "rotor_set", "part", "where",
            ("residual", lambda p: reading.moment_text(p.residual_g_um)),
            ("uncertainty", lambda p: reading.moment_text(p.uncertainty_g_um)),
            ("tolerance", lambda p: reading.moment_text(p.tolerance_g_um)), nothing="no set in the fleet was proved so",
        )
    ]  # fmt: skip


def _trend(found: tuple[IntegrityMonth, ...]) -> list[Table]:
    return [listing(found, "month", "made", "matched_again", "broken", "gone", "whole_at_end")]


VERBS: Final = (
    Verb(
        "set orphans", Station.OFFICE, "Every orphaned blade, its nearest partner, and by how much the two miss.", "",
        set_health.orphan_partners,
        show=_orphans,
        rows=lambda found: found,
    ),
    Verb(
        "set scales", Station.OFFICE, "The sets by the scale that proved them; first those whose scale is in doubt.",
        '--scale "Scale 1" --doubtful',
        set_health.proofs_by_scale,
        (
            option("scale", "the name or code of one scale"),
            switch("only_doubtful", "only sets whose scale was out of calibration or is on hold", flag="--doubtful"),
        ),
        show=_scales,
        rows=lambda found: found,
    ),
    Verb(
        "set rebalanced", Station.OFFICE, "Sets whose blades were matched again and again.", "--at-least 3",
        set_health.rebalanced_sets,
        (option("at_least", "from how many times on; default 2", read=reading.whole),),
        show=_rebalanced,
        rows=lambda found: found,
    ),
    Verb(
        "set trend", Station.OFFICE, "Sets made, matched again, broken, gone and whole, month by month.", "--months 24",
        set_health.integrity_trend,
        (option("months", "how many months back, the running one included; default 12", read=reading.whole),),
        show=_trend,
        rows=lambda found: found,
    ),
)  # fmt: skip
