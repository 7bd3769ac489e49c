"""What comes next at an aircraft, in words: of a view and of where the work is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.queries.people import Who
from kittrack.services.walking import Seen
from kittrack.tui.aircraft_text import state_in_words
from kittrack.tui.verdicts import Tone, Verdict, verdict

WANTS: Final = "a job or an airframe"

_F9: Final = {
    "open a job": "F9 opens one.",
    "position": "F9 takes it.",
    "walk": "F9 begins the walk.",
    "motor test": "F9 records it.",
    "close": "F9 closes it.",
}


@dataclass(frozen=True)
class Work:
    """Where the work is: the scan that found the airframe, and what was scanned since."""

    found_by: str = ""
    position: str = ""
    rotor_set: str = ""
    inspector: Who | None = None
    kit: str = ""
    is_walk: bool = False
    seen: tuple[Seen, ...] = ()


def here(view: AircraftView | None, work: Work) -> PositionView | None:
    """The position that is worked on."""
    positions = view.positions if view else ()
    return next((p for p in positions if p.code == work.position), None)


def is_mark_asked(work: Work) -> bool:
    """Whether the mark on a rotor is what is to be read next."""
    return bool(work.position and (work.is_walk or work.rotor_set or work.inspector))


def to_walk(view: AircraftView, work: Work) -> Sequence[PositionView]:
    """The positions with a rotor that the running walk has not seen."""
    seen = {s.position for s in work.seen}
    return [p for p in view.positions if p.fitted and p.code not in seen]


def inspection(at: PositionView, inspector: Who) -> tuple[str, ...]:
    """What an inspector is told: the same person's second look is a pass of its own, and is called so."""
    read = f"read the mark on the rotor at {at.name} itself and type it."
    if inspector.name not in at.worked_by:
        return (f"{inspector.name} inspects {at.name}: {read}",)
    return (
        f"RE-INSPECTION of {at.name}: {inspector.name} worked on it and looks again, as a separate pass, once "
        "tools and hands are off it.",
        f"Only where a manager declared that nobody else is there; it is recorded as such. Then {read}",
    )


def ready(view: AircraftView | None, work: Work) -> Verdict:
    """The next step as a verdict; unfinished work says so first."""
    at = here(view, work)
    is_unfinished = at is not None and at.state == "not finished"
    return verdict(Tone.NOT_FINISHED if is_unfinished else Tone.NEXT, *_steps(view, work))


def wanted(view: AircraftView | None, work: Work) -> str:
    """What to scan or type, as a sentence says it."""
    if work.kit:
        return f"the seal of {work.kit}"
    if is_mark_asked(work):
        return "the mark on the rotor, typed"
    return WANTS if view is None else "a position, a rotor set or a badge"


def prompt(view: AircraftView | None, work: Work) -> str:
    """What the scan line waits for, in a few words."""
    if work.kit:
        return "seal"
    if is_mark_asked(work):
        return "mark read on the rotor"
    if view is None:
        return "job or airframe"
    at = here(view, work)
    if at is None:
        return "position"
    asked = {"to do": "rotor set", "bare": "rotor set", "fitted": "inspector's badge"}
    return asked.get(at.state, "scan")


def _steps(view: AircraftView | None, work: Work) -> list[str]:
    if view is None:
        return [f"scan {WANTS}."]
    if work.is_walk:
        return _steps_of_walk(view, work)
    at = here(view, work)
    if at is not None:
        return [_step_at(at)]
    unfinished = [p for p in view.positions if p.state == "not finished"]
    warning = [f"{view.tail} {p.name} is NOT FINISHED{_begun_by(p)}." for p in unfinished]
    said = view.next_step.removeprefix("Next: ")
    return [*warning, f"{said} {_F9.get(view.next_act, '')}".strip()]


def _begun_by(at: PositionView) -> str:
    return f", begun by {' and '.join(at.worked_by)}" if at.worked_by else ""


def _steps_of_walk(view: AircraftView, work: Work) -> list[str]:
    left, at = to_walk(view, work), here(view, work)
    if at is not None:
        return [f"read the mark on the rotor at {at.name} itself and type it."]
    if left:
        names = ", ".join(p.name for p in left)
        return [f"walk around {view.tail}: scan the tag of a position, read its mark. Still to see: {names}."]
    return [f"all positions of {view.tail} are seen; F9 has label, mark and map compared."]


def _step_at(at: PositionView) -> str:
    if at.state in ("to do", "bare") and at.fitted:
        return f"{at.name}: take the old rotor {at.fitted} off: F9."
    told = {
        "to do": f"{at.name} needs {at.sense}: scan a rotor set.",
        "bare": f"{at.name} needs {at.sense}: scan a rotor set.",
        "not finished": f"{at.name}: {at.fitted} is on. F9 asks what fastens it; Ctrl+R takes it off again.",
        "fitted": f"{at.name}: another person scans their badge here and reads the mark.",
        "": f"{at.name} is not part of this job; scan a position of it.",
    }
    return told.get(at.state, f"{at.name} is {state_in_words(at)}. F9 takes the next step.")
