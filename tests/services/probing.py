"""Watching acts while they are done, and trying each of them first as people who may not do it.

A service begins its act with `Store.act`. There the watch steps in: it finds the service among the callers,
takes the arguments that it was given, and calls it again as somebody else inside a transaction that is taken
back. So every act is tried with arguments that are right, at a moment when it is possible.
"""

import inspect
import pkgutil
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib import import_module
from types import CodeType, FrameType
from typing import Any

import pytest

import kittrack.services
from kittrack.errors import KittrackError, Refused
from kittrack.services import desk, founding
from kittrack.store.act import read_instant_text
from kittrack.store.database import Store
from kittrack.store.records import ROLES, Person

Service = Callable[..., Any]

ONLY: Mapping[str, str] = {role: f"Only {role}" for role in ROLES}
"""A person of each role who has no other one."""
LEAVER, SCRIPT, EVERY_ROLE = "Leaver with every role", "Script with every role", tuple(ROLES)


def acts() -> dict[CodeType, tuple[str, Service]]:
    """Every public service that acts for a person, by its code: its name and itself."""
    found: dict[CodeType, tuple[str, Service]] = {}
    for module in pkgutil.iter_modules(kittrack.services.__path__):
        loaded = import_module(f"kittrack.services.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            own = function.__module__ == loaded.__name__ and not name.startswith("_")
            parameters = inspect.signature(function).parameters
            if own and {"store", "by"} <= set(parameters):
                found[function.__code__] = (f"{module.name}.{name}", function)
    return found


def add_people(store: Store, *, by: str) -> None:
    """People who may not act: one of each single role, a leaver, a script, and a second badge for everybody."""
    with store.reading() as read:
        at = read_instant_text(read.value("SELECT at FROM event ORDER BY id DESC LIMIT 1"))
        known = read.select(Person)
    for role, name in ONLY.items():
        founding.add_person(store, name=name, roles=(role,), by=by, at=at)
    founding.add_person(store, name=LEAVER, roles=EVERY_ROLE, by=by, at=at)
    founding.let_person_go(store, person=LEAVER, by=by, at=at)
    founding.add_person(store, name=SCRIPT, roles=EVERY_ROLE, is_script=True, by=by, at=at)
    for person in known:
        founding.add_person(
            store, name=twin(person.name), roles=EVERY_ROLE, same_human_as=person.code, by=by, at=at
        )


def twin(name: str) -> str:
    """The name on the second badge of a person."""
    return f"{name}, second badge"


class _TakenBackError(Exception):
    """Ends the transaction of a trial."""


@dataclass
class Watch:
    """What trials have shown.

    `roles` holds the roles that an act takes, by its name; `seconds` the acts that were tried with second people;
    `faults` who got through that should not have. While `is_resting`, nothing is tried.
    """

    roles: dict[str, frozenset[str]] = field(default_factory=dict)
    seconds: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)
    is_resting: bool = False

    def look(
        self, store: Store, frame: FrameType | None, known: Mapping[CodeType, tuple[str, Service]]
    ) -> None:
        """Try the service that is about to act, where there is still something to learn of it."""
        while frame is not None and frame.f_code not in known:
            frame = frame.f_back
        if self.is_resting or frame is None:
            return
        name, service = known[frame.f_code]
        given = {p: frame.f_locals[p] for p in inspect.signature(service).parameters if p in frame.f_locals}
        self.is_resting = True
        try:
            self._try_people(store, name, service, given)
            self._try_seconds(store, name, service, given)
        finally:
            self.is_resting = False

    def _try_people(self, store: Store, name: str, service: Service, given: dict[str, Any]) -> None:
        if name in self.roles or not self._is_done(store, service, given):
            return
        refused = {role: self._refusals(store, service, given | {"by": who}) for role, who in ONLY.items()}
        self.roles[name] = frozenset(r for r, rules in refused.items() if "role" not in rules)
        if self._refusals(store, service, given | {"by": LEAVER}) != {"R8"}:
            self.faults.append(f"{name}: a leaver is not refused")

    def _try_seconds(self, store: Store, name: str, service: Service, given: dict[str, Any]) -> None:
        if name in self.seconds or not given.get("second") or not self._is_done(store, service, given):
            return
        with store.reading() as read:
            by = desk.find_person(read, given["by"]).name
        for who in (by, twin(by), SCRIPT, LEAVER):
            if "R8" not in self._refusals(store, service, given | {"second": who}):
                self.faults.append(f"{name}: {who} passes for a second person")
        self.seconds.add(name)

    def _is_done(self, store: Store, service: Service, given: dict[str, Any]) -> bool:
        return self._outcome(store, service, given) is None

    def _refusals(self, store: Store, service: Service, given: dict[str, Any]) -> frozenset[str]:
        error = self._outcome(store, service, given)
        return error.rules if isinstance(error, Refused) else frozenset()

    def _outcome(self, store: Store, service: Service, given: dict[str, Any]) -> KittrackError | None:
        """What a call ends with; whatever it wrote is taken back."""
        try:
            with store.all_or_nothing():
                service(**given)
                raise _TakenBackError  # noqa: TRY301 - the way to end a transaction without a trace
        except _TakenBackError:
            return None
        except KittrackError as error:
            return error


@contextmanager
def watching(monkeypatch: pytest.MonkeyPatch) -> Iterator[Watch]:
    """Try every act of the block before it is done."""
    watch, known, really = Watch(), acts(), Store.act

    def act(store: Store, *args: Any, **kwargs: Any) -> Any:
        watch.look(store, sys._getframe(1), known)
        return really(store, *args, **kwargs)

    with monkeypatch.context() as patch:
        patch.setattr(Store, "act", act)
        yield watch
