"""Labels sent, shown and declared void, and the bench sheet, by lines against a store; the queue is a real CUPS server's."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.services.labelling import MOST_LABELS
from kittrack.store.database import Store
from kittrack.store.records import LabelPrint, LabelVoid
from tests import cups_server
from tests.cli.line import CommandLine
from tests.cups_server import CupsServer
from tests.factories import AUDITOR
from tests.printing.rendering import by_pdfium, codes, page_text

BOX = "kt-labels"


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.fixture(scope="module")
def cups() -> Iterator[CupsServer]:
    if lacking := cups_server.missing():
        pytest.skip(f"no CUPS server to print to: {lacking} not installed")
    with cups_server.running() as server:
        server.add_queue(BOX)
        yield server


@pytest.fixture
def here(cups: CupsServer, monkeypatch: pytest.MonkeyPatch) -> CupsServer:
    monkeypatch.setenv("CUPS_SERVER", cups.socket)
    return cups


def bins(store: Store) -> list[str]:
    with store.reading() as read:
        return [row[0] for row in read.rows("SELECT code FROM place WHERE kind = 'bin' ORDER BY id")]


def kept(store: Store) -> list[tuple[str, int, bool]]:
    """Each printed copy: its subject, its number, whether it is void."""
    with store.reading() as read:
        void = {v.label_print_id for v in read.select(LabelVoid)}
        return [(p.subject, p.copy_number, p.id in void) for p in read.select(LabelPrint)]


# ---- on a queue ------------------------------------------------------------------------------------


@pytest.mark.cups
def test_labels_are_sent_read_and_kept_and_the_queues_answer_is_shown(
    line: CommandLine, store: Store, here: CupsServer
) -> None:
    places = bins(store)
    ran = line.do("label", "send", *places, "--queue", BOX, "--stock", "roll-62x29@300")
    assert ran.codes == places
    assert re.search(rf"printer {BOX} (is|now)", ran.err)
    (job,) = re.findall(r"request id is (\S+)", ran.err)
    pages = list(by_pdfium(here.printed(BOX, job), dpi=300))
    assert [codes(page) for page in pages] == [[place] for place in places]
    assert kept(store) == [(place, 1, False) for place in places]


@pytest.mark.cups
def test_a_second_print_says_so_on_the_label_and_in_the_store(
    line: CommandLine, store: Store, here: CupsServer
) -> None:
    place = bins(store)[0]
    line.do("label", "send", place, "--queue", BOX)
    ran = line.do("label", "send", place, "--queue", BOX)
    assert f"{place} is copy 2." in ran.err
    (job,) = re.findall(r"request id is (\S+)", ran.err)
    (words,) = page_text(here.printed(BOX, job))
    assert "copy 2" in words
    assert kept(store) == [(place, 1, False), (place, 2, False)]


@pytest.mark.cups
@pytest.mark.usefixtures("here")
def test_what_the_queue_does_not_take_is_kept_as_void(line: CommandLine, store: Store) -> None:
    places = bins(store)
    ran = line.run("label", "send", *places, "--queue", "nowhere")
    assert ran.code == Exit.PRINTING
    assert f"CUPS knows no queue nowhere; choose one of: {BOX}. These copies are kept as void." in ran.err
    assert kept(store) == [(place, 1, True) for place in places]
    ran = line.do("label", "send", places[0], "--queue", BOX)
    assert f"{places[0]} is copy 2." in ran.err


@pytest.mark.cups
@pytest.mark.usefixtures("here")
def test_the_queues_are_listed(line: CommandLine) -> None:
    assert line.do("label", "queues", "--json").json == [{"queue": BOX}]


@pytest.mark.cups
def test_a_document_goes_to_a_queue_and_stands_in_its_file(
    line: CommandLine, here: CupsServer, tmp_path: Path
) -> None:
    into = tmp_path / "ship-sets.pdf"
    ran = line.run("print", "ship-sets", "--into", str(into), "--queue", BOX)
    assert ran.code == Exit.DONE
    (job,) = re.findall(rf"The queue {BOX} took it as job (\S+)\.", ran.out)
    assert len(list(by_pdfium(here.printed(BOX, job), dpi=60))) == len(
        list(by_pdfium(into.read_bytes(), dpi=60))
    )
    nowhere = line.run("print", "ship-sets", "--into", str(tmp_path / "again.pdf"), "--queue", "no-such")
    assert nowhere.code == Exit.PRINTING
    assert "CUPS knows no queue no-such" in nowhere.err
    assert (tmp_path / "again.pdf").exists(), "the file is there to be printed otherwise"


def test_only_a_pdf_goes_to_a_queue(line: CommandLine, tmp_path: Path) -> None:
    ran = line.run("print", "ship-sets", "--into", str(tmp_path / "x.csv"), "--queue", BOX)
    assert ran.code == Exit.USAGE
    assert "Only a PDF goes to a print queue" in ran.err
    assert not (tmp_path / "x.csv").exists()


def test_without_cups_nothing_is_lost_and_the_way_out_is_named(
    line: CommandLine, store: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    ran = line.run("label", "send", bins(store)[0], "--queue", BOX)
    assert ran.code == Exit.PRINTING
    assert "install cups-client" in ran.err
    assert kept(store) == [(bins(store)[0], 1, True)]


def test_a_name_that_is_no_queue_keeps_nothing(line: CommandLine, store: Store) -> None:
    ran = line.run("label", "send", bins(store)[0], "--queue=-oraw")
    assert ran.code == Exit.PRINTING
    assert kept(store) == []


# ---- void copies -----------------------------------------------------------------------------------


def test_a_void_label_still_resolves_with_a_warning(line: CommandLine, store: Store, tmp_path: Path) -> None:
    place = bins(store)[0]
    line.do("label", "print", place, "--into", str(tmp_path / "1.pdf"))
    assert line.do("what", place, "--json").json["labels"] == []
    line.do("label", "print", place, "--into", str(tmp_path / "2.pdf"))
    (warning,) = line.do("what", place, "--json").json["labels"]
    assert "Copies 1 and 2" in warning
    ran = line.do("label", "void", place, "1", "--reason", "torn")
    assert "take it off; copy 2 is still good" in ran.err
    (warning,) = line.do("what", place.lower(), "--json").json["labels"]
    assert "no copy number, of the label" in warning
    assert "(torn)" in warning
    line.do("label", "void", place, "2", "--reason", "on the wrong bin")
    found = line.do("what", place, "--json").json
    assert found["kind"] == "bin, bench, cage or van"
    assert found["labels"][-1] == f"No label of {place} is good any more; print a new one."
    history = line.do("label", "history", place, "--json").json
    assert [(c["copy"], c["void"]) for c in history["copies"]] == [(1, "torn"), (2, "on the wrong bin")]
    assert history["warnings"] == found["labels"]
    assert "torn" in line.do("label", "history", place).out


def test_a_label_is_void_once_and_only_if_it_was_printed(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    place = bins(store)[0]
    assert line.run("label", "void", place, "1", "--reason", "torn").code == Exit.NOT_FOUND
    assert line.run("label", "history", place).code == Exit.NOT_FOUND
    line.do("label", "print", place, "--into", str(tmp_path / "1.pdf"))
    assert line.run("label", "void", place, "2", "--reason", "torn").code == Exit.NOT_FOUND
    ran = line.run("label", "void", place, "1", "--reason", "torn", by=AUDITOR)
    assert ran.code == Exit.REFUSED
    assert line.run("label", "void", place, "1", "--reason", " ").code == Exit.USAGE
    line.do("label", "void", place, "1", "--reason", "torn")
    ran = line.run("label", "void", place, "1", "--reason", "torn")
    assert ran.code == Exit.USAGE
    assert "void already" in ran.err
    assert kept(store) == [(place, 1, True)]
    assert line.run("verify").code == Exit.DONE


# ---- shown -----------------------------------------------------------------------------------------


def test_a_label_is_shown_in_the_terminal_and_not_kept(line: CommandLine, store: Store) -> None:
    place = bins(store)[0]
    shown = line.do("label", "show", place, "--stock", "roll-50x25", "--ascii").out
    assert shown.isascii()
    assert f"BIN {place}" in shown
    assert "#" in shown
    assert kept(store) == []
    assert line.run("label", "show", place, "--stock", "papyrus").code == Exit.NOT_FOUND


def test_a_terminal_with_more_than_ascii_gets_half_blocks(
    line: CommandLine, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTRACK_ASCII", "0")
    monkeypatch.setattr("locale.getpreferredencoding", lambda **_: "UTF-8")
    assert "█" in line.do("label", "show", bins(store)[0]).out
    monkeypatch.setenv("KITTRACK_ASCII", "1")
    assert line.do("label", "show", bins(store)[0]).out.isascii()


# ---- the bench sheet -------------------------------------------------------------------------------


def test_each_bench_sheet_is_an_act_and_carries_its_copy(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    for copy, paper in ((1, "A4"), (2, "LETTER")):
        into = tmp_path / f"{copy}.pdf"
        line.do("label", "bench", "--into", str(into), "--paper", paper)
        (words,) = page_text(into.read_bytes())
        assert f"Home, copy {copy}" in words
    assert kept(store) == [("bench sheet", 1, False), ("bench sheet", 2, False)]
    ran = line.run("label", "bench", "--into", str(tmp_path / "1.pdf"))
    assert (ran.code, len(kept(store))) == (Exit.USAGE, 2)
    ran = line.run("label", "bench", "--into", str(tmp_path / "no" / "1.pdf"))
    assert ran.code == Exit.PRINTING


def test_more_labels_than_an_act_takes_are_refused(line: CommandLine, store: Store) -> None:
    ran = line.run("label", "send", *[bins(store)[0]] * (MOST_LABELS + 1), "--queue", BOX)
    assert ran.code == Exit.USAGE
