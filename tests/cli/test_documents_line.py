"""Documents by the command line: PDF read back by an independent reader, CSV that a spreadsheet can't spoil, copies."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.domain.text import sheet_cell
from kittrack.printing.documents import Caution, Document, Table, document_csv
from kittrack.queries.fit_record import fit_record_document
from kittrack.queries.voucher import voucher_document
from kittrack.services import holding, issuing, jobs, recalling, returning, reversing
from kittrack.services.holding import Scope
from kittrack.store.database import Store, open_store
from kittrack.store.records import JobPosition, RotorSet
from tests.aircraft_scene import Scene
from tests.cli.line import CommandLine
from tests.factories import (
    BIN,
    CLERK,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    VAN,
    after,
    put_in_stock,
    sealed_kit,
    stock_up,
)
from tests.printing.rendering import by_pdfium, codes, page_text


@pytest.fixture
def store(world_url: str) -> Iterator[Store]:
    opened = open_store(world_url)
    yield opened
    opened.close()


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def squeezed(text: str) -> str:
    return "".join(text.split())


def read_back(path: Path) -> tuple[str, list[str]]:
    """The words of a PDF without blanks, and the bar codes on its first page as an independent reader sees them."""
    content = path.read_bytes()
    words = squeezed("".join(page_text(content)))
    first = next(iter(by_pdfium(content, dpi=300)))
    return words, codes(first)


def issued(store: Store) -> tuple[str, int]:
    """A kit issued for a job; answers with the voucher and the event."""
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(3)).codes[0]
    done = issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(4))
    return done.codes[0], done.event


def head(store: Store) -> str:
    with store.reading() as read:
        row = read.row("SELECT id, hash FROM event ORDER BY id DESC LIMIT 1")
    assert row is not None
    return f"{row[0]}:{row[1]}"


def test_a_voucher_reads_back_and_its_second_copy_asks_whether_the_first_was_handed_over(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    code, event = issued(store)
    first, second = tmp_path / "first.pdf", tmp_path / "second.pdf"
    line.do("print", "voucher", code, "--into", str(first))
    words, bars = read_back(first)
    assert bars == [code]
    for text in (
        TAIL,
        f"Given by {CLERK}",
        f"Received by {TECHNICIAN}",
        "seal 77",
        "signature",
        "page 1 of 1",
        "CW FL",
        head(store),
    ):
        assert squeezed(text) in words, text
    assert "COPY" not in words
    ran = line.do("print", "voucher", code, "--into", str(second))
    assert "copy 2" in ran.err
    words, _ = read_back(second)
    assert squeezed("COPY 2. There is one such document, not 2: copy 1 printed") in words
    assert squeezed(f"reverse the issue (event {event})") in words


def test_a_reversed_issue_says_so_on_its_voucher(store: Store) -> None:
    code, event = issued(store)
    reversing.reverse_event(
        store,
        event=event,
        reason="printed, never handed over",
        second=MANAGER,
        by=CLERK,
        at=after(9),
        seal="77",
    )
    paper = voucher_document(store, voucher=code, at=after(10))
    assert (Caution.CAUTION, "REVERSED: nothing is out on this voucher. Do not sign it.") in paper.cautions


def test_nothing_is_kept_of_a_print_that_goes_nowhere(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    code, _ = issued(store)
    before = head(store)
    there = tmp_path / "there.pdf"
    there.write_bytes(b"kept")
    for into in (there, tmp_path / "voucher.txt"):
        assert line.run("print", "voucher", code, "--into", str(into)).code == Exit.USAGE
    assert there.read_bytes() == b"kept"
    assert head(store) == before


def test_a_fit_record_tells_sets_screws_torque_and_hands_and_releases_nothing(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.walk()
    into = tmp_path / "fit.pdf"
    line.do("print", "fit-record", scene.job, "--into", str(into))
    words, bars = read_back(into)
    assert bars == [scene.job]
    for text in (
        *scene.sets, "4 SC-M3x8 of lot", "0.8 N m", "Torque driver 1", "Technician One", "Inspector One", "second person",
        "done by Inspector One", "This record is no release", "Released by, in the words of the maker's manual", "supplier pairing",
    ):  # fmt: skip
        assert squeezed(text) in words, text
    shown = line.do("fit-record", scene.job).out
    assert all(one in shown for one in scene.sets)


def test_a_fit_record_of_unfinished_work_says_what_was_not_checked_and_not_proved(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    paper = fit_record_document(store, job=scene.job, at=scene.now)
    said = [text for _, text in paper.facts]
    assert "NOT DONE at FR: to do, RL: to do, FL: inspected, RR: to do" in said
    assert "NOT PROVED" not in cells(paper)
    scene.change(RotorSet, {"code": scene.sets[0]}, match_record_id=None)
    assert "NOT PROVED" in cells(fit_record_document(store, job=scene.job, at=scene.now))


def test_a_job_that_nothing_was_fitted_in_says_so_on_its_fit_record(store: Store) -> None:
    scene = Scene(store)
    with store.act("no position is left to it", by=MANAGER, at=scene.now) as act:
        for one in act.select(JobPosition):
            act.update(one, state="walked")
    facts = fit_record_document(store, job=scene.job, at=scene.now).facts
    assert "no rotor set was fitted" in [text for _, text in facts]


def cells(paper: Document) -> set[str]:
    return {cell for table in paper.tables for row in table.rows for cell in row}


def test_a_voucher_says_of_a_set_without_its_proof_that_it_is_not_proved(store: Store) -> None:
    code, _ = issued(store)
    assert "NOT PROVED" not in cells(voucher_document(store, voucher=code, at=after(9)))
    with store.act("its proof is void", by=MANAGER, at=after(10)) as act:
        act.update(act.select(RotorSet, order="id")[0], match_record_id=None)
    assert "NOT PROVED" in cells(voucher_document(store, voucher=code, at=after(11)))


def test_a_voucher_of_a_kit_that_came_back_is_for_the_record(store: Store) -> None:
    code, _ = issued(store)
    with store.reading() as read:
        kit = read.value("SELECT code FROM kit ORDER BY id")
    returning.return_unopened(store, kit=kit, seal="77", to_place=BIN, by=CLERK, at=after(9))
    paper = voucher_document(store, voucher=code, at=after(10))
    told = "RETURNED: the kit came back; this voucher is kept for the record."
    assert (Caution.NOTE, told) in paper.cautions


@pytest.mark.parametrize(
    ("verb", "kind"),
    [
        ("voucher", Kind.VOUCHER), ("fit-record", Kind.JOB), ("notice", Kind.NOTICE),
    ],
)  # fmt: skip
def test_a_paper_of_what_the_store_does_not_hold_is_not_written(
    line: CommandLine, tmp_path: Path, verb: str, kind: Kind
) -> None:
    unknown = make_code(kind, next_number(kind, after=90_000))
    into = tmp_path / "paper.pdf"
    ran = line.run("print", verb, unknown, "--into", str(into))
    assert (ran.code, into.exists()) == (Exit.NOT_FOUND, False)
    assert unknown in ran.err


def test_a_removed_set_stands_on_the_tag_list_with_its_tag(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    scene = Scene(store)
    scene.all_four()
    tag = scene.remove("FL").codes[0]
    into = tmp_path / "tags.pdf"
    line.do("print", "unserviceable", "--into", str(into))
    words, _ = read_back(into)
    for text in (tag, scene.sets[0], f"{TAIL} FL", "life limit", "only an inspection on record"):
        assert squeezed(text) in words, text
    assert [i["tag"] for i in line.do("unserviceable", "--json").json] == [tag]


def test_the_papers_of_a_recall(store: Store, line: CommandLine, tmp_path: Path) -> None:
    put_in_stock(store, SCREW, 16, lot_code="00123", place=VAN, kind="van", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="00123", at=after(2))
    hold = holding.place_hold(
        store,
        scope=Scope(lot_code="00123"),
        reason="=heads may shear",
        reference="SB-7",
        is_recall=True,
        by=CLERK,
        at=after(3),
    ).codes[0]
    notice = recalling.write_notices(store, hold=hold, by=CLERK, at=after(4)).codes[0]
    pdf, sheet, listed, account = (
        tmp_path / n for n in ("notice.pdf", "notice.csv", "list.pdf", "account.csv")
    )
    line.do("print", "notice", notice, "--into", str(pdf))
    words, bars = read_back(pdf)
    assert bars == [notice]
    for text in (
        f"van {VAN}",
        hold,
        "SB-7",
        "16",
        "bring it back",
        "the authorities say goes before this paper",
    ):
        assert squeezed(text) in words, text
    line.do("print", "notice", notice, "--into", str(sheet))
    rows = list(csv.reader(io.StringIO(sheet.read_text("utf-8-sig"))))
    assert ["Why", "'=heads may shear"] in rows
    assert any(row[:4] == ["", SCREW, "16", "'00123"] for row in rows)
    line.do("print", "notices", hold, "--into", str(listed))
    assert squeezed(f"{notice} van {VAN} to send") in read_back(listed)[0]
    line.do("print", "recall", "--lot", "00123", "--into", str(account))
    rows = list(csv.reader(io.StringIO(account.read_text("utf-8-sig"))))
    sums = {row[0]: row[1] for row in rows if len(row) == 2}
    assert (sums["received"], sums["on hold"], sums["in vans"], sums["The account"]) == (
        "24",
        "8",
        "16",
        "adds up",
    )


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("00123", "'00123"), ("1E5", "'1E5"), ("MAR-1", "'MAR-1"), ("3-12", "'3-12"), ("1914310000010100016", "'1914310000010100016"),
        ("=1+1", "'=1+1"), ("@x", "'@x"), ("-3", "-3"), ("16", "16"), ("0.8", "0.8"), ("L000001-5", "L000001-5"), ("2026-03-02", "2026-03-02"),
        ("", ""), ("true", "'true"), ("+5", "'+5"), ("007.50", "'007.50"),
    ],
)  # fmt: skip
def test_a_spreadsheet_neither_runs_a_cell_nor_changes_it(text: str, cell: str) -> None:
    """`00123`, `1E5`, `MAR-1` and 19 digits came back changed in public bug reports of CSV round trips."""
    assert sheet_cell(text) == cell


def test_a_document_in_csv_has_all_that_its_tables_hold() -> None:
    table = Table("Parts", ("Part", "Pieces"), (("0017", "2"),), total=("all", "2"))
    document = Document(
        "Count", "C1", facts=(("Place", "A-01"),), tables=(table, Table("None", ("X",), ())), footer="end"
    )
    rows = list(csv.reader(io.StringIO(document_csv(document))))
    assert rows == [
        ["Count", "C1"], ["Place", "A-01"], [], ["Parts"], ["Part", "Pieces"], ["'0017", "2"], ["all", "2"], [], ["None"], ["X"], ["none"],
        [], ["end"],
    ]  # fmt: skip


def test_a_hand_over_and_the_page_of_oversight_read_back(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    code, _ = issued(store)
    made = line.do("shift", "hand-over", "van is back at six", "--second", "Clerk Two").first
    hand, page = tmp_path / "hand.pdf", tmp_path / "page.pdf"
    line.do("print", "hand-over", made, "--into", str(hand))
    words, bars = read_back(hand)
    assert bars == [made]
    for text in (
        "van is back at six",
        "Handed over by Clerk One",
        "Taken over by Clerk Two",
        "Kits issued and not fitted",
        "unopened",
    ):
        assert squeezed(text) in words, text
    line.do("print", "oversight", "--shift-hours", "0", "--at", after(120).isoformat(), "--into", str(page))
    words, bars = read_back(page)
    assert [bar[:2] for bar in bars] == ["EV"]  # it has no number of its own
    assert squeezed("Kits issued and not fitted for longer than a shift") in words
    assert code


def test_a_line_says_how_its_numbers_came_in(store: Store, line: CommandLine) -> None:
    made = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    line.do("hold", "place", made, "--reason", "look", "--entered", "typed")
    line.do(
        "hold",
        "release",
        hold_of(store),
        "--reason",
        "fine",
        "--reference",
        "x",
        "--entered",
        "scanned",
        by=MANAGER,
    )
    found = line.do("oversight", "typed", "--json", "--at", after(200).isoformat()).json
    assert {(p["person"], p["typed"], p["scanned"]) for p in found} == {(CLERK, 1, 0), (MANAGER, 0, 1)}


def hold_of(store: Store) -> str:
    """The code of the one hold."""
    with store.reading() as read:
        return str(read.value("SELECT code FROM hold"))
