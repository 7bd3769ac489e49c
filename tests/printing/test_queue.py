"""Labels through a real CUPS server: whole, at actual size, still decoding; and every way in which it refuses."""

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kittrack.errors import PrintError
from kittrack.printing import queue
from kittrack.printing.labels import labels_pdf
from kittrack.printing.queue import check_queue_name, media_of, print_pdf, queues
from kittrack.printing.stock import Stock
from tests import cups_server
from tests.cups_server import CupsServer
from tests.printing.rendering import LABELS, STOCKS, by_pdfium, codes, symbols

SOME = list(LABELS.values())[:4]
BOX = "kt-labels"
needs_cups = pytest.mark.cups


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


def send(content: bytes, stock: Stock, *, to: str = BOX) -> queue.Answer:
    return print_pdf(content, queue=to, title="kittrack labels", media=media_of(stock))


def widths(page: Any) -> list[int]:
    """How wide each symbol of a page is, in dots."""
    found = sorted(symbols(page), key=lambda symbol: symbol.text)
    return [s.position.top_right.x - s.position.top_left.x for s in found]


@needs_cups
@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_labels_leave_the_queue_at_actual_size_and_still_decode(here: CupsServer, stock: Stock) -> None:
    """What CUPS' own filter hands to the printer is drawn at the stock's dots and read again."""
    content = labels_pdf(SOME, stock)
    answer = send(content, stock)
    assert answer.queue == BOX
    assert answer.job.startswith(f"{BOX}-")
    assert any("request id is" in word for word in answer.words)
    assert any(f"printer {BOX} is" in word or f"printer {BOX} now" in word for word in answer.words)
    pages = list(by_pdfium(here.printed(BOX, answer.job), dpi=float(stock.dpi)))
    sent = list(by_pdfium(content, dpi=float(stock.dpi)))
    assert sorted(code for page in pages for code in codes(page)) == sorted(
        label.face().code for label in SOME
    )
    point = float(stock.dpi) / 72
    for page, whole in zip(pages, sent, strict=True):
        # CUPS counts paper in whole points; nothing is scaled to make up for what is left over.
        assert page.size == pytest.approx(whole.size, abs=1 + point)
        assert widths(page) == pytest.approx(widths(whole), abs=1)


@needs_cups
@pytest.mark.usefixtures("here")
def test_queues_are_listed_and_an_unknown_one_is_named_with_them() -> None:
    assert queues() == (BOX,)
    with pytest.raises(PrintError, match=rf"no queue nowhere; choose one of: {BOX}\.$"):
        send(b"%PDF-1.4", STOCKS["roll-50x25@203"], to="nowhere")


@needs_cups
def test_a_closed_queue_refuses_in_its_own_words(here: CupsServer) -> None:
    here.add_queue("kt-closed")
    here.command("cupsreject", "-r", "no labels left", "kt-closed")
    try:
        with pytest.raises(PrintError, match=r"kt-closed refused the labels \(.*not accepting jobs.*\)"):
            send(labels_pdf(SOME, STOCKS["roll-50x25@203"]), STOCKS["roll-50x25@203"], to="kt-closed")
    finally:
        here.command("lpadmin", "-x", "kt-closed")


@needs_cups
def test_a_queue_that_is_switched_off_keeps_the_job_and_says_so(here: CupsServer) -> None:
    here.add_queue("kt-off")
    here.command("cupsdisable", "-r", "out of labels", "kt-off")
    try:
        stock = STOCKS["roll-50x25@203"]
        answer = send(labels_pdf(SOME, stock), stock, to="kt-off")
        assert any("disabled" in word for word in answer.words)
        assert "out of labels" in answer.words
    finally:
        here.command("lpadmin", "-x", "kt-off")


@needs_cups
@pytest.mark.usefixtures("here")
def test_what_is_no_pdf_is_refused() -> None:
    with pytest.raises(PrintError, match=r"refused the labels \(.*format.*\)"):
        send(b"this is no label", STOCKS["roll-50x25@203"])


@needs_cups
def test_a_server_that_is_not_there_is_named(
    cups: CupsServer, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("CUPS_SERVER", str(tmp_path / "nobody"))
    with pytest.raises(PrintError, match=r"print server does not answer.*CUPS_SERVER"):
        send(b"%PDF-1.4", STOCKS["roll-50x25@203"])
    with pytest.raises(PrintError, match="print server does not answer"):
        queues()


# ---- without a server ------------------------------------------------------------------------------


def test_a_machine_without_cups_is_told_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(PrintError, match="install cups-client"):
        send(b"%PDF-1.4", STOCKS["roll-50x25@203"])


def test_a_server_that_hangs_is_given_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A program in the place of lp that never answers."""
    fake = tmp_path / "lp"
    fake.write_text("#!/bin/sh\nexec sleep 60\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setattr(queue, "_PATIENCE_S", 0.2)
    with pytest.raises(PrintError, match="look whether the labels came out"):
        send(b"%PDF-1.4", STOCKS["roll-50x25@203"])


def test_a_command_that_cannot_be_started_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    fake = tmp_path / "lp"
    fake.write_text("no program")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(PrintError, match="can't be started"):
        send(b"%PDF-1.4", STOCKS["roll-50x25@203"])


def test_the_queue_gets_a_list_of_arguments_and_no_shell(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A program in the place of lp writes down what it was given."""
    for name, words in (("lp", "request id is kt-1 (0 file(s))"), ("lpstat", "printer kt is idle.")):
        fake = tmp_path / name
        fake.write_text(
            f'#!/bin/sh\nprintf "%s\\n" "$@" > {tmp_path}/{name}.args\ncat > {tmp_path}/{name}.in\necho "{words}"\n'
        )
        fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    said = send(b"%PDF-1.4 content", STOCKS["sheet-a4-2x7@300"], to="kt")
    assert said == queue.Answer("kt", "kt-1", ("request id is kt-1 (0 file(s))", "printer kt is idle."))
    assert (tmp_path / "lp.in").read_bytes() == b"%PDF-1.4 content"
    given = (tmp_path / "lp.args").read_text().splitlines()
    assert given[:4] == ["-d", "kt", "-t", "kittrack labels"]
    assert {"media=A4", "print-scaling=none"} < set(given)
    assert given[-2:] == ["--", "-"]


@pytest.mark.parametrize(
    "name", ["", "-x", "a b", "a;b", "a/b", "a#b", "$(id)", "\x1b[A", "x" * 128, "-oraw"]
)
def test_what_is_no_name_of_a_queue_never_reaches_lp(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def run(*_: object, **__: object) -> None:
        pytest.fail("a command was run")

    monkeypatch.setattr(subprocess, "run", run)
    with pytest.raises(PrintError, match="no name of a print queue"):
        check_queue_name(name)
    with pytest.raises(PrintError, match="no name of a print queue"):
        send(b"", STOCKS["roll-50x25@203"], to=name)


@pytest.mark.parametrize(
    ("key", "media"),
    [
        ("roll-50x25@203", "Custom.50x25mm"),
        ("sheet-a4-3x8@300", "A4"),
        ("sheet-letter-3x10@600", "Letter"),
    ],
)
def test_the_paper_has_the_name_that_cups_takes(key: str, media: str) -> None:
    assert media_of(STOCKS[key]) == media
