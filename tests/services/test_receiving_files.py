"""A delivery from a CSV file: every fault in its row and field, and nothing half loaded."""

from datetime import date

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput
from kittrack.services.receiving import LineSpec, PaperSpec
from kittrack.services.receiving_files import MOST_BYTES, read_delivery_file, receive_file
from kittrack.store.database import Store
from kittrack.store.records import Delivery, Lot, ReceiptLine
from tests.factories import CLERK, CW_BLADE, LOCKER, SCREW, after

HEADING = "part,lot,quantity,expires"


def read(text: str, *, encoding: str = "utf-8") -> tuple[LineSpec, ...]:
    return read_delivery_file(text.encode(encoding), name="delivery.csv")


def faults(text: str | bytes) -> list[tuple[int | None, str]]:
    content = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(BadInput) as refused:
        read_delivery_file(content, name="delivery.csv")
    assert {p.source for p in refused.value.problems} == {"delivery.csv"}
    assert all(p.message.endswith(".") and "\n" not in p.message for p in refused.value.problems)
    return [(p.row, p.field) for p in refused.value.problems]


def test_every_column_is_read() -> None:
    text = (
        "Part,Lot,Quantity,Expires,Maker,Made,Paper_Kind,Paper Number,PAPER ISSUER,Scan\r\n"
        "TL-10,0012,10 mL,2027-03-31,Invented Rotors,31-MAR-2026,certificate of conformity,C-1,The maker,]C1x\x1dy\r\n"
    )
    assert read(text) == (
        LineSpec(
            part="TL-10",
            quantity=10_000,
            lot_code="0012",
            expiry=Expiry.limited(date(2027, 3, 31)),
            made_on=date(2026, 3, 31),
            papers=(PaperSpec("certificate of conformity", "C-1", "The maker"),),
            maker="Invented Rotors",
            unit="volume_ul",
            raw_scan="]C1x\x1dy",
            row=2,
        ),
    )


@pytest.mark.parametrize(
    "text",
    [
        f"{HEADING}\nA,L,4,none\n",
        f"\ufeff{HEADING}\nA,L,4,none\n",
        "part;lot;quantity;expires\r\nA;L;4;none\r\n",
        "part\tlot\tquantity\texpires\nA\tL\t4\tnone",
        f"\n\n{HEADING}\n\nA, L ,4,NONE\n,,,\n",
        '"part","lot","quantity","expires"\n"A","L","4","none"\n',
        "expires,quantity,lot,part\nnone,4 pcs,L,A\n",
    ],
    ids=["plain", "byte order mark", "semicolons", "tabs", "blank rows", "quoted", "other order"],
)
def test_the_ways_in_which_spreadsheets_write_a_file(text: str) -> None:
    (line,) = read(text)
    assert (line.part, line.lot_code, line.quantity, line.expiry) == ("A", "L", 4, Expiry.unlimited())


@pytest.mark.parametrize(
    "code", ["1E5", "00123", "MAR-1", "lot a", "=1+1", "'x", "O0", "1914310000010100016"]
)
def test_a_code_stays_the_text_that_it_is(code: str) -> None:
    """Codes that spreadsheets and careless readers turn into numbers, dates and formulas."""
    assert read(f"{HEADING}\nA,{code},4,none\n")[0].lot_code == code


@pytest.mark.parametrize(
    "code", ["1.91431E+18", "1E+05", '"5,57E+92"', "3e+07", "Mar-26", "01-Mar", "#NAME?", "####"]
)
def test_what_a_spreadsheet_made_of_a_long_number_is_refused(code: str) -> None:
    """`1914310000010100016` and `314659` as two public bug reports saw them come back from a spreadsheet."""
    assert faults(f"{HEADING}\nA,{code},4,none\n") == [(2, "lot")]
    assert faults(f"{HEADING}\n{code},L,4,none\n") == [(2, "part")]


def test_a_code_that_really_reads_so_is_taken_with_an_apostrophe_in_front() -> None:
    (line,) = read(f"{HEADING}\n'#NAME?,'Mar-26,4,none\n")
    assert (line.part, line.lot_code) == ("#NAME?", "Mar-26")


def test_an_unknown_lot_is_said_to_be_unknown() -> None:
    assert read(f"{HEADING}\nA,Unknown,4,none\n")[0].lot_code is None
    assert faults(f"{HEADING}\nA,,4,none\n") == [(2, "lot")]


@pytest.mark.parametrize(
    ("quantity", "kept"),
    [("10 mL", 10_000), ('"10,5 mL"', 10_500), ("0.5 l", 500_000), ("250 uL", 250), ("12", 12)],
)
def test_a_quantity_may_have_a_decimal_comma(quantity: str, kept: int) -> None:
    assert read(f"{HEADING}\nA,L,{quantity},none\n")[0].quantity == kept


@pytest.mark.parametrize(
    "quantity",
    ["-4", "2.5", '"2,5"', "0", "", "1E3", "four", '"1,000"', "10 kg", "99999999999999999999", "inf", "٤"],
)
def test_pieces_are_whole_and_positive(quantity: str) -> None:
    assert faults(f"{HEADING}\nA,L,{quantity},none\n") == [(2, "quantity")]


@pytest.mark.parametrize("expires", ["03/04/26", "31.3.2027", "2027-02-29", "10.2026", "", "2027", "soon"])
def test_a_date_that_can_be_read_in_two_ways_is_refused(expires: str) -> None:
    assert faults(f"{HEADING}\nA,L,4,{expires}\n") == [(2, "expires")]


def test_every_fault_has_its_row_and_field() -> None:
    text = f"{HEADING},made\n,L,4,none,\nA,L,4,none,\nA,L\x1b[31m,x,none,\nA,L,4,03/04/26,1/2/26\nA,L,4\n"
    assert faults(text) == [(2, "part"), (4, "lot"), (4, "quantity"), (5, "expires"), (5, "made"), (6, "")]


@pytest.mark.parametrize(
    ("heading", "message"),
    [
        ("part,lot,quantity,expires,serial", "serial"),
        ("part,lot,quantity,expires,lot", "twice"),
        ("part,lot,quantity", "expires"),
        ("part,lot,quantity,expires,", "not known"),
        ("part,lot,quantity,expires,\x1b[2J", "<ESC>"),
    ],
)
def test_a_heading_that_can_not_be_read_is_told(heading: str, message: str) -> None:
    with pytest.raises(BadInput, match=message) as refused:
        read(f"{heading}\n")
    assert {(p.row, p.field) for p in refused.value.problems} == {(1, "heading")}


def test_half_a_paper_is_no_paper() -> None:
    text = f"{HEADING},paper kind,paper number,paper issuer\nA,L,4,none,certificate,,\nA,L,4,none,,,\n"
    assert faults(text) == [(2, "paper number"), (2, "paper issuer")]


@pytest.mark.parametrize(
    ("content", "row"),
    [
        (b"", None),
        (b"\n \n", None),
        (HEADING.encode() + b"\n", None),
        (HEADING.encode() + b"\nSchraube \xdf,L,4,none\n", 2),
        (f"{HEADING}\nA,L,4,none\n".encode("utf-16"), 1),
        (b"x" * (MOST_BYTES + 1), None),
        (HEADING.encode() + b"\n" + b"A,L,4,none\n" * 5001, None),
        (HEADING.encode() + b'\nA,"L,4,none\n', 2),
        (HEADING.encode() + b'\nA,"L"x,4,none\n', 2),
    ],
    ids=["empty", "blank", "no line", "another encoding", "utf-16", "huge", "too many lines", "open quote", "stray quote"],
)  # fmt: skip
def test_a_file_that_is_none_is_told_in_one_sentence(content: bytes, row: int | None) -> None:
    assert faults(content) == [(row, "")]


def test_no_line_is_lost_behind_blank_rows() -> None:
    assert len(read(f"{HEADING}\nA,L,4,none\n" + ",,,\n" * 20_000 + "B,L,4,none\n")) == 2


def test_a_cell_that_is_too_long_is_told() -> None:
    assert faults(f"{HEADING}\nA,{'L' * 1001},4,none\n") == [(2, "lot")]
    assert faults(f"{HEADING}\nA,{'L' * 200_000},4,none\n") == [(2, "")]


def test_faults_without_end_are_cut_with_their_number() -> None:
    with pytest.raises(BadInput) as refused:
        read(HEADING + "\nA,L,x,none" * 130)
    assert len(refused.value.problems) == 101
    assert "30 more" in refused.value.problems[-1].message


def test_a_cell_with_a_line_end_is_told_in_the_row_that_a_spreadsheet_shows() -> None:
    assert faults(f'{HEADING}\nA,"L\nM",4,none\nA,L,x,none\n') == [(2, "lot"), (3, "quantity")]


def test_a_file_is_received_as_a_delivery(store: Store) -> None:
    text = f"{HEADING}\n{CW_BLADE},0042,8,none\n{SCREW},unknown,64,none\n{LOCKER},TL1,10 mL,2027-03-31\n"
    done = receive_file(
        store,
        content=text.encode(),
        name="d.csv",
        supplier="Invented Rotors",
        reference="DN-5",
        by=CLERK,
        at=after(1),
    )
    assert len(done.codes) == 4
    with store.reading() as read_store:
        assert [(x.quantity, x.unit, x.expires_on) for x in read_store.select(ReceiptLine)] == [
            (8, "pieces", None), (64, "pieces", None), (10_000, "volume_ul", "2027-03-31"),
        ]  # fmt: skip


def test_what_only_the_store_can_know_is_told_with_the_row_of_the_file(store: Store) -> None:
    text = f"{HEADING}\n{CW_BLADE},0042,8,none\n\nNO-SUCH,L,4,none\n{LOCKER},TL1,10,2027-03-31\n"
    with pytest.raises(BadInput) as refused:
        receive_file(
            store, content=text.encode(), name="d.csv", supplier="Invented Rotors", reference="DN-5", by=CLERK, at=after(1)
        )  # fmt: skip
    assert [(p.source, p.row, p.field) for p in refused.value.problems] == [
        ("d.csv", 4, "part"),
        ("d.csv", 5, "quantity"),
    ]
    with store.reading() as read_store:
        assert not read_store.select(Delivery) + read_store.select(Lot)
