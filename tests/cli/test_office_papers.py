"""The Office's papers by the command line: read back, in every form, on an empty store and on a busy one."""

from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest

from kittrack.cli.exits import Exit
from kittrack.domain.paper_marks import make_paper_mark
from kittrack.domain.text import counted
from kittrack.queries.stock_review import PartReview, stock_review, stock_review_document
from kittrack.services import holding, ordering, set_breaking
from kittrack.services.holding import Scope
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import Store, open_store
from kittrack.store.fold import chain_head
from kittrack.store.records import ReceiptLine, RotorSet
from tests.aircraft_scene import Scene
from tests.cli.line import CommandLine
from tests.cli.test_documents_line import read_back, squeezed
from tests.factories import (
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    WASHER,
    after,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)

PAPERS = ("stock-review", "reorder", "expiry", "ship-sets", "matched-sets")


@pytest.fixture
def store(world_url: str) -> Iterator[Store]:
    opened = open_store(world_url)
    yield opened
    opened.close()


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.mark.parametrize("paper", PAPERS)
def test_every_paper_is_written_of_an_empty_store_in_every_form(
    line: CommandLine, tmp_path: Path, paper: str
) -> None:
    for ending in (".pdf", ".csv", ".xlsx"):
        into = tmp_path / f"{paper}{ending}"
        assert line.run("print", paper, "--into", str(into)).code == Exit.DONE
        assert into.stat().st_size > 100
    again = line.run("print", paper, "--into", str(tmp_path / f"{paper}.pdf"))
    assert again.code == Exit.USAGE
    assert "--force" in again.err
    other = line.run("print", paper, "--into", str(tmp_path / "x.docx"))
    assert other.code == Exit.USAGE
    assert not (tmp_path / "x.docx").exists()


@pytest.mark.parametrize("paper", [*PAPERS, "oversight", "unserviceable", "counts-due"])
def test_a_paper_without_a_number_says_by_its_bars_where_in_the_chain_it_stands(
    store: Store, line: CommandLine, tmp_path: Path, paper: str
) -> None:
    put_in_stock(store, WASHER, 400, at=after(1))
    into = tmp_path / "paper.pdf"
    assert line.run("print", paper, "--into", str(into)).code == Exit.DONE
    words, bars = read_back(into)
    [mark] = bars
    told = facts_of(line, mark)
    head = told["hash"].removeprefix("that of the chain; the foot of the paper says ")
    assert head in words
    assert told["acts since"] == "0"
    put_in_stock(store, SCREW, 16, at=after(2))
    again = facts_of(line, mark)
    assert int(again["acts since"]) > 0
    assert again["stands at"] == told["stands at"]


def facts_of(line: CommandLine, mark: str) -> dict[str, str]:
    found = line.do("what", mark, "--json").json
    assert (found["code"], found["kind"]) == (mark, "paper")
    return dict(found["facts"])


def test_an_answer_that_is_written_carries_its_place_in_the_chain_too(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    put_in_stock(store, WASHER, 400, at=after(1))
    into = tmp_path / "shelf.pdf"
    assert line.run("shelf", "--into", str(into)).code == Exit.DONE
    [mark] = read_back(into)[1]
    assert facts_of(line, mark)["acts since"] == "0"


def test_a_paper_of_another_history_is_told_in_a_sentence(store: Store, line: CommandLine) -> None:
    put_in_stock(store, WASHER, 400, at=after(1))
    with store.reading() as read:
        last, digest = chain_head(read)
    beyond = line.run("what", make_paper_mark(last + 5, digest=digest).text)
    assert beyond.code == Exit.NOT_FOUND
    assert f"this store ends at event {last}" in beyond.err
    rewritten = line.run("what", make_paper_mark(last, digest=digest[::-1]).text)
    assert rewritten.code == Exit.NOT_FOUND
    assert "has another hash" in rewritten.err
    true = make_paper_mark(last, digest=digest).text
    wrong = line.run("what", true[:-1] + ("A" if true[-1] != "A" else "C"))
    assert wrong.code == Exit.USAGE
    assert "check character" in wrong.err


def test_the_reorder_proposal_tells_what_from_whom_and_why(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    put_in_stock(store, WASHER, 400, at=after(1))
    into = tmp_path / "reorder.pdf"
    assert line.run("print", "reorder", "--protection", "98", "--into", str(into)).code == Exit.DONE
    words, _ = read_back(into)
    for told in (
        "Re-order proposal", "98 % until an order arrives", CW_BLADE, "4 of 1", "Invented Rotors", "Approved by",
        "never asked for", "A proposal is no order", "page 1 of",
    ):  # fmt: skip
        assert squeezed(told) in words
    assert WASHER not in words, "nothing of it is due"


def test_the_expiry_paper_tells_what_is_unknown_and_never_as_zero(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.change(RotorSet, {"code": scene.sets[0]}, used_minutes=None)
    put_in_stock(store, LOCKER, 500, at=after(200), expires_on="2026-03-01")
    into = tmp_path / "expiry.pdf"
    assert line.run("print", "expiry", "--days", "60", "--into", str(into)).code == Exit.DONE
    words, _ = read_back(into)
    for told in (
        "UNKNOWN",
        scene.sets[0],
        "EXPIRED",
        "0.5 mL",
        "Will expire unused",
        "It is never counted as new",
    ):
        assert squeezed(told) in words


def test_a_stock_review_in_a_workbook_keeps_its_codes(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    put_in_stock(store, SCREW, 64, at=after(1), lot_code="007")
    put_in_stock(store, WASHER, 16, at=after(2), lot_code="=1+1")
    into = tmp_path / "review.xlsx"
    assert line.run("print", "stock-review", "--into", str(into)).code == Exit.DONE
    sheets = {
        s.title: [[c.value for c in row] for row in s.iter_rows()] for s in openpyxl.load_workbook(into)
    }
    lines = next(rows for title, rows in sheets.items() if title.startswith("Stock, line"))
    told = {row[1]: row for row in lines[1:]}
    assert (told[SCREW][2], told[SCREW][7]) == (64, "007")
    assert told[WASHER][7] == "=1+1"


def test_a_stock_review_tells_an_unknown_expiry_and_what_expired(store: Store) -> None:
    unknown = put_in_stock(store, LOCKER, 500, at=after(1), lot_code="A")
    put_in_stock(store, LOCKER, 500, at=after(2), lot_code="B", expires_on="2026-03-01")
    put_in_stock(store, SCREW, 8, at=after(3), lot_code="C")
    with store.act("its expiry is not on record", by=MANAGER, at=after(4)) as act:
        one = act.find(ReceiptLine, code=unknown)
        assert one is not None
        act.update(one, expiry_kind="unknown")
    paper = stock_review_document(store, at=after(5))
    [shelf] = [t for t in paper.tables if t.heading.startswith("Stock, line")]
    last, lot = shelf.columns.index("Expires"), shelf.columns.index("Lot code")
    assert {row[lot]: row[last] for row in shelf.rows} == {"A": "UNKNOWN", "B": "2026-03-01 EXPIRED", "C": ""}


def test_the_paper_of_matched_sets_tells_the_unproved_ones_first(
    store: Store, line: CommandLine, tmp_path: Path
) -> None:
    proved, broken, unproved = sets_on_shelf(store, CW_BLADE, 3, at=after(1))
    set_breaking.break_set(store, rotor_set=broken, reason="one blade is nicked", by=CLERK, at=after(2))
    with store.act("change the world", by=MANAGER, at=after(3)) as act:
        one = act.find(RotorSet, code=unproved)
        assert one is not None
        act.update(one, match_record_id=None)
    into = tmp_path / "sets.pdf"
    assert line.run("print", "matched-sets", "--into", str(into)).code == Exit.DONE
    words, _ = read_back(into)
    told = [
        "Sound", "1 of 2", "1 not proved", "Broken so far", "Sets that are not sound", unproved,
        "Orphaned blades", broken, "Sound sets with their proof", proved, "Proofs by their number", "Reviewed by",
    ]  # fmt: skip
    at = [words.index(squeezed(text)) for text in told]
    assert at == sorted(at), "what needs a decision stands first"


def by_part(store: Store, minute: int) -> dict[str, PartReview]:
    return {r.part: r for r in stock_review(store, at=after(minute))}


def test_the_review_counts_each_class_once(store: Store) -> None:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(2))
    held = put_in_stock(store, SCREW, 9, at=after(3), lot_code="X")
    holding.place_hold(store, scope=Scope(code=held), reason="doubt", reference="", by=CLERK, at=after(4))
    put_in_stock(store, LOCKER, 500, at=after(5), expires_on="2026-03-01", lot_code="OLD")
    ordering.place_order(
        store,
        supplier="Invented Rotors",
        reference="PO",
        lines=[OrderSpec(SCREW, 80)],
        by=MANAGER,
        at=after(6),
    )
    screws = by_part(store, 7)[SCREW]
    assert (screws.on_shelf, screws.on_hold, screws.in_kits, screws.on_order) == (24, 9, 16, 80)
    assert by_part(store, 7)[LOCKER].expired == 500
    assert screws.says == "not asked for in 12 months"
    assert (screws.cover, screws.used) == (None, 0)


def test_cover_is_stock_over_the_pace_of_twelve_whole_months(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    put_in_stock(store, LOCKER, 8_000, at=after(100), expires_on="2028-01-31", lot_code="N")
    found = by_part(store, 40 * 24 * 60)[LOCKER]
    # 0.8 mL in twelve months, of which the store knows one; 8 mL and the opened bottle's rest is at the job: 8000 * 365 / 800
    assert (found.used, found.cover) == (800, 3650)
    assert found.says == "lasts for more than two years"


def test_an_answer_without_a_paper_of_its_own_is_written_as_it_stands(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    stock_up(store, at=after(1))
    for ending in (".pdf", ".csv", ".xlsx"):
        done = line.run("shelf", "--into", str(tmp_path / f"shelf{ending}"))
        assert done.code == Exit.DONE
        assert f"shelf{ending}" in done.out
    text = (tmp_path / "shelf.csv").read_text("utf-8-sig")
    assert text.startswith("What is in the stores and vans")
    assert f"{SCREW},40,on the shelf" in text
    again = line.run("shelf", "--into", str(tmp_path / "shelf.pdf"))
    assert again.code == Exit.USAGE
    assert line.run("recall", "L000001-3", "--into", "x.pdf").code == Exit.USAGE, "it has a paper of its own"


def test_one_of_something_is_told_as_one() -> None:
    assert [counted(count, "kit") for count in (0, 1, 2)] == ["0 kits", "1 kit", "2 kits"]
