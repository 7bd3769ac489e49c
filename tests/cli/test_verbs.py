"""Every verb by its declaration: help, example, and that each act and question of the stores has one."""

import importlib
import inspect
import pkgutil
import re
import shlex
from collections.abc import Callable, Iterator
from dataclasses import is_dataclass
from types import ModuleType
from typing import Any

import pytest

import kittrack.queries
import kittrack.services
from kittrack.__main__ import main
from kittrack.cli import reading
from kittrack.cli.areas import all_verbs, areas, by_station, find_verb
from kittrack.cli.parser import json_keys, make_parser, read_values, row_kind
from kittrack.cli.tables import csv_text
from kittrack.cli.verb import COMMON, Station, Verb
from kittrack.errors import BadInput
from kittrack.store.database import Store

VERBS = all_verbs()

NOT_VERBS: dict[str, str] = {
    "queries.answer_paper.answer_document": "`--into` of every question without a paper of its own writes it",
    "services.founding.is_founded": "the stations ask it, to lead a newcomer where there is no store yet",
    "services.unfinished.forms_here": "the stations keep their open forms by it; `unfinished` lists what was left",
    "queries.suggestions.suggestions": "a field of a form asks it while somebody types; what it names has its own verbs",
    "queries.pages.counts": "a station's list shows how long it is; every list has its own verb",
    "queries.pages.page": "a station's window over a list; every list has its own verb",
}
"""Public acts and questions that no verb stands for, each with the reason."""


def _name(verb: Verb) -> str:
    return verb.words


@pytest.mark.parametrize("verb", VERBS, ids=_name)
def test_every_verb_explains_itself_with_an_example(verb: Verb, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*verb.words.split(), "--help"]) == 0
    shown = capsys.readouterr().out
    assert verb.help.endswith(".")
    assert f"example:\n  kittrack {verb.words} {verb.example}".rstrip() in shown
    for argument in verb.arguments:
        assert argument.help
        assert argument.shown in shown


@pytest.mark.parametrize("verb", VERBS, ids=_name)
def test_help_tells_how_an_amount_or_a_day_is_written_and_names_what_is_typed_in_one_word(verb: Verb) -> None:
    amounts = (reading.mass, reading.length, reading.moment, reading.volume, reading.torque, reading.minutes)
    for argument in verb.arguments:
        assert re.fullmatch(r"[A-Z][A-Z-]*|--[a-z-]+", argument.shown), argument.shown
        if argument.read in (*amounts, reading.day, reading.day_text):
            assert re.search(r"such as|h:mm", argument.help), (verb.words, argument.shown)


@pytest.mark.parametrize("verb", [v for v in VERBS if v.show and v.rows], ids=_name)
def test_every_list_names_its_columns_when_nothing_is_in_it(verb: Verb) -> None:
    kind = row_kind(verb)
    assert kind is not None
    assert is_dataclass(kind)
    assert len(csv_text([], kind=kind).splitlines()) == 1


@pytest.mark.parametrize("verb", VERBS, ids=_name)
@pytest.mark.usefixtures("files")
def test_every_example_gives_its_act_all_that_it_needs(verb: Verb) -> None:
    typed = make_parser(verb).parse_args(shlex.split(verb.example))
    values = read_values(verb, typed)
    if verb.build is not None:
        values = verb.build(values)
    given = set(values) | {name for name in verb.common if hasattr(typed, name)} | {"at"}
    needed = {n for n, p in verb.takes.items() if p.default is inspect.Parameter.empty}
    assert not needed - given
    assert not set(values) - set(verb.takes)


@pytest.mark.parametrize("verb", [v for v in VERBS if v.build is None], ids=_name)
def test_every_keyword_of_an_act_can_be_typed(verb: Verb) -> None:
    typed = {a.name for a in verb.arguments} | set(COMMON)
    assert not set(verb.takes) - typed


def test_words_and_areas_agree() -> None:
    words = [verb.words for verb in VERBS]
    assert len(words) == len(set(words))
    assert {w.split()[0] for w in words} == set(areas())
    for verb in VERBS:
        assert find_verb([*verb.words.split(), "x"]) == (verb, ["x"])


def test_no_verb_of_one_word_hides_verbs_of_two() -> None:
    singles = {v.words for v in VERBS if " " not in v.words}
    assert not singles & {v.words.split()[0] for v in VERBS if " " in v.words}


def test_the_help_groups_every_verb_by_its_station(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    order = [lines.index(station.value) for station in Station]
    assert order == sorted(order)
    for station, verbs in by_station():
        own = lines[lines.index(station.value) + 1 :][: len(verbs)]
        assert [line.strip().split("  ")[0] for line in own] == [v.words for v in verbs]


@pytest.mark.parametrize("verb", [v for v in VERBS if v.show is not None], ids=_name)
def test_every_question_documents_its_keys(verb: Verb) -> None:
    assert json_keys(verb)


# ---- nothing of the stores is out of reach ---------------------------------------------------------


def _modules() -> Iterator[ModuleType]:
    for package in (kittrack.services, kittrack.queries):
        for found in pkgutil.iter_modules(package.__path__):
            yield importlib.import_module(f"{package.__name__}.{found.name}")


def _public() -> dict[str, Callable[..., Any]]:
    """Every public function of services and queries whose first parameter is a store."""
    found: dict[str, Callable[..., Any]] = {}
    for module in _modules():
        for name, function in inspect.getmembers(module, inspect.isfunction):
            first = next(iter(inspect.signature(function).parameters.values()), None)
            is_own = function.__module__ == module.__name__ and not name.startswith("_")
            if is_own and first is not None and first.annotation is Store:
                found[f"{module.__name__.removeprefix('kittrack.')}.{name}"] = function
    return found


def test_every_act_and_question_has_a_verb() -> None:
    public = _public()
    reached = {f for verb in VERBS for f in (verb.calls, *verb.reaches)}
    missing = sorted(name for name, function in public.items() if function not in reached)
    assert missing == sorted(NOT_VERBS)
    assert all(NOT_VERBS.values())


def test_the_walk_finds_acts_and_questions() -> None:
    public = _public()
    assert "services.founding.found_store" in public
    assert "queries.recall.recall_account" in public
    assert len(public) > 60


def test_an_unknown_verb_names_the_nearest() -> None:
    with pytest.raises(BadInput, match="did you mean recall"):
        find_verb(["recal"])
    with pytest.raises(BadInput, match=r"it has: .*build"):
        find_verb(["kit", "bild"])
