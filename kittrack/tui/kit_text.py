"""A kit's lines as text: the sense first, what is needed, what is in the kit, the proof."""

from collections.abc import Mapping, Sequence

from kittrack.domain.quantities import Dimension, read_quantity, write_quantity
from kittrack.queries.kits import JobView, KitLineView, KitView
from kittrack.queries.kits_for_job import KitForJob
from kittrack.queries.proofs import SetProof
from kittrack.tui import layout

_HEAD = ("", "needed", "in the kit", "proof")


def amount(quantity: int, unit: str) -> str:
    """A quantity of the store as a person reads it."""
    return write_quantity(quantity, dimension=Dimension.VOLUME) if unit == "volume_ul" else str(quantity)


def counted(number: int, thing: str) -> str:
    """A number of things, by the word for one of them."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def read_amount(text: str) -> int:
    """Pieces, or a volume with its unit, as the store keeps them."""
    is_volume = text.strip()[-1:].lower() == "l"
    return read_quantity(text, dimension=Dimension.VOLUME if is_volume else Dimension.PIECES)


def kit_lines(kit: KitView, *, proofs: Mapping[str, SetProof], width: int) -> list[str]:
    """The lines of a kit as a table."""
    rows = [_row(line, kit, proofs) for line in kit.lines]
    return layout.table([_HEAD, *rows], width=width)


def _row(line: KitLineView, kit: KitView, proofs: Mapping[str, SetProof]) -> tuple[str, str, str, str]:
    kind = f"{line.kind}s" if line.needed != 1 and line.unit == "pieces" else line.kind
    needed = f"{amount(line.needed, line.unit)} {kind} {line.part}"
    return (line.sense, needed, _in_the_kit(line), _proof(line, kit, proofs))


def _in_the_kit(line: KitLineView) -> str:
    there = "  ".join(line.things) or "nothing"
    if line.kind != "rotor set" and line.things:
        there = f"{amount(line.have, line.unit)} of {there}"
    return f"{there}, SHORT by {amount(line.short, line.unit)}" if line.short else there


def _proof(line: KitLineView, kit: KitView, proofs: Mapping[str, SetProof]) -> str:
    if line.kind == "rotor set":
        return _worst([proofs[code] for code in line.things if code in proofs])
    if line.hubs and line.per_hub:
        return f"{counted(line.hubs, 'hub')} x {amount(line.per_hub, line.unit)}"
    return f"until {kit.expires_on}" if line.unit == "volume_ul" and kit.expires_on else ""


def _worst(proofs: Sequence[SetProof]) -> str:
    """The set that comes nearest to its tolerance, or how they are proved."""
    if not proofs:
        return ""
    if any(not proof.method for proof in proofs):
        return "NOT PROVED"
    measured = [p for p in proofs if p.residual_g_um is not None and p.tolerance_g_um]
    if not measured:
        return proofs[0].method
    worst = max(measured, key=lambda p: (p.residual_g_um or 0) / (p.tolerance_g_um or 1))
    residual, tolerance = (
        write_quantity(value or 0, dimension=Dimension.MOMENT)
        for value in (worst.residual_g_um, worst.tolerance_g_um)
    )
    return f"{residual} of {tolerance}"


def kits_to_fetch(job: JobView, kits: Sequence[KitForJob]) -> list[tuple[str, str]]:
    """Which kits can be fetched for an open job, and what to do where there is none."""
    if job.state != "open":
        return []
    if not kits:
        return [("To fetch", "no sealed kit fits its airframe; F4 Kitting builds one")]
    return [
        (
            "To fetch",
            f"{one.kit} in {one.where}, {counted(one.positions, 'position')}"
            + (f", kept for this job until {one.kept_until}" if one.kept_until else "")
            + (f", good until {one.expires_on}" if one.expires_on else "")
            + (f"; NOT issuable: {one.against}" if one.against else ""),
        )
        for one in kits
    ]
