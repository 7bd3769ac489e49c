"""The demo by the command line, and every question asked of a store that has something to answer."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from kittrack.__main__ import main
from kittrack.cli.areas import all_verbs
from kittrack.cli.exits import Exit
from kittrack.cli.verb import Verb
from kittrack.store.database import Store, open_store
from kittrack.store.engines import sqlite_path


@pytest.fixture(scope="module")
def demo_url(demo_template: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A demo store that `kittrack demo --into` wrote."""
    path = shutil.copyfile(demo_template, tmp_path_factory.mktemp("demo") / "demo.kittrack")
    return f"sqlite:///{path}"


@pytest.fixture
def demo(demo_url: str) -> Iterator[Store]:
    opened = open_store(demo_url)
    yield opened
    opened.close()


def test_the_demo_store_says_that_it_is_one_and_is_sound(demo: Store, demo_url: str) -> None:
    assert demo.is_demo
    assert main(["verify", "--store", demo_url]) == Exit.DONE


def test_a_demo_is_written_over_no_other_store(demo_url: str, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["demo", "--into", demo_url]) == Exit.REFUSED
    assert capsys.readouterr().err.startswith("R12: ")


def _build_nothing(store: Store, *, progress: object) -> None:
    """Stands in for the scenario where only the store around it matters."""


def test_the_stations_get_a_throw_away_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Path] = []

    def stations(
        store_url: str, *, deeds: object, found: object, show_demo: object, demo: bool = False
    ) -> int:
        opened = open_store(store_url)
        assert demo
        assert callable(deeds)
        assert callable(found)
        assert callable(show_demo)
        assert opened.is_demo
        opened.close()
        seen.append(sqlite_path(store_url))
        return 3

    monkeypatch.setattr("kittrack.tui.app.run_stations", stations)
    monkeypatch.setattr("kittrack.services.demo.build_demo", _build_nothing)
    assert main(["demo"]) == 3
    assert not seen[0].exists()
    assert not seen[0].parent.exists()


_SUBJECTS = {
    "K": "SELECT code FROM kit ORDER BY id LIMIT 1",
    "J": "SELECT code FROM job ORDER BY id LIMIT 1",
    "R": "SELECT code FROM rotor_set ORDER BY id LIMIT 1",
    "tail": "SELECT tail FROM airframe ORDER BY id LIMIT 1",
    "person": "SELECT name FROM person ORDER BY id LIMIT 1",
    "part": "SELECT number FROM part WHERE kind = 'blade' AND tolerance_g_um IS NOT NULL AND blades_per_rotor > 1 ORDER BY id LIMIT 1",
    "lot": "SELECT lot_code FROM lot WHERE lot_code IS NOT NULL ORDER BY id LIMIT 1",
    "Y": "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.kind = 'fastener' ORDER BY r.id LIMIT 1",
    "recall": "SELECT code FROM hold WHERE is_recall = 1 ORDER BY id LIMIT 1",
    "handover": "SELECT code FROM shift_handover ORDER BY id LIMIT 1",
    "count": "SELECT code FROM stock_count ORDER BY id LIMIT 1",
    "V": "SELECT code FROM voucher ORDER BY id LIMIT 1",
    "drill": "SELECT code FROM recall_drill ORDER BY id LIMIT 1",
    "key": "SELECT key FROM event ORDER BY id LIMIT 1",
}
_ASKED = {
    "what": "K", "line show": "Y", "trace": "R", "explain": "K", "set propose": "part", "set proofs": "R", "kit show": "K", "job show": "J", "job kits": "J",
    "issuable": "K J", "aircraft": "tail", "airframe show": "tail", "airframe fitted": "tail",
    "person show": "person", "key": "key", "recall": "lot",
    "sampling plan": "Y",
    "recall-case show": "recall", "drill show": "drill",
    "count show": "count", "shift show": "handover", "voucher show": "V", "fit-record": "J",
}  # fmt: skip
"""What each question that needs a subject is asked about."""

_ASKED_ELSEWHERE = {
    "scan read", "scanner test", "scanner sheet", "label show", "label history", "label queues", "sign-on",
    "backup check", "backup list", "archive check", "trim propose", "figure permissible", "figure screw", "figure tool", "figure grade", "figure mass", "figure share",
}  # fmt: skip
"""Questions about a scan, a file, a print queue, a PIN or figures of their own, asked in the tests of these."""

_WRITES_FILE = "print "
"""How the questions begin that write their answer into a file; tests/cli/test_documents_line.py reads these."""

QUESTIONS = [
    verb
    for verb in all_verbs()
    if verb.show is not None
    and verb.words not in _ASKED_ELSEWHERE
    and not verb.words.startswith(_WRITES_FILE)
]


def _line(verb: Verb, demo: Store, demo_url: str) -> list[str]:
    with demo.reading() as read:
        given = [str(read.value(_SUBJECTS[name])) for name in _ASKED.get(verb.words, "").split()]
    store = ["--store", demo_url] if verb.opens_store else []
    return [*verb.words.split(), *(["--lot"] if verb.words == "recall" else []), *given, *store]


@pytest.mark.parametrize("verb", QUESTIONS, ids=lambda v: v.words)
def test_every_question_is_answered_in_every_form(
    verb: Verb, demo: Store, demo_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    line = _line(verb, demo, demo_url)
    forms = [[], ["--json"], *([["--csv"]] if verb.rows is not None else [])]
    for form in forms:
        capsys.readouterr()
        code = main([*line, *form])
        shown = capsys.readouterr()
        assert code in ({Exit.DONE, Exit.REFUSED} if verb.words == "issuable" else {Exit.DONE}), shown.err
        if form == ["--json"]:
            json.loads(shown.out)
        elif not form:
            assert shown.out or shown.err
