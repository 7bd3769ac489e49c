"""Goods-in: what a delivery becomes, what keeps it on hold, and that one bad line stops all of it."""

from dataclasses import replace
from datetime import date

import pytest

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import PlaceKind
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.services import receiving
from kittrack.services.desk import Done
from kittrack.services.line_standing import line_view
from kittrack.services.receiving import LineSpec, PaperSpec
from kittrack.store.database import Store
from kittrack.store.records import Company, Delivery, Lot, Paper, PaperKind, Part, ReceiptLine
from kittrack.store.stock import contents, end_place
from tests.factories import CCW_BLADE, CLERK, CW_BLADE, LOCKER, MANAGER, SCREW, TECHNICIAN, after

MAKER, OTHER = "Invented Rotors", "Invented Supplies"
CERTIFICATE = PaperSpec("certificate of conformity", "C-77", MAKER)
BLADES = LineSpec(CW_BLADE, 8, "0042", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))
SCREWS = LineSpec(SCREW, 64, "S-9", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))
BOTTLES = LineSpec(
    LOCKER, 20_000, "TL1", expiry=Expiry.limited(date(2027, 3, 31)), papers=(CERTIFICATE,), unit="volume_ul"
)


def take_in(
    store: Store, *lines: LineSpec, supplier: str = MAKER, reference: str = "DN-1", minute: int = 1
) -> Done:
    return receiving.receive(
        store, supplier=supplier, reference=reference, lines=lines, by=CLERK, at=after(minute)
    )


def lots_of(store: Store) -> list[tuple[int, int, str | None]]:
    with store.reading() as read:
        return [(lot.part_id, lot.supplier_id, lot.lot_code) for lot in read.select(Lot)]


def test_a_delivery_lies_on_hold_in_goods_in(store: Store) -> None:
    done = take_in(store, BLADES, SCREWS, BOTTLES)
    with store.reading() as read:
        delivery = read.find(Delivery, code=done.codes[0])
        lines = read.select(ReceiptLine)
        held = contents(read, end_place(read, PlaceKind.GOODS_IN).id)
    assert delivery is not None
    assert delivery.reference == "DN-1"
    assert [line.code for line in lines] == list(done.codes[1:])
    assert [(h.receipt_line_id, h.quantity, h.condition) for h in held] == [
        (1, 8, "on hold"), (2, 64, "on hold"), (3, 20_000, "on hold"),
    ]  # fmt: skip
    assert (lines[2].expiry_kind, lines[2].expires_on, lines[0].expiry_kind) == ("date", "2027-03-31", "none")


def test_an_unknown_shelf_life_is_told_when_the_line_comes_in_and_comes_before_the_inspection(
    store: Store,
) -> None:
    done = take_in(store, replace(SCREWS, expiry=Expiry.unknown()))
    [code] = done.codes[1:]
    assert done.said[0].startswith("1 line of Invented Rotors is on hold")
    assert any(f"The shelf life of {code}" in said and "or none" in said for said in done.said)
    assert line_view(store, line=code, at=after(2)).next_step == "record its shelf life"
    receiving.record_expiry(store, line=code, expiry=Expiry.unlimited(), source="C-77", by=CLERK, at=after(3))
    assert line_view(store, line=code, at=after(4)).next_step == "inspect it"


def test_what_came_in_is_what_the_supplier_gave(store: Store) -> None:
    take_in(store, BLADES, SCREWS)
    with store.reading() as read:
        sums = read.rows(
            "SELECT receipt_line_id, sum(quantity), max(quantity) FROM holding GROUP BY 1 ORDER BY 1"
        )
    assert [tuple(int(v) for v in row) for row in sums] == [(1, 0, 8), (2, 0, 64)]


def test_a_lot_code_survives_character_by_character(store: Store) -> None:
    codes = ["0042", "42", "1E5", "lot a", "LOT A", "O0I1"]
    take_in(store, *(replace(BLADES, lot_code=code) for code in codes))
    assert [code for _, _, code in lots_of(store)] == codes


def test_the_same_lot_delivered_twice_is_one_lot_of_two_lines(store: Store) -> None:
    take_in(store, BLADES)
    take_in(store, BLADES, reference="DN-2", minute=2)
    with store.reading() as read:
        assert [line.lot_id for line in read.select(ReceiptLine)] == [1, 1]


def test_the_same_code_of_two_suppliers_or_two_parts_is_two_lots(store: Store) -> None:
    take_in(store, BLADES, replace(BLADES, part=CCW_BLADE))
    take_in(store, BLADES, supplier=OTHER, minute=2)
    assert len(lots_of(store)) == 3


def test_unknown_lots_are_never_one_lot(store: Store) -> None:
    unknown = replace(BLADES, lot_code=None)
    done = take_in(store, unknown, unknown)
    take_in(store, unknown, reference="DN-2", minute=2)
    assert [code for _, _, code in lots_of(store)] == [None, None, None]
    assert sum("no lot code" in sentence for sentence in done.said) == 2


def test_a_delivery_note_taken_in_before_is_told(store: Store) -> None:
    first = take_in(store, BLADES)
    again = take_in(store, BLADES, minute=2)
    assert any(first.codes[0] in sentence for sentence in again.said)


def test_every_bad_line_is_told_and_nothing_is_recorded(store: Store) -> None:
    bad = (
        replace(BLADES, part="NO-SUCH"),
        replace(BLADES, quantity=0),
        BLADES,
        replace(BLADES, lot_code=" "),
        replace(BLADES, made_on=date(2027, 1, 1)),
        replace(SCREWS, unit="volume_ul"),
        replace(BOTTLES, unit="pieces"),
        replace(BOTTLES, made_on=date(2026, 1, 1), expiry=Expiry.limited(date(2025, 1, 1))),
        replace(BLADES, papers=(PaperSpec("", "1", "x"),)),
        replace(BLADES, raw_scan="a\0b", row=77),
        replace(BLADES, quantity=10**15),
    )
    with pytest.raises(BadInput) as refused:
        take_in(store, *bad)
    assert [(p.row, p.field) for p in refused.value.problems] == [
        (1, "part"), (2, "quantity"), (4, "lot"), (5, "made"), (6, "quantity"), (7, "quantity"), (8, "expires"),
        (9, "paper kind"), (77, "scan"), (11, "quantity"),
    ]  # fmt: skip
    with store.reading() as read:
        assert not read.select(Delivery) + read.select(Lot) + read.select(ReceiptLine)


@pytest.mark.parametrize(
    ("supplier", "reference", "lines", "field"),
    [
        ("Nobody", "DN-1", (BLADES,), "supplier"),
        (MAKER, "", (BLADES,), "reference"),
        (MAKER, "DN\x1b[2J", (BLADES,), "reference"),
        (MAKER, "DN-1", (), "lines"),
        (MAKER, "DN-1", (BLADES,) * 5001, "lines"),
    ],
)
def test_a_delivery_needs_a_supplier_a_reference_and_lines(
    store: Store, supplier: str, reference: str, lines: tuple[LineSpec, ...], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        take_in(store, *lines, supplier=supplier, reference=reference)
    assert [p.field for p in refused.value.problems] == [field]


def test_a_company_that_does_not_supply_delivers_nothing(store: Store) -> None:
    with store.act("add a company", by=MANAGER, at=after(1)) as act:
        act.insert(Company(name="Owner", is_supplier=0))
    with pytest.raises(BadInput):
        take_in(store, BLADES, supplier="Owner", minute=2)


def test_a_part_number_of_two_makers_is_asked_for(store: Store) -> None:
    with store.act("add a part", by=MANAGER, at=after(1)) as act:
        other = act.find(Company, name=OTHER)
        assert other is not None
        act.insert(
            Part(number=SCREW, maker_id=other.id, name="screw", kind="fastener", paper_class="standard part")
        )
    with pytest.raises(BadInput) as refused:
        take_in(store, SCREWS, minute=2)
    assert [p.field for p in refused.value.problems] == ["part"]
    take_in(store, replace(SCREWS, maker=OTHER), minute=3)
    with store.reading() as read:
        assert read.get(Lot, 1).maker_id == 2


def test_who_is_neither_clerk_nor_manager_receives_nothing(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        receiving.receive(
            store, supplier=MAKER, reference="DN-1", lines=(BLADES,), by=TECHNICIAN, at=after(1)
        )
    assert refused.value.rules == {"role"}


# ---- paper -------------------------------------------------------------------------------------


def test_a_line_without_paper_says_so_and_another_kind_does_not_suffice(store: Store) -> None:
    letter = PaperSpec("letter", "1", MAKER)
    done = take_in(store, replace(BLADES, papers=()), replace(BLADES, papers=(letter,)), BLADES)
    lacking = [
        code for code in done.codes[1:] if any(code in s and "no sufficient paper" in s for s in done.said)
    ]
    assert lacking == list(done.codes[1:3])


def test_a_paper_can_be_attached_later(store: Store) -> None:
    line = take_in(store, replace(BLADES, papers=())).codes[1]
    wrong = receiving.attach_paper(
        store, line=line, paper=PaperSpec("letter", "1", MAKER), by=CLERK, at=after(2)
    )
    right = receiving.attach_paper(store, line=line, paper=CERTIFICATE, by=CLERK, at=after(3))
    assert "no sufficient paper" in wrong.said[0]
    assert "inspect" in right.said[0]
    with store.reading() as read:
        assert [(p.kind, p.number) for p in read.select(Paper)] == [
            ("letter", "1"), ("certificate of conformity", "C-77"),
        ]  # fmt: skip


def test_a_paper_needs_kind_number_and_issuer(store: Store) -> None:
    line = take_in(store, BLADES).codes[1]
    with pytest.raises(BadInput) as refused:
        receiving.attach_paper(store, line=line, paper=PaperSpec("", " ", "\x07"), by=CLERK, at=after(2))
    assert {p.field for p in refused.value.problems} == {"paper kind", "paper number", "paper issuer"}
    with pytest.raises(NotFound):
        receiving.attach_paper(
            store,
            line=codes.make_code(
                codes.Kind.RECEIPT_LINE, codes.next_number(codes.Kind.RECEIPT_LINE, after=900)
            ),
            paper=CERTIFICATE,
            by=CLERK,
            at=after(2),
        )


def test_a_manager_accepts_without_paper_only_where_the_class_names_that(store: Store) -> None:
    line = take_in(store, replace(BLADES, papers=())).codes[1]

    def accept(minute: int, by: str = MANAGER) -> None:
        receiving.accept_without_paper(store, line=line, reason="known maker", by=by, at=after(minute))

    with pytest.raises(Refused) as refused:
        accept(2)
    assert refused.value.rules == {"R14"}
    with store.act("name a kind of paper", by=MANAGER, at=after(3)) as act:
        act.insert(PaperKind(paper_class="rotor", kind=receiving.ACCEPTANCE))
    with pytest.raises(Refused) as refused:
        accept(4, by=CLERK)
    assert refused.value.rules == {"role"}
    accept(5)
    with store.reading() as read:
        paper = read.find(Paper, kind=receiving.ACCEPTANCE)
    assert paper is not None
    assert paper.issuer == MANAGER


def test_nobody_passes_off_an_acceptance_as_a_document(store: Store) -> None:
    with pytest.raises(BadInput):
        take_in(store, replace(BLADES, papers=(PaperSpec(receiving.ACCEPTANCE, "1", CLERK),)))


# ---- expiry ------------------------------------------------------------------------------------


@pytest.mark.parametrize("expiry", [Expiry.unknown(), Expiry.unlimited()])
def test_a_part_that_needs_an_expiry_and_has_none_says_so_until_it_is_recorded(
    store: Store, expiry: Expiry
) -> None:
    done = take_in(store, replace(BOTTLES, expiry=expiry))
    assert any("needs an expiry date" in sentence for sentence in done.said)
    good = Expiry.limited(date(2027, 3, 31))
    receiving.record_expiry(
        store, line=done.codes[1], expiry=good, source="maker's letter 3", by=CLERK, at=after(2)
    )
    with store.reading() as read:
        assert read.get(ReceiptLine, 1).expires_on == "2027-03-31"


def test_no_expiry_is_no_answer_for_a_part_that_needs_one(store: Store) -> None:
    line = take_in(store, replace(BOTTLES, expiry=Expiry.unknown())).codes[1]
    with pytest.raises(Refused) as refused:
        receiving.record_expiry(
            store, line=line, expiry=Expiry.unlimited(), source="label", by=CLERK, at=after(2)
        )
    assert refused.value.rules == {"R13"}


def test_a_known_expiry_is_not_typed_over(store: Store) -> None:
    line = take_in(store, BOTTLES).codes[1]
    with pytest.raises(Refused) as refused:
        receiving.record_expiry(
            store, line=line, expiry=Expiry.limited(date(2030, 1, 1)), source="x", by=CLERK, at=after(2)
        )
    assert refused.value.rules == {"R20"}


def test_a_cure_date_gives_the_expiry_by_the_shelf_life_of_the_part(store: Store) -> None:
    """730 days after 2026-01-15, counted on a calendar: 2028-01-15 (2027 has no leap day)."""
    take_in(store, replace(BOTTLES, expiry=Expiry.unknown(), made_on=date(2026, 1, 15)))
    with store.reading() as read:
        assert read.get(ReceiptLine, 1).expires_on == "2028-01-15"


def test_what_is_expired_when_it_comes_is_told(store: Store) -> None:
    last = replace(BOTTLES, expiry=Expiry.limited(date(2026, 3, 2)))
    gone = replace(BOTTLES, expiry=Expiry.limited(date(2026, 3, 1)))
    done = take_in(store, last, gone)
    assert [code for code in done.codes[1:] if any(code in s and "expired" in s for s in done.said)] == [
        done.codes[2]
    ]


def test_a_part_superseded_for_safety_is_told(store: Store) -> None:
    with store.act("supersede", by=MANAGER, at=after(1)) as act:
        act.update(act.get(Part, 1), superseded_how="safety")
    done = take_in(store, BLADES, minute=2)
    assert any("superseded for safety" in sentence for sentence in done.said)


def test_a_scan_is_kept_as_it_was_read(store: Store) -> None:
    scan = "]C1010952123454321310LOT7\x1d2142"
    take_in(store, replace(BLADES, raw_scan=scan))
    with store.reading() as read:
        assert read.get(ReceiptLine, 1).raw_scan == scan
