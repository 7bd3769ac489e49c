"""One invented label of every kind, and the specimen files of `labels/specimens`.

`python -m kittrack.printing.specimens labels/specimens` writes the files again.
"""

import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Final

from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.domain.spin import Sense
from kittrack.printing.contents import (
    AirframeLabel,
    HoldLabel,
    JobLabel,
    KitLabel,
    Label,
    LotLabel,
    NoDate,
    PersonLabel,
    PieceLabel,
    PlaceLabel,
    PositionLabel,
    ReceiptLineLabel,
    RotorSetLabel,
    SetCount,
    TagLabel,
    ToolLabel,
)
from kittrack.printing.labels import labels_pdf
from kittrack.printing.stock import stock_named

_PAPERS: Final = ("roll-50x25@203", "roll-100x50@300", "roll-100x150@203", "sheet-a4-2x7@300")


def specimen_labels() -> tuple[Label, ...]:
    """One label of every kind, the rotor set and the position in both senses; all fit on every stock."""
    return (
        KitLabel(
            code=_code(Kind.KIT, 42),
            airframe_type="BR4",
            revision="C",
            airframe="BR4-07",
            positions="all positions",
            rotor_sets=(SetCount(Sense.CW, 2, "BL-18 blades"), SetCount(Sense.CCW, 2, "BL-18 blades")),
            fasteners=("16 screws M3 x 8, threadlocker",),
            seal="004417",
            use_by=date(2027, 3, 31),
            built_by="A. Adler",
            checked_by="B. Birk",
            sealed_on=date(2026, 11, 20),
        ),
        _rotor_set(Sense.CW, 101),
        _rotor_set(Sense.CCW, 102),
        PieceLabel(
            code=_code(Kind.PIECE, 7),
            part="BL-18 blade",
            serial="00417",
            lot=_code(Kind.LOT, 12),
            use_by=NoDate.NONE,
            sense=Sense.CCW,
        ),
        PieceLabel(
            code=_code(Kind.PIECE, 8),
            part="Threadlocker, medium, 10 mL",
            serial="",
            lot=_code(Kind.LOT, 19),
            use_by=date(2027, 3, 31),
            opened_on=date(2026, 11, 3),
        ),
        LotLabel(
            code=_code(Kind.LOT, 12),
            part="BL-18 blades",
            maker="Invented Rotors",
            supplier="Example Supply",
            supplier_lot="0031-b",
            quantity="40",
            use_by=NoDate.UNKNOWN,
            received_on=date(2026, 10, 5),
            on_hold="no paper",
        ),
        ReceiptLineLabel(
            code=_code(Kind.RECEIPT_LINE, 31),
            part="screws M3 x 8",
            lot=_code(Kind.LOT, 13),
            quantity="200",
            use_by=NoDate.NONE,
            received_on=date(2026, 10, 5),
        ),
        HoldLabel(
            code=_code(Kind.HOLD, 3),
            held=f"lot {_code(Kind.LOT, 12)}, 40 pieces",
            reason="conformity paper missing",
            placed_by="C. Christ",
            placed_on=date(2026, 10, 5),
        ),
        PlaceLabel(code=_code(Kind.SHELF_PLACE, 5), kind="bin", name="B-03 upper shelf", site="Main store"),
        AirframeLabel(code=_code(Kind.AIRFRAME, 7), tail="BR4-07", airframe_type="BR4", revision="C"),
        _position(Sense.CW, 1, "arm 1"),
        _position(Sense.CCW, 2, "arm 2, upper"),
        TagLabel(
            code=_code(Kind.TAG, 4),
            part="BL-18",
            rotor_set=_code(Kind.ROTOR_SET, 90),
            airframe="BR4-07",
            position="arm 1",
            time_in_service="12.5 h in service",
            reason="nick in the leading edge",
            removed_by="D. Dorn",
            removed_on=date(2026, 11, 21),
            found_sense=Sense.CW,
        ),
        JobLabel(
            code=_code(Kind.JOB, 31),
            airframe="BR4-07",
            title="Replace all rotors",
            opened_on=date(2026, 11, 20),
        ),
        PersonLabel(code=_code(Kind.PERSON, 3), name="Żaneta Łuk-Müller", roles=("technician", "inspector")),
        ToolLabel(
            code=_code(Kind.TOOL, 2),
            name="Torque screwdriver 2",
            tool_range="0.2 to 1.2 N m",
            calibrated_until=date(2027, 6, 30),
        ),
    )


def specimen_files() -> Iterator[tuple[str, bytes]]:
    """The specimen files by name: every label on a few papers."""
    for key in _PAPERS:
        stock = stock_named(key)
        start = 3 if stock.sheet else 1  # the first places of a sheet are often used up already
        yield f"{key.replace('@', '-')}dpi.pdf", labels_pdf(specimen_labels(), stock, start=start)


def _code(kind: Kind, number: int) -> str:
    return make_code(kind, next_number(kind, after=number - 1))


def _rotor_set(sense: Sense, number: int) -> RotorSetLabel:
    return RotorSetLabel(
        code=_code(Kind.ROTOR_SET, number),
        sense=sense,
        part="BL-18",
        blades=2,
        lot=_code(Kind.LOT, 12),
        proof="0.8 of 2.4 g mm",
        matched_by="A. Adler",
        matched_on=date(2026, 11, 18),
    )


def _position(sense: Sense, number: int, name: str) -> PositionLabel:
    return PositionLabel(
        code=_code(Kind.POSITION, number), airframe="BR4-07", position=name, sense=sense, map_revision="2"
    )


def main(folder: Path) -> None:
    """Write the specimen files into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in specimen_files():
        (folder / name).write_bytes(content)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
