"""A command line of tests: runs lines against one store, each a minute after the last, and keeps what they said."""

import json
from dataclasses import dataclass
from typing import Any

import pytest

from kittrack.__main__ import main
from kittrack.cli.areas import find_verb
from tests import factories


@dataclass(frozen=True)
class Ran:
    """One line that was run: its exit code, what went to stdout and what to stderr."""

    code: int
    out: str
    err: str

    @property
    def codes(self) -> list[str]:
        """The codes that an act made."""
        return self.out.split()

    @property
    def first(self) -> str:
        """The first code that an act made."""
        return self.codes[0]

    @property
    def json(self) -> Any:
        """The JSON document on stdout."""
        return json.loads(self.out)


class CommandLine:
    """Lines on one store. Acts get a person and a moment unless the line gives its own."""

    def __init__(self, url: str, capsys: pytest.CaptureFixture[str]) -> None:
        self.url = url
        self._capsys = capsys
        self._minute = 60

    def run(self, *typed: str, by: str = factories.CLERK) -> Ran:
        """Run one line."""
        verb, _ = find_verb(list(typed))
        assert verb is not None
        line = [*typed, "--store", self.url] if verb.opens_store else list(typed)
        if "by" in verb.common and "--by" not in typed:
            line += ["--by", by]
        if "at" in verb.common and "--at" not in typed:
            self._minute += 1
            line += ["--at", factories.after(self._minute).isoformat()]
        self._capsys.readouterr()
        code = main(line)
        return Ran(code, *self._capsys.readouterr())

    def do(self, *typed: str, by: str = factories.CLERK) -> Ran:
        """Run one line that has to succeed."""
        ran = self.run(*typed, by=by)
        assert ran.code == 0, ran.err
        return ran
