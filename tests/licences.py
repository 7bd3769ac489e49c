"""The licences of what kittrack runs on, by what the installed packages say: `python tests/licences.py` prints them.

DEVELOPERS.md holds the table; test_supply.py compares the two.
"""

import re
import sys
import tomllib
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
_SAID_OTHERWISE = {
    "Apache": "Apache-2.0",
    "BSD": "BSD",
    "MIT": "MIT",
    "LGPL": "LGPL",
    "Python Software": "PSF-2.0",
}


def runs_on() -> list[Distribution]:
    """Every package that an installed kittrack needs, the PostgreSQL driver included, and what those need."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    todo = [Requirement(text) for text in [*project["dependencies"], *project["optional-dependencies"]["pg"]]]
    found: dict[str, Distribution] = {}
    while todo:
        wanted = todo.pop()
        name = _plain(wanted.name)
        if name in found:
            continue
        found[name] = distribution(wanted.name)
        inner = [Requirement(text) for text in found[name].requires or ()]
        todo += [r for r in inner if _is_for_here(r, tuple(wanted.extras))]
    return [found[name] for name in sorted(found)]


def _is_for_here(wanted: Requirement, extras: tuple[str, ...]) -> bool:
    return wanted.marker is None or any(wanted.marker.evaluate({"extra": extra}) for extra in (*extras, ""))


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def licence_of(package: Distribution) -> str:
    """What a package says of its licence: an SPDX expression where it gives one."""
    told = package.metadata
    if "License-Expression" in told:
        return str(told["License-Expression"])
    classes = [
        c.rpartition(" :: ")[2] for c in told.get_all("Classifier") or () if c.startswith("License ::")
    ]
    short = told["License"].split("\n")[0] if "License" in told else ""
    text = " ".join([*classes, short])
    return (
        next((name for word, name in _SAID_OTHERWISE.items() if word in text), "")
        or short
        or _by_its_file(package)
    )


def _by_its_file(package: Distribution) -> str:
    """The licence whose well-known words stand in the package's own licence file."""
    own = [file for file in package.files or () if re.search(r"LICEN[CS]E|COPYING", file.name)]
    text = " ".join(file.read_text() for file in own)
    return "MIT" if "Permission is hereby granted, free of charge" in text else "not said"


def table() -> str:
    """The table of DEVELOPERS.md: one row for each licence, without versions, so that it ages slowly."""
    by_licence: dict[str, list[str]] = {}
    for package in runs_on():
        by_licence.setdefault(licence_of(package), []).append(_plain(package.metadata["Name"]))
    rows = [f"| {licence} | {', '.join(names)} |" for licence, names in sorted(by_licence.items())]
    return "\n".join(["| licence | packages |", "|---|---|", *rows])


if __name__ == "__main__":
    sys.stdout.write(table() + "\n")
