"""Printing through CUPS: a PDF goes to a queue by `lp`, and what the queue answers comes back.

The print server is the one that CUPS' own settings name (CUPS_SERVER, or client.conf). Pages go out at actual size:
a driver that scales them to its paper makes bars of part dots, which no reader trusts.

Source: design A5; lp(1) and lpstat(1) of CUPS; media and print-scaling as in PWG 5100.3 and 5100.13.
"""

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain.text import clean_label, single_line
from kittrack.errors import PrintError
from kittrack.printing.stock import Stock

_PATIENCE_S: Final = (
    60  # a queue on another machine that sleeps wakes within this (common practice, no source)
)
# CUPS allows any printable character but blanks, / and #; these stay clear of what lp reads as an option.
_QUEUE: Final = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.+@:-]{0,126}")
_JOB: Final = re.compile(r"request id is (\S+)")
_SHOWN: Final = 200
_NO_SERVER: Final = "The print server does not answer; start CUPS or correct CUPS_SERVER, then print again."
_NAMED_MEDIA: Final = {(210_000, 297_000): "A4", (215_900, 279_400): "Letter"}


@dataclass(frozen=True)
class Answer:
    """What a queue said to a job: its number there, and its words, one sentence or line each."""

    queue: str
    job: str
    words: tuple[str, ...]


def media_of(stock: Stock) -> str:
    """The paper of a stock by the name that CUPS takes: A4, Letter, or width by height."""
    sheet = stock.sheet
    size = (sheet.page_width_um, sheet.page_height_um) if sheet else (stock.width_um, stock.height_um)
    return _NAMED_MEDIA.get(size) or f"Custom.{size[0] / 1000:g}x{size[1] / 1000:g}mm"


def print_pdf(content: bytes, *, queue: str, title: str, media: str, what: str = "labels") -> Answer:
    """Hand a PDF to a queue.

    Args:
        content: the file.
        queue: the queue's name, as `queues` lists it.
        title: what the job is called; words of the program, no data.
        media: from `media_of`.
        what: is printed, for a sentence.

    Returns:
        The number of the job and the queue's words. A queue that is switched off takes the job and keeps it; its
        words say so.

    Raises:
        PrintError: there is no CUPS here, no such queue, or the queue refuses; it names what to do.
    """
    check_queue_name(queue)
    options = ("-o", f"media={media}", "-o", "print-scaling=none", "-o", "sides=one-sided")
    done = _run("lp", ("-d", queue, "-t", title, *options, "--", "-"), content=content)
    job = _JOB.search(done.out)
    if done.code or job is None:
        raise PrintError(_why_refused(queue, done, what))
    state = _run("lpstat", ("-p", queue))
    return Answer(queue, clean_label(job[1]), tuple(_lines(done.out) + _lines(state.out)))


def queues() -> tuple[str, ...]:
    """The names of the queues that CUPS knows here, in its order.

    Raises:
        PrintError: there is no CUPS here, or its server does not answer.
    """
    found = _known_queues()
    if found is None:
        raise PrintError(_NO_SERVER)
    return tuple(found)


def check_queue_name(queue: str) -> None:
    """Raise PrintError for what can't be the name of a queue, such as an option of `lp`."""
    if not _QUEUE.fullmatch(queue):
        shown = clean_label(queue, max_length=60)
        raise PrintError(f"{shown!r} is no name of a print queue; see the names with: kittrack label queues.")


@dataclass(frozen=True)
class _Said:
    """How a command of CUPS ended."""

    code: int
    out: str
    err: str


def _run(command: str, arguments: Sequence[str], *, content: bytes = b"") -> _Said:
    path = shutil.which(command)
    if path is None:
        raise PrintError(
            f"The command {command} of CUPS is not installed here; install cups-client, or draw the labels into a file."
        )
    environment = {**os.environ, "LC_ALL": "C"}  # its words are read here, so they come in one language
    try:
        done = subprocess.run(  # noqa: S603 - a fixed command and checked arguments
            [path, *arguments], input=content, capture_output=True, env=environment, timeout=_PATIENCE_S, check=False
        )  # fmt: skip
    except subprocess.TimeoutExpired as fault:
        raise PrintError(
            f"The print server did not answer within {_PATIENCE_S} seconds; look whether the labels came out, "
            "then see to the server."
        ) from fault
    except OSError as fault:
        raise PrintError(f"{path} can't be started ({fault.strerror}); install cups-client again.") from fault
    return _Said(done.returncode, _text(done.stdout), _text(done.stderr))


def _why_refused(queue: str, done: _Said, what: str) -> str:
    known = _known_queues()
    if known is None:
        return _NO_SERVER
    if queue not in known:
        listed = f"choose one of: {', '.join(known)}" if known else "set one up in CUPS first"
        return f"CUPS knows no queue {queue}; {listed}."
    words = single_line(f"{done.err} {done.out}", max_length=_SHOWN) or "it said nothing"
    return f"The queue {queue} refused the {what} ({words}); see to the queue, then print {'them' if what == 'labels' else 'it'} again."


def _known_queues() -> list[str] | None:
    """The queues, or None where no server answers: then there are none either, but `lpstat` finds nothing wrong."""
    found = _lines(_run("lpstat", ("-e",)).out)
    if not found and "scheduler is running" not in _run("lpstat", ("-r",)).out:
        return None
    return found


def _text(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")


def _lines(text: str) -> list[str]:
    """The lines of an answer, each on one row and without blanks at its ends."""
    return [single_line(line, max_length=_SHOWN) for line in text.splitlines() if line.strip()]
