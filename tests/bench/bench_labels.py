"""How long 1,000 kit labels take as a vector PDF, beside drawing the same shapes with the PDF library alone (design N6).

Every label is also rendered at its dpi by two renderers and read by an independent reader.

Run: python tests/bench/bench_labels.py [COUNT]
"""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from io import BytesIO
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from reportlab.pdfgen.canvas import Canvas

from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.domain.spin import Sense
from kittrack.printing.contents import KitLabel, SetCount
from kittrack.printing.drawing import INSET_DOTS, Bars, Box, Drawing, Shape, Text
from kittrack.printing.fonts import register_face
from kittrack.printing.labels import labels_pdf
from kittrack.printing.layout import lay_out
from kittrack.printing.stock import Stock, stock_named
from tests.printing.rendering import RENDERERS, codes

PAPERS = ("roll-50x25@203", "roll-62x29@300", "roll-100x50@203", "roll-100x50@300")
COUNT = 1_000
REPEATS = 3
LIMIT = 1.3
CHUNK = 100  # pages rendered at a time


def kit_labels(count: int) -> Iterator[KitLabel]:
    """Invented kits, each with its own code, seal and lot."""
    number = 0
    for at in range(count):
        number = next_number(Kind.KIT, after=number)
        yield KitLabel(
            code=make_code(Kind.KIT, number), airframe_type="BR4", revision="C", positions="all positions",
            rotor_sets=(SetCount(Sense.CW, 2, "BL-18"), SetCount(Sense.CCW, 2, "BL-18")),
            fasteners=("16 screws M3 x 8, threadlocker",), seal=f"{at:06}", use_by=date(2027, 3, 31),
            built_by="A. Adler", checked_by="B. Birk", sealed_on=date(2026, 11, 20),
        )  # fmt: skip


def draw_alone(drawings: list[Drawing], stock: Stock) -> bytes:
    """The same texts, boxes and bars by plain calls of the PDF library: a text, a rectangle, a path of bars."""
    font = register_face()
    scale = 72 / float(stock.dpi)
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(stock.width_dots * scale, stock.height_dots * scale), invariant=1)
    for drawing in drawings:
        canvas.scale(scale, scale)
        for mark in drawing.marks:
            draw_mark(canvas, mark, font=font, top=drawing.height)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def draw_mark(canvas: Canvas, mark: Text | Box | Shape | Bars, *, font: str, top: int) -> None:
    """One mark, by the library's own calls."""
    match mark:
        case Text():
            canvas.setFont(font, mark.size)
            canvas.setFillGray(1 if mark.white else 0)
            canvas.drawString(mark.x, top - mark.baseline, mark.text)
            canvas.setFillGray(0)
        case Box():
            canvas.rect(mark.x, top - mark.y - mark.height, mark.width, mark.height, stroke=0, fill=1)
        case Bars():
            path = canvas.beginPath()
            for x, y, width, height in mark.rectangles():
                path.rect(
                    x + INSET_DOTS, top - y - height + INSET_DOTS, width - 2 * INSET_DOTS, height - 2 * INSET_DOTS
                )  # fmt: skip
            canvas.drawPath(path, stroke=0, fill=1)
        case Shape():
            path = canvas.beginPath()
            path.moveTo(mark.points[0][0], top - mark.points[0][1])
            for across, down in mark.points[1:]:
                path.lineTo(across, top - down)
            path.close()
            canvas.drawPath(path, stroke=0, fill=1)


def seconds(work: Callable[[], bytes]) -> float:
    """The time of one run."""
    begun = perf_counter()
    work()
    return perf_counter() - begun


def measure(labels: list[KitLabel], stock: Stock) -> tuple[float, float]:
    """The least time of ours and of the library alone, run in turn. Laying out is ours and counts as ours."""
    drawings = [lay_out(label, stock) for label in labels]
    ours, alone = [], []
    for turn in range(REPEATS):
        fresh = [replace(label, seal=f"{turn}{label.seal}"[:7]) for label in labels]
        ours.append(seconds(partial(labels_pdf, fresh, stock)))
        alone.append(seconds(partial(draw_alone, drawings, stock)))
    return min(ours), min(alone)


def decoded(labels: list[KitLabel], stock: Stock, *, by: str) -> int:
    """How many labels of a PDF read as their own code after a renderer drew them."""
    good = 0
    for at in range(0, len(labels), CHUNK):
        part = labels[at : at + CHUNK]
        pages = RENDERERS[by](labels_pdf(part, stock), dpi=float(stock.dpi))
        good += sum(codes(page) == [label.code] for page, label in zip(pages, part, strict=True))
    return good


def main() -> int:
    """Print one line for each paper; fail when a label does not decode or ours takes too long."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    labels = list(kit_labels(count))
    sys.stdout.write("paper             ours s   alone s   ratio   decoded by pdfium, poppler\n")
    well = True
    for key in PAPERS:
        stock = stock_named(key)
        ours, alone = measure(labels, stock)
        read = [decoded(labels, stock, by=by) for by in ("pdfium", "poppler")]
        well &= ours <= LIMIT * alone and read == [count, count]
        sys.stdout.write(f"{key:16} {ours:8.3f} {alone:9.3f} {ours / alone:7.2f}   {read[0]}, {read[1]}\n")
    sys.stdout.write(
        f"N6 {'holds' if well else 'DOES NOT HOLD'}: at most {LIMIT} times, and every label decodes\n"
    )
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
