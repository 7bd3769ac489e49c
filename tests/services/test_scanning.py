"""Receipt lines from the labels of boxes: every standard fills Goods-in, nothing is lost, nothing doubtful is kept."""

from dataclasses import replace
from datetime import date

import pytest

from kittrack.domain.boxes import read_box, read_sent, still_asked
from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.domain.dates import Expiry
from kittrack.domain.scan_result import Scan
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.errors import BadInput
from kittrack.queries.scanned import what_was_read
from kittrack.services import inspecting, scanning
from kittrack.services.booking import PaperSpec
from kittrack.services.inspecting import PieceSpec
from kittrack.services.scanning import ScannedBox, Typed, line_from_scans
from kittrack.store.database import Store
from kittrack.store.records import Lot, Part, ReceiptLine
from tests.factories import CLERK, CW_BLADE, INSPECTOR, LOCKER, SCREW, T0, after, assert_conserved

TODAY = T0.date()
GTIN = "09521234543213"  # GS1's documentation prefix 952; its check digit holds
MAKER = "Invented Rotors"
WHOLE = Typed(part=CW_BLADE, quantity=4, lot="L-1", expiry=Expiry.unlimited())

# A box of ten blades by each standard; separators GS 0x1D, RS 0x1E, EOT 0x04. The forms are those of GS1 General
# Specifications, GS1 Digital Link, ANSI MH10.8.2 in and out of ISO/IEC 15434, and MIL-STD-130N.
BOXES = {
    "GS1 in one code": (f"]C101{GTIN}17270331240{CW_BLADE}\x1d3010\x1d10LOT-7",),
    "GS1 in two codes": (f"]C101{GTIN}17270331", f"]C1240{CW_BLADE}\x1d3010\x1d10LOT-7"),
    "GS1 with a stand-in": (f"01{GTIN}17270331240{CW_BLADE}<GS>3010<GS>10LOT-7",),
    "GS1 in brackets": (f"(01){GTIN}(17)270331(240){CW_BLADE}(30)10(10)LOT-7",),
    "GS1 Digital Link": (f"https://example.com/01/{GTIN}/10/LOT-7?17=270331&240={CW_BLADE}&30=10",),
    "MH10.8.2 in an envelope": (f"[)>\x1e06\x1d1P{CW_BLADE}\x1dQ10\x1d1TLOT-7\x1d14D20270331\x1e\x04",),
    "MH10.8.2 without an envelope": (f"1P{CW_BLADE}\x1dQ10\x1d1TLOT-7\x1d14D20270331",),
    "GS1 and a maker's matrix": (
        f"]C101{GTIN}17270331",
        f"]d1[)>\x1e06\x1d1P{CW_BLADE}\x1dQ10\x1d1TLOT-7\x1e\x04",
    ),
}


def scans(*texts: str, settings: ScannerSettings | None = None) -> list[Scan]:
    return [read_sent(text, today=TODAY, settings=settings or ScannerSettings()) for text in texts]


@pytest.mark.parametrize("texts", BOXES.values(), ids=BOXES)
def test_a_suppliers_label_of_each_standard_fills_goods_in(store: Store, texts: tuple[str, ...]) -> None:
    done = scanning.receive_scanned(
        store, boxes=[ScannedBox(texts)], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1)
    )
    with store.reading() as read:
        line = read.find(ReceiptLine, code=done.codes[1])
        assert line is not None
        assert read.get(Part, line.part_id).number == CW_BLADE
        assert read.get(Lot, line.lot_id).lot_code == "LOT-7"
    assert (line.quantity, line.unit, line.expires_on) == (10, "pieces", "2027-03-31")
    assert line.raw_scan == "\n".join(texts)
    assert_conserved(store)


def test_text_elements_fill_what_they_have_and_the_rest_is_typed(store: Store) -> None:
    # MIL-STD-130N: enterprise, original part number, lot unique in the part, serial within the part
    text = f"[)>\x1eDD\x1dMFR 0CVA5\x1dPNO {CW_BLADE}\x1dLOT 0042\x1dSEQ 786950\x1e\x04"
    found = line_from_scans(scans(text), typed=Typed(quantity=1, expiry=Expiry.unlimited()))
    assert (found.line.part, found.line.lot_code, found.serial) == (CW_BLADE, "0042", "786950")
    assert any("786950" in warning for warning in found.warnings)
    shown = what_was_read(store, scans=[text], at=after(1))
    assert {(row.what, row.value) for row in shown.rows} >= {
        ("maker code", "0CVA5"),
        ("uii", "D0CVA5RB-18-CW786950"),
    }


@pytest.mark.parametrize("texts", BOXES.values(), ids=BOXES)
def test_every_field_that_was_read_has_its_row(texts: tuple[str, ...]) -> None:
    box = read_box(scans(*texts))
    for at, scan in enumerate(box.scans, 1):
        rows = [row for row in box.rows if row.scan == at]
        assert len(rows) == len(scan.fields.found()) + len(scan.others)
        assert all(row.fills for row in rows)


def test_a_lost_separator_is_asked_and_never_kept(store: Store) -> None:
    text = f"01{GTIN}10AB17270430"
    box = ScannedBox((text,), Typed(part=CW_BLADE, quantity=4))
    shown = what_was_read(store, scans=[text], at=after(1))
    assert [len(asked.choices) for asked in shown.questions] == [2]
    assert not {"lot", "expiry"} & {row.what for row in shown.rows}
    with pytest.raises(BadInput, match="Type the right one"):
        scanning.receive_scanned(store, boxes=[box], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1))
    typed = replace(box.typed, lot="AB", expiry=Expiry.limited(date(2027, 4, 30)))
    scanning.receive_scanned(
        store, boxes=[replace(box, typed=typed)], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1)
    )
    with store.reading() as read:
        line = read.get(ReceiptLine, 1)
        assert read.get(Lot, 1).lot_code == "AB"
    assert (line.expires_on, line.raw_scan) == ("2027-04-30", text)


def test_a_plain_text_is_asked_until_typed_as_what_it_is() -> None:
    box = read_box(scans("LOT-7"))
    assert [len(still_asked(box, given=given)) for given in ({}, {"lot": "LOT-8"}, {"lot": "LOT-7"})] == [
        1,
        1,
        0,
    ]
    with pytest.raises(BadInput, match="does not say what it is"):
        line_from_scans(scans("LOT-7"), typed=replace(WHOLE, part="", lot=""))
    assert line_from_scans(scans("LOT-7"), typed=replace(WHOLE, lot="LOT-7")).line.lot_code == "LOT-7"


@pytest.mark.parametrize("text", ["S1234", "1TLOT-7", "Q40"])
def test_a_lone_identifier_is_asked(text: str) -> None:
    box = read_box(scans(text))
    assert len(box.questions) == 1
    assert not box.fields.found()
    assert len(box.questions[0].question.choices) == 5


@pytest.mark.parametrize(
    ("first", "second", "field"),
    [
        ("]C1240A\x1d10LOT-7", "]C110LOT-8", "lot"),
        (f"]C101{GTIN}17270331", f"]C101{GTIN}17270401", "expiry"),
        (f"]C1240{CW_BLADE}", "]C1240RB-18-CCW", "part_number"),
    ],
)
def test_codes_of_one_box_that_contradict_each_other_are_refused(first: str, second: str, field: str) -> None:
    box = read_box(scans(first, second))
    assert field in {problem.field for problem in box.problems}
    assert getattr(box.fields, field) is None
    with pytest.raises(BadInput):
        line_from_scans(scans(first, second), typed=WHOLE)


@pytest.mark.parametrize(
    "typed",
    [
        replace(WHOLE, lot="LOT-8", expiry=None),
        replace(WHOLE, lot="", is_lot_unknown=True, expiry=None),
        replace(WHOLE, lot="", expiry=Expiry.limited(date(2027, 4, 1))),
        replace(WHOLE, lot="", expiry=Expiry.unlimited()),
        replace(WHOLE, lot="", expiry=None, made_on=date(2025, 1, 2)),
    ],
)
def test_what_is_typed_against_the_label_is_refused(typed: Typed) -> None:
    with pytest.raises(BadInput, match="The label says"):
        line_from_scans(
            scans(f"]C101{GTIN}1127010117270331\x1d10LOT-7".replace("270101", "250101")), typed=typed
        )


def test_a_count_and_a_part_number_of_ones_own_win_and_say_so() -> None:
    text = BOXES["GS1 in one code"][0]
    found = line_from_scans(scans(text), typed=Typed(part=SCREW, quantity=9))
    assert (found.line.part, found.line.quantity) == (SCREW, 9)
    assert any("10, 9 were counted" in warning for warning in found.warnings)
    assert any(f"part number {CW_BLADE}" in warning for warning in found.warnings)
    assert not any(
        "part number" in w
        for w in line_from_scans(scans(text), typed=Typed(part=f"{MAKER}: {CW_BLADE}")).warnings
    )


def test_a_best_before_date_is_no_expiry_and_is_told() -> None:
    text = BOXES["GS1 in one code"][0].replace("17270331", "15270331")
    found = line_from_scans(scans(text), typed=Typed(expiry=Expiry.unlimited()))
    assert found.line.expiry == Expiry.unlimited()
    assert any("gives 2027-03-31 as best before" in warning for warning in found.warnings)
    with pytest.raises(BadInput, match="No code of this box gives an expiry"):
        line_from_scans(scans(text), typed=Typed())


def test_everything_that_is_missing_is_named_at_once() -> None:
    with pytest.raises(BadInput) as refused:
        line_from_scans(scans(f"]C101{GTIN}"))
    assert [p.field for p in refused.value.problems] == ["part", "quantity", "lot", "expires"]


def test_a_label_of_ours_or_a_move_is_no_suppliers_label() -> None:
    code = make_code(Kind.KIT, next_number(Kind.KIT, after=41))
    with pytest.raises(BadInput, match=f"{code} is a kit of this store"):
        line_from_scans(scans(code, f"]C101{GTIN}"), typed=WHOLE)
    with pytest.raises(BadInput, match="GO AHEAD is a move"):
        line_from_scans(scans("KITPROCEED"), typed=WHOLE)
    rows = read_box(scans(code, "KITPROCEED")).rows
    assert [(row.what, row.value) for row in rows] == [("kit", code), ("move", "GO AHEAD")]


def test_every_fault_of_every_box_is_told_with_its_row_and_nothing_is_taken_in(store: Store) -> None:
    good = ScannedBox(BOXES["GS1 in one code"])
    bad = ScannedBox((f"]C101{GTIN}17270229",))  # no such day
    with pytest.raises(BadInput) as refused:
        scanning.receive_scanned(
            store, boxes=[bad, good, ScannedBox(("LOT-7",))], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1)
        )  # fmt: skip
    assert {p.row for p in refused.value.problems} == {1, 3}
    with store.reading() as read:
        assert not read.select(ReceiptLine)


def test_a_volume_is_typed_because_no_label_counts_in_millilitres(store: Store) -> None:
    typed = Typed(
        part=LOCKER,
        quantity=20_000,
        unit="volume_ul",
        papers=(PaperSpec("certificate of conformity", "C", MAKER),),
    )
    done = scanning.receive_scanned(
        store, boxes=[ScannedBox((f"]C101{GTIN}1727033110T-1",), typed)], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1)
    )  # fmt: skip
    with store.reading() as read:
        line = read.find(ReceiptLine, code=done.codes[1])
    assert line is not None
    assert (line.quantity, line.unit) == (20_000, "volume_ul")


def test_the_scanner_of_the_terminal_is_understood_and_the_raw_scan_kept() -> None:
    own = ScannerSettings("!", "#", ("^]",))
    sent = f"!01{GTIN}10LOT-7^]21S-9#\r"
    (scan,) = scans(sent, settings=own)
    assert (scan.fields.lot, scan.fields.serial, scan.raw) == ("LOT-7", "S-9", sent)
    assert scans(sent)[0].fields.serial is None


# ---- near misses: suggested, never accepted --------------------------------------------------------


def test_a_near_serial_and_a_near_lot_are_named_and_not_taken_for_the_known_ones(store: Store) -> None:
    paper = Typed(papers=(PaperSpec("certificate of conformity", "C-1", MAKER),))
    first = scanning.receive_scanned(
        store, boxes=[ScannedBox(BOXES["GS1 in one code"], paper)], supplier=MAKER, reference="DN-1", by=CLERK, at=after(1)
    )  # fmt: skip
    inspecting.inspect_pieces(
        store, line=first.codes[1], pieces=[PieceSpec("SN-0417", "R")], by=INSPECTOR, at=after(2)
    )
    texts = (f"]C101{GTIN}17270331240{CW_BLADE}\x1d301\x1d10L0T-7", f"]C101{GTIN}21SN-0471")
    shown = what_was_read(store, scans=texts, at=after(3))
    assert any("SN-0471 is near SN-0417" in words for words in shown.look_again)
    assert any("L0T-7 is near LOT-7" in words for words in shown.look_again)
    done = scanning.receive_scanned(
        store, boxes=[ScannedBox(texts)], supplier=MAKER, reference="DN-2", by=CLERK, at=after(4)
    )
    assert any("SN-0471 is near SN-0417" in words for words in done.said)
    with store.reading() as read:
        assert {lot.lot_code for lot in read.select(Lot)} == {"LOT-7", "L0T-7"}
    again = what_was_read(store, scans=[f"]C101{GTIN}21SN-0417"], at=after(5))
    assert any("is that of U" in words for words in again.look_again)
    known = f"]C101{GTIN}17270331240{CW_BLADE}\x1d301\x1d10LOT-7"  # L0T-7 is known too, and near
    assert what_was_read(store, scans=[known], at=after(6)).look_again == ()
