"""What a label shows and where: nothing cut, nothing too small, the sense above all, refusals that help."""

import math
import re
from dataclasses import replace
from datetime import date
from io import BytesIO
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFont

from kittrack.domain.spin import Sense
from kittrack.errors import PrintError
from kittrack.printing import specimens
from kittrack.printing.barcodes import Symbol, modules
from kittrack.printing.contents import (
    Face,
    KitLabel,
    Label,
    LotLabel,
    NoDate,
    PersonLabel,
    PieceLabel,
    RotorSetLabel,
    SetCount,
    TagLabel,
)
from kittrack.printing.drawing import Bars, Drawing, Shape, Text, turning_arrow
from kittrack.printing.fonts import (
    ADVANCE_EM,
    CAP_HEIGHT_EM,
    FAMILY,
    LINE_EM,
    RISE_EM,
    face,
    font_file,
    text_width,
)
from kittrack.printing.labels import label_png, label_svg, labels_pdf
from kittrack.printing.layout import lay_out
from kittrack.printing.stock import Stock, stock_named
from kittrack.services.labelling import Copy
from tests.printing.rendering import LABELS, STOCKS, by_pdfium, page_text, symbols

KIT = next(label for label in LABELS.values() if isinstance(label, KitLabel))
SETS = [label for label in LABELS.values() if isinstance(label, RotorSetLabel)]
LOT = next(label for label in LABELS.values() if isinstance(label, LotLabel))
TAG = next(label for label in LABELS.values() if isinstance(label, TagLabel))
SMALL = STOCKS["roll-50x25@203"]
LARGE = STOCKS["roll-100x150@300"]
SVG = "{http://www.w3.org/2000/svg}"


def texts(drawing: Drawing) -> list[Text]:
    return [mark for mark in drawing.marks if isinstance(mark, Text)]


def said(drawing: Drawing) -> str:
    return " ".join(mark.text for mark in texts(drawing) if not mark.upside_down)


def extent(mark: Text) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the capitals of a text."""
    width, height = text_width(len(mark.text), size=mark.size), CAP_HEIGHT_EM * mark.size
    if mark.upside_down:
        return mark.x - width, mark.baseline, mark.x, mark.baseline + height
    return mark.x, mark.baseline - height, mark.x + width, mark.baseline


def check_drawing(drawing: Drawing, stock: Stock) -> None:
    """What holds for every label: inside the margins, readable size, clear of the symbol's quiet zone."""
    (bars,) = (mark for mark in drawing.marks if isinstance(mark, Bars))
    margin = stock.margin_um / stock.dot_um
    quiet = bars.pattern.quiet_modules * bars.module_dots
    right = bars.x + bars.pattern.width_modules * bars.module_dots
    bottom = bars.y + len(bars.pattern.rows) * bars.row_dots
    assert quiet <= bars.x
    assert right + quiet <= drawing.width
    assert margin <= bars.y
    assert bottom <= drawing.height - margin
    assert bars.module_dots >= 2
    for mark in texts(drawing):
        x0, y0, x1, y1 = extent(mark)
        assert margin <= x0
        assert x1 <= drawing.width - margin
        assert margin <= y0
        assert y1 <= drawing.height - margin
        assert mark.size * stock.dot_um >= 25_400 / 12 - 0.001  # 6 point
        apart = x1 <= bars.x - quiet or x0 >= right + quiet or y1 <= bars.y or y0 >= bottom
        assert apart, mark.text


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
@pytest.mark.parametrize("label", LABELS.values(), ids=LABELS)
def test_nothing_is_cut_off_and_nothing_overlaps(label: Label, stock: Stock) -> None:
    words = label.face()
    for symbol in Symbol:
        drawing = lay_out(label, stock, symbol=symbol)
        check_drawing(drawing, stock)
        shown = said(drawing)
        for lines in (words.lines, words.short):
            if lines and all(line in shown for line in lines):
                break
        else:
            pytest.fail(f"not all of {words.lines} is in {shown}")
        assert words.heading in shown
        assert words.banner in shown


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
@pytest.mark.parametrize("label", SETS, ids=lambda label: label.sense)
def test_the_sense_is_the_largest_thing_and_reads_from_both_ends(label: RotorSetLabel, stock: Stock) -> None:
    drawing = lay_out(label, stock)
    upright, turned = (mark for mark in texts(drawing) if mark.text == label.sense.value)
    assert (upright.upside_down, turned.upside_down) == (False, True)
    others = [mark.size for mark in texts(drawing) if mark.text != label.sense.value]
    assert upright.size == turned.size
    assert upright.size >= 2 * max(others)
    # The two halves are one another's image when the label is turned by 180 degrees.
    x0, y0, x1, y1 = extent(upright)
    u0, v0, u1, v1 = extent(turned)
    assert x0 + u1 == pytest.approx(drawing.width, abs=1)
    assert x1 + u0 == pytest.approx(drawing.width, abs=1)
    assert y0 + v1 == pytest.approx(y1 + v0, abs=1)
    arrows = [mark for mark in drawing.marks if isinstance(mark, Shape)]
    assert len(arrows) == 2
    assert f"{label.sense.in_words} seen from above" in said(drawing)


@pytest.mark.parametrize("sense", Sense)
def test_the_arrow_turns_as_the_rotor_does_seen_from_above(sense: Sense) -> None:
    """Followed towards its head, the outer edge goes round its middle; with y down, clockwise angles grow."""
    points = turning_arrow(sense, x=0, y=0, size=100).points
    edge = [point for point in points[:29] if math.dist(point, (50, 50)) < 45]
    angles = [math.atan2(y - 50, x - 50) for x, y in edge]
    steps = [(after - before + math.pi) % (2 * math.pi) - math.pi for before, after in pairwise(angles)]
    turn_deg = math.degrees(sum(steps))
    assert turn_deg == pytest.approx(280 if sense is Sense.CW else -280, abs=1)
    head = max(points, key=lambda p: math.dist(p, (50, 50)))
    assert points.index(head) == 29, "the head follows the end of the edge"


def test_a_kit_label_says_what_the_counter_needs() -> None:
    shown = said(lay_out(KIT, LARGE))
    for part in (
        "KIT K000042",
        "ISSUE WHOLE",
        "BR4 rev C for BR4-07",
        "CW 2 sets of BL-18 blades",
        "CCW 2 sets of BL-18 blades",
        "16 screws M3 x 8",
        "seal 004417",
        "use by 2027-03-31",
        "built A. Adler, checked B. Birk, 2026-11-20",
    ):
        assert part in shown


def test_a_small_kit_label_joins_the_senses_of_one_part_and_keeps_two_parts_apart() -> None:
    assert "CW 2 and CCW 2 sets of BL-18 blades" in said(lay_out(KIT, SMALL))
    unlike = (SetCount(Sense.CCW, 1, "BL-19"), SetCount(Sense.CW, 3, "BL-18"))
    words = replace(KIT, rotor_sets=unlike).face()
    assert words.lines[1:3] == words.short[1:3] == ("CW 3 sets of BL-18", "CCW 1 set of BL-19")


def test_no_shelf_life_and_unknown_expiry_are_two_things() -> None:
    assert "no shelf life" in replace(LOT, use_by=NoDate.NONE).face().lines
    assert "expiry unknown" in replace(LOT, use_by=NoDate.UNKNOWN).face().lines
    assert "use by 2027-01-09" in replace(LOT, use_by=date(2027, 1, 9)).face().lines


def test_a_hold_shows_white_on_black_and_says_why() -> None:
    (banner,) = (mark for mark in texts(lay_out(LOT, SMALL)) if mark.white)
    assert banner.text == "ON HOLD"
    assert LOT.face().lines[0] == "on hold: no paper"
    assert not replace(LOT, on_hold="").face().banner


def test_a_tag_shows_what_was_found_and_evidence_stands_out() -> None:
    assert replace(TAG, evidence=True).face().banner == "EVIDENCE"
    assert any(line.startswith("CW as found") for line in TAG.face().lines)
    assert any(line.startswith("sense not read") for line in replace(TAG, found_sense=None).face().lines)


def test_a_tag_says_all_that_a_removed_part_needs() -> None:
    """Part, set, airframe, position, time in service, reason, who and when (design R10)."""
    shown = said(lay_out(TAG, SMALL))
    for part in (
        TAG.part,
        TAG.rotor_set,
        TAG.airframe,
        TAG.position,
        TAG.time_in_service,
        TAG.reason,
        TAG.removed_by,
    ):
        assert part in shown
    assert TAG.removed_on.isoformat() in shown


def test_a_kit_too_long_for_its_stock_is_refused_with_one_that_fits() -> None:
    long = replace(KIT, fasteners=tuple(f"{n} screws M3 x {n} of lot {n:06}" for n in range(4, 12)))
    with pytest.raises(PrintError) as refused:
        lay_out(long, SMALL)
    advice = re.search(r"use (\S+)\.$", str(refused.value))
    assert advice is not None
    assert "K000042" in str(refused.value)
    check_drawing(lay_out(long, stock_named(advice[1])), stock_named(advice[1]))


def test_what_fits_on_no_stock_is_told_to_be_shorter() -> None:
    with pytest.raises(PrintError, match="shorten its words"):
        lay_out(replace(KIT, positions="x" * 5000), LARGE)


def test_bars_that_would_be_too_fine_are_refused_with_a_stock_that_fits() -> None:
    """48 letters take 11 modules each: 585 with start, check, stop and quiet zones, 1170 dots at the least."""
    label = PersonLabel(code="P" * 48, name="A")
    with pytest.raises(PrintError, match=r"use roll-100x50@300"):
        lay_out(label, STOCKS["roll-62x29@300"])


@pytest.mark.parametrize(
    "name", ["李雷", "سارة", "שרה", "A\u0301\u0323X", "A\x1bB", "A\u202eB", "\U0001f681"]
)
def test_what_the_typeface_cannot_print_is_refused_and_named(name: str) -> None:
    with pytest.raises(PrintError, match=r"U\+[0-9A-F]{4,5} "):
        lay_out(PersonLabel(code="P000003-D", name=name), LARGE)


@pytest.mark.parametrize(
    ("label", "field"),
    [
        (PersonLabel(code="P000003-D", name="A", roles=("clerk", "検査")), "roles"),
        (replace(TAG, reason="سقوط"), "reason"),
        (replace(KIT, rotor_sets=(SetCount(Sense.CW, 2, "桨"),)), "part"),
        (Copy(replace(LOT, supplier_lot="批1"), 2), "supplier lot"),
    ],
)
def test_the_field_that_cannot_be_printed_is_named_with_its_characters(label: Label, field: str) -> None:
    """Chinese, Japanese and right-to-left writing are refused: boxes or turned letters would say something else."""
    with pytest.raises(PrintError, match=rf", {field}, can't be printed: .* has U\+[0-9A-F]{{4}} .*Latin"):
        lay_out(label, LARGE)


def test_letters_in_two_parts_are_printed_as_one() -> None:
    assert "Łódź" in said(lay_out(PersonLabel(code="P000003-D", name="Ło\u0301dz\u0301"), LARGE))


def test_figures_of_the_typeface_are_those_of_its_file() -> None:
    widths = set(face().charWidths.values())
    assert max(widths) == min(widths) == pytest.approx(ADVANCE_EM * 1000)
    font = ImageFont.truetype(str(font_file()), 2048)
    assert font.getname()[0] == FAMILY
    assert font.getlength("W") == ADVANCE_EM * 2048
    assert -font.getbbox("H", anchor="ls")[1] == CAP_HEIGHT_EM * 2048
    assert -font.getbbox("bdfhklß(|", anchor="ls")[1] <= RISE_EM * 2048
    assert -font.getbbox("ŹÅĆ", anchor="ls")[1] <= (RISE_EM + 0.07) * 2048
    assert font.getbbox("gjpyĄ", anchor="ls")[3] <= (LINE_EM - RISE_EM) * 2048


def test_text_in_a_pdf_can_be_copied_out() -> None:
    person = PersonLabel(code="P000003-D", name="Żaneta Łuk-Müller", roles=("inspector",))
    (page,) = page_text(labels_pdf([person], LARGE))
    assert page.split() == ["PERSON", "P000003-D", "Żaneta", "Łuk-Müller", "inspector"]


def test_the_same_labels_give_the_same_bytes() -> None:
    assert labels_pdf([KIT, LOT], SMALL) == labels_pdf([KIT, LOT], SMALL)
    assert label_png(KIT, SMALL) == label_png(KIT, SMALL)


def test_a_png_has_a_pixel_to_each_dot_and_knows_its_resolution() -> None:
    with Image.open(BytesIO(label_png(KIT, SMALL))) as picture:
        assert picture.size == (SMALL.width_dots, SMALL.height_dots)
        assert picture.mode == "1"
        assert picture.info["dpi"] == pytest.approx((203, 203), abs=0.02)


def test_an_svg_is_paper_size_and_its_text_is_data_not_markup() -> None:
    label = PersonLabel(code="P000003-D", name='<b>&"Tom"</b>')
    root = ET.fromstring(label_svg(label, LARGE))  # noqa: S314 - our own text
    assert [element.text for element in root.iter(f"{SVG}text")] == ["PERSON P000003-D", '<b>&"Tom"</b>']
    assert not list(root.iter(f"{SVG}b"))
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(100, abs=LARGE.dot_um / 1000)
    bars = [path.attrib["d"] for path in root.iter(f"{SVG}path")]
    assert [path.count("z") for path in bars] == [modules(label.code).count("01") + 1]


@pytest.mark.parametrize("label", SETS, ids=lambda label: label.sense)
def test_an_svg_shows_the_sense_twice_once_turned(label: RotorSetLabel) -> None:
    root = ET.fromstring(label_svg(label, LARGE))  # noqa: S314 - our own text
    words = [element for element in root.iter(f"{SVG}text") if element.text == label.sense.value]
    x, y = words[1].attrib["x"], words[1].attrib["y"]
    assert [word.attrib.get("transform") for word in words] == [None, f"rotate(180 {x} {y})"]
    assert len(list(root.iter(f"{SVG}polygon"))) == 2


def test_an_svg_banner_is_white_on_a_black_box() -> None:
    root = ET.fromstring(label_svg(KIT, LARGE))  # noqa: S314 - our own text
    (banner,) = (element for element in root.iter(f"{SVG}text") if element.attrib.get("fill") == "#fff")
    assert banner.text == "ISSUE WHOLE"
    box = list(root.iter(f"{SVG}rect"))[-1].attrib
    assert float(box["x"]) < float(banner.attrib["x"])
    assert float(box["y"]) < float(banner.attrib["y"]) < float(box["y"]) + float(box["height"])


def test_a_sheet_starts_where_told_and_runs_on_to_the_next_page() -> None:
    stock = STOCKS["sheet-a4-2x7@300"]
    assert stock.sheet is not None
    labels = list(LABELS.values())[:3]
    first, second = by_pdfium(labels_pdf(labels, stock, start=13), dpi=300)
    placed = {found.text: found.position for page in (first, second) for found in symbols(page)}
    assert len(symbols(first)) == 2
    assert len(symbols(second)) == 1
    dots_per_mm = 300 / 25.4
    for label, column, row in zip(labels, (0, 1, 0), (6, 6, 0), strict=True):
        corner = placed[label.face().code]
        middle_mm = (corner.top_left.x + corner.top_right.x) / 2 / dots_per_mm
        assert middle_mm == pytest.approx(4.65 + 99.1 / 2 + column * (99.1 + 2.5), abs=0.3)
        bottom_mm = corner.bottom_left.y / dots_per_mm
        assert bottom_mm == pytest.approx(15.15 + (row + 1) * 38.1 - 2, abs=0.5)


@pytest.mark.parametrize(
    ("key", "start"), [("sheet-a4-2x7@300", 0), ("sheet-a4-2x7@300", 15), ("roll-50x25@203", 2)]
)
def test_a_place_that_the_paper_lacks_is_refused(key: str, start: int) -> None:
    with pytest.raises(PrintError, match=rf"no place {start}; start at 1 to "):
        labels_pdf([KIT], STOCKS[key], start=start)


def test_nothing_to_print_is_refused() -> None:
    with pytest.raises(PrintError, match="no label"):
        labels_pdf([], SMALL)


WORDS = st.text(st.characters(codec="latin-1", exclude_categories=["Cc", "Cf"]), max_size=60)


@settings(max_examples=150, deadline=None)
@given(
    name=WORDS,
    roles=st.lists(WORDS, max_size=6),
    key=st.sampled_from(sorted(STOCKS)),
    symbol=st.sampled_from(Symbol),
    sense=st.sampled_from([None, *Sense]),
)
def test_any_words_are_printed_whole_or_refused(
    name: str, roles: list[str], key: str, symbol: Symbol, sense: Sense | None
) -> None:
    label = _Anything(Face(kind="piece", code="U000007-T", lines=(name, *roles), sense=sense))
    try:
        drawing = lay_out(label, STOCKS[key], symbol=symbol)
    except PrintError as refused:
        assert re.search(r"(use \S+|shorten its words)\.$", str(refused))  # noqa: PT017 - either may happen
        return
    check_drawing(drawing, STOCKS[key])
    shown = "".join(said(drawing).split())
    for line in (name, *roles):
        assert "".join(line.split()) in shown


class _Anything:
    def __init__(self, words: Face) -> None:
        self.words = words

    def face(self) -> Face:
        return self.words


def test_specimens_hold_every_kind_of_label() -> None:
    """Label classes are found by their name, so that a new one without a specimen shows."""
    from kittrack.printing import contents

    kinds = {name for name in vars(contents) if name.endswith("Label") and name != "Label"}
    assert {type(label).__name__ for label in specimens.specimen_labels()} == kinds
    assert isinstance(LABELS["PieceLabel-U000007-T"], PieceLabel)
