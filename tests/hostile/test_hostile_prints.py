"""Labels and documents of a store whose every text is hostile: printed letter by letter, or refused with a sentence.

The legal text is what a person could type; the other holds what no typeface prints. Every verb that writes a file
is asked, so a document added later is covered by itself. pypdfium2 is the independent reader of what was written.
"""

import re
import shlex
import shutil
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from kittrack.__main__ import main
from kittrack.cli.areas import all_verbs
from kittrack.cli.exits import Exit
from kittrack.cli.verb import Verb
from kittrack.store.database import open_store
from kittrack.store.records import TABLES
from kittrack.store.tables import columns
from tests.hostile.texts import DIRECTIONS, ESCAPES, Poison, poison, seen_wrong
from tests.machine.attack import attacking

LEGAL = "[b]<b>x</b>&amp;../..'--%s"
POISONS = {"legal": Poison("=", LEGAL), "unprintable": Poison("", f"{ESCAPES}{DIRECTIONS}")}
WRITERS = [
    verb
    for verb in all_verbs()
    if any(a.name == "into" for a in verb.arguments) and verb.opens_store and "into" in verb.takes
]


@pytest.fixture(scope="module", params=sorted(POISONS))
def poisoned(
    request: pytest.FixtureRequest, demo_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, Poison]:
    """The address of a poisoned store, and what it was poisoned with."""
    path = tmp_path_factory.mktemp("prints") / "store.kittrack"
    shutil.copyfile(demo_file, path)
    with attacking(f"sqlite:///{path}") as attack:
        poison(attack, POISONS[request.param])
    return f"sqlite:///{path}", POISONS[request.param]


def codes_of(url: str) -> dict[str, list[str]]:
    """Some codes of each kind."""
    found: dict[str, list[str]] = {}
    store = open_store(url)
    with store.reading() as read:
        for name, record in TABLES.items():
            if "code" in columns(record):
                for (code,) in read.rows(f'SELECT code FROM "{name}" ORDER BY id'):
                    found.setdefault(code[0], []).append(code)
    store.close()
    return found


def printed(content: bytes) -> str:
    """The text of a PDF as an independent reader finds it."""
    pages = list(pdfium.PdfDocument(content))
    return "\n".join(page.get_textpage().get_text_range() for page in pages)


def assert_as_text(path: Path, what: Poison) -> None:
    """Nothing in the file acts, and a hostile text in it reads as it was."""
    # What is drawn is packed, and packed bytes spell anything by chance; what acts stands outside of it.
    content = path.read_bytes()
    outside = re.sub(rb"\bstream\r?\n.*?endstream", b"", content, flags=re.DOTALL)
    for acting in (
        b"/JavaScript",
        b"/JS",
        b"/Launch",
        b"/URI",
        b"/SubmitForm",
        b"/EmbeddedFile",
        b"/OpenAction",
    ):
        assert acting not in outside
    text = printed(content)
    assert text.count("«") - text.count("»") <= text.count("...") + text.count("…"), "cut without saying so"
    if what.behind == LEGAL and "»" in text:
        letters = set(LEGAL) - {" "}
        assert letters <= set(text), "a text was taken for markup, or lost letters"
    assert not seen_wrong(text.replace("\r", "").replace("\ufffe", ""))


@pytest.mark.parametrize("verb", WRITERS, ids=lambda v: v.words)
def test_every_document_is_printed_as_text_or_refused(
    verb: Verb, poisoned: tuple[str, Poison], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url, what = poisoned
    codes = codes_of(url)
    for turn in range(3):
        line, into = _line(verb, codes, turn, tmp_path)
        code = main([*verb.words.split(), *line, "--store", url])
        shown = capsys.readouterr()
        assert code in set(Exit) - {Exit.FAULT}, shown.err[-300:]
        assert not seen_wrong(shown.out + shown.err)
        assert into.exists() == (code == Exit.DONE), (line, shown.err)
        if into.exists():
            assert_as_text(into, what)


def _line(verb: Verb, codes: dict[str, list[str]], turn: int, folder: Path) -> tuple[list[str], Path]:
    """The verb's example with codes of the store, a file of the test's own and somebody who may print."""
    into = folder / f"{turn}.pdf"
    line = []
    for word in shlex.split(verb.example):
        own = codes.get(word[0], [word])
        line.append(own[turn % len(own)] if re.fullmatch(r"[A-Z]\d{6}-[A-Z0-9]", word) else word)
    line[line.index("--into") + 1] = str(into)
    if "--by" in line:
        line[line.index("--by") + 1] = codes["P"][0]
    return line, into


def test_every_kind_of_label_is_printed_as_text_or_refused(
    poisoned: tuple[str, Poison], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url, what = poisoned
    done = refused = 0
    for kind, own in sorted(codes_of(url).items()):
        for stock in ("sheet-a4-2x4@300", "roll-100x150@203"):
            into = tmp_path / f"{kind}-{stock}.pdf"
            line = ["label", "print", own[-1], "--into", str(into), "--stock", stock, "--store", url]
            code = main([*line, "--by", codes_of(url)["P"][0]])
            shown = capsys.readouterr()
            assert code in {Exit.DONE, Exit.REFUSED, Exit.USAGE, Exit.NOT_FOUND, Exit.PRINTING}, shown.err
            assert not seen_wrong(shown.out + shown.err)
            assert code == Exit.DONE or shown.err.strip()
            done, refused = done + (code == Exit.DONE), refused + (code != Exit.DONE)
            if code == Exit.DONE:
                assert_as_text(into, what)
    assert done + refused > 20
