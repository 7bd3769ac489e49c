"""Goods named by labels that others published: what is read from the scan is what the store holds and finds.

Sources stand beside each label. Separators: GS 0x1D, RS 0x1E, EOT 0x04.
"""

from collections.abc import Iterator
from datetime import date

import pytest

from kittrack.domain.dates import Expiry
from kittrack.domain.scan_result import Scan
from kittrack.domain.scans import read_scan
from kittrack.errors import NotFound, Refused
from kittrack.queries.recall import recall_account
from kittrack.services import inspecting, receiving
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceSpec
from kittrack.store.database import Store
from kittrack.store.records import Lot, Piece, ReceiptLine
from tests.factories import CLERK, CW_BLADE, T0, after, assert_conserved

TODAY = T0.date()
MAKER = "Invented Rotors"
CERTIFICATE = PaperSpec("certificate of conformity", "C-1", MAKER)

# (label, lot, expiry). GTINs are of GS1's documentation prefix 952.
LOTS = (
    # python-stdnum 2.2 encodes {01, 10, 21, 17} of this GTIN, LOT7, 42 and 2027-03-31 so
    ("01095212345432131727033110LOT7\x1d2142", "LOT7", date(2027, 3, 31)),
    # python-stdnum 2.2 reads this as 01, 10 and 21
    ("010952123454321310LOT7\x1d2142", "LOT7", None),
    # a public bug report of a bar code reader: two elements with an AIM prefix
    ("]C190MPT000341\x1d10R20060043", "R20060043", None),
    # day 00 is the last day of its month (GS1 Denmark: 990800 is the end of August 1999); no leap day in 2026
    ("]C101095212345432131726080010LOT8", "LOT8", date(2026, 8, 31)),
    # MIL-STD-130N table A-II, construct 2 with 1T in place of 1P; ISO/IEC 15434 envelope, format 06
    ("[)>\x1e06\x1d17V0CVA5\x1d1T0042\x1dS786950\x1e\x04", "0042", None),
)  # fmt: skip

# (label, serial, unique item identifier). Both are printed in a maker's guide after the DoD "UID 101".
SERIALS = (
    ("[)>\x1eDD\x1dMFR 0CVA5\x1dSER 786950\x1e\x04", "786950", "D0CVA5786950"),
    ("[)>\x1e06\x1d12V194532636\x1d1P1234\x1dS786950\x1e\x04", "786950", "UN1945326361234786950"),
)


@pytest.fixture
def conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def line_of(scan: Scan) -> LineSpec:
    expiry = scan.fields.expiry
    return LineSpec(
        part=CW_BLADE,
        quantity=4,
        lot_code=scan.fields.lot,
        expiry=Expiry.limited(expiry) if expiry else Expiry.unlimited(),
        papers=(CERTIFICATE,),
        raw_scan=scan.raw,
    )


def take_in(store: Store, label: str, *, supplier: str = MAKER, minute: int = 1) -> str:
    scan = read_scan(label, today=TODAY)
    assert scan.is_sure, scan
    done = receiving.receive(
        store, supplier=supplier, reference="DN-1", lines=[line_of(scan)], by=CLERK, at=after(minute)
    )
    return done.codes[1]


@pytest.mark.usefixtures("conserved")
@pytest.mark.parametrize(("label", "lot", "expiry"), LOTS)
def test_a_lot_is_received_found_and_accounted_for_as_its_label_says(
    store: Store, label: str, lot: str, expiry: date | None
) -> None:
    take_in(store, label)
    with store.reading() as read:
        assert read.get(Lot, 1).lot_code == lot
        line = read.get(ReceiptLine, 1)
    assert (line.raw_scan, line.expires_on) == (label, expiry.isoformat() if expiry else None)
    account = recall_account(store, lot_code=lot)
    assert account.received == 4
    for near in (lot.lower(), lot.lstrip("0") + "0", f" {lot}"):
        if near != lot:
            with pytest.raises(NotFound):
                recall_account(store, lot_code=near)


@pytest.mark.usefixtures("conserved")
def test_the_labels_of_one_lot_are_one_lot_and_of_another_supplier_are_another(store: Store) -> None:
    first, second = LOTS[0][0], LOTS[1][0]
    take_in(store, first)
    take_in(store, second, minute=2)
    take_in(store, first, supplier="Invented Supplies", minute=3)
    with store.reading() as read:
        assert [line.lot_id for line in read.select(ReceiptLine)] == [1, 1, 2]
    assert recall_account(store, lot_code="LOT7").received == 12


@pytest.mark.usefixtures("conserved")
@pytest.mark.parametrize(("label", "serial", "uii"), SERIALS)
def test_a_serial_is_kept_and_found_as_its_label_says(
    store: Store, label: str, serial: str, uii: str
) -> None:
    scan = read_scan(label, today=TODAY)
    assert (scan.fields.serial, scan.fields.uii) == (serial, uii)
    line = take_in(store, LOTS[0][0])
    spec = PieceSpec(serial=scan.fields.serial, mark="R")
    inspecting.inspect_pieces(store, line=line, pieces=[spec], by=CLERK, at=after(2))
    with store.reading() as read:
        assert read.get(Piece, 1).serial == serial
    assert recall_account(store, part=CW_BLADE, serials=(serial, serial)).received == 1
    with pytest.raises(Refused) as refused:
        inspecting.inspect_pieces(store, line=line, pieces=[spec], by=CLERK, at=after(3))
    assert refused.value.rules == {"R16"}


@pytest.mark.parametrize(
    "label",
    [
        # python-stdnum's own documentation; the GS1 Syntax Dictionary excludes 01 with 37
        "(01)38425876095074(17)181119(37)1",
        # month 70, out of a public bug report
        "(01)01234567890128(15)057072",
    ],
)
def test_a_label_that_its_standard_forbids_fills_no_form(label: str) -> None:
    assert read_scan(label, today=TODAY).problems


def test_a_lost_separator_is_asked_about_and_never_becomes_a_lot(store: Store) -> None:
    """`AB` + 17 + 260430 without its separator: a reader that trusts it books a lot without its expiry."""
    scan = read_scan("010952123454321310AB17260430", today=TODAY)
    assert scan.questions
    assert scan.fields.lot is None
    (settled,) = [
        scan.answered(q, choice=c)
        for q in scan.questions
        for c in q.choices
        if dict(c.fields).get("lot") == "AB"
    ]
    receiving.receive(
        store, supplier=MAKER, reference="DN-1", lines=[line_of(settled)], by=CLERK, at=after(1)
    )
    with store.reading() as read:
        assert (read.get(Lot, 1).lot_code, read.get(ReceiptLine, 1).expires_on) == ("AB", "2026-04-30")
