"""What comes next at an aircraft, in words: of a view and of where the work is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.errors import Refusal
from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.queries.people import Who
from kittrack.services.walking import Seen
from kittrack.tui.aircraft_text import state_in_words
from kittrack.tui.verdicts import SENSE_RULES, Tone, Verdict, verdict

WANTS: Final = "a job or an airframe"

_F9: Final = {
    "open a job": "F9 opens one.",
    "finding": "An inspector or a manager settles it: F9.",
    "position": "F9 takes it.",
    "torque again": "F9 takes it; F10, retorque, records the torque.",
    "walk": "F9 begins the walk.",
    "left over": "Bring it to the Counter (F5), where a clerk takes it back; what is lost is told by F10, job lose.",
    "motor test": "F9 records it.",
    "close": "F9 closes it.",
}
_RELEASE: Final = (
    "Nothing is released by this: the maker's manual and the person licensed or authorised to release the "
    "aircraft decide. F10, print fit-record, writes the record for them."
)


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
    stopped_at: str = ""
    """The position at which the last walk was stopped for the sense of its rotor, until a mark is read again."""


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
    look = "look at seating, torque stripe and count of screws"
    read = f"read the mark on the rotor at {at.name} itself and type it."
    if inspector.name not in at.worked_by:
        return (f"{inspector.name} inspects {at.name}: {look}, then {read}",)
    return (
        f"RE-INSPECTION of {at.name}: {inspector.name} worked on it and looks again, as a separate pass, once "
        "tools and hands are off it.",
        f"Only where a manager declared that nobody else is there; it is recorded as such. Then {look}, and {read}",
    )


def ready(view: AircraftView | None, work: Work) -> Verdict:
    """The next step as a verdict; unfinished work says so first."""
    at = here(view, work)
    waits = view is not None and not work.is_walk and bool(unfinished(view))
    is_told = at is None or at.state in ("to do", "bare", "not finished")
    return verdict(Tone.NOT_FINISHED if waits and is_told else Tone.NEXT, *_steps(view, work))


def unfinished(view: AircraftView) -> Sequence[PositionView]:
    """The positions on which a set sits that is not fastened."""
    return [p for p in view.positions if p.state == "not finished"]


def after_closing(view: AircraftView) -> tuple[str, ...]:
    """What follows the end of a job: no release, and when the screws are torqued again."""
    if view.retorque_minutes is None:
        return (_RELEASE,)
    hours = f"{view.retorque_minutes // 60}:{view.retorque_minutes % 60:02d} h"
    return (_RELEASE, f"The screws are torqued again {hours} of flight after they were fastened.")


def wanted(view: AircraftView | None, work: Work) -> str:
    """What to scan or type, as a sentence says it."""
    if work.kit:
        return f"the seal of {work.kit}"
    if is_mark_asked(work):
        return "the mark on the rotor, typed"
    return WANTS if view is None else "a position, a rotor set or a badge, or type another tail"


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
        return "job or airframe" if view.job_state == "closed" else "position"
    if at.state == "to do" and at.fitted:
        return "F9 takes the rotor off"
    asked = {
        "to do": "rotor set", "bare": "rotor set", "not finished": "F9 fastens", "fitted": "inspector's badge",
    }  # fmt: skip
    return asked.get(at.state, "scan")


def asked_by_form(against: Sequence[Refusal], code: str) -> Sequence[Refusal]:
    """Where only the reason and the second person of an override are missing: the form that asks for them."""
    if {str(reason.rule) for reason in against} <= {"R20", "R8"}:
        return (
            Refusal(
                "form", code, f"F10, fit, asks for both: the reason and who confirms it. Scan {code} there."
            ),
        )
    return ()


def stopped_position(view: AircraftView, against: Sequence[Refusal]) -> PositionView | None:
    """The first position whose rotor stopped a walk for its sense."""
    subjects = {reason.subject for reason in against if reason.rule in SENSE_RULES}
    return next(
        (p for p in view.positions if p.fitted and {p.fitted, f"{view.tail} {p.name}"} & subjects), None
    )


def after_a_stop(at: PositionView) -> Refusal:
    """What is done about a rotor that stopped a walk."""
    message = f"F9 begins the walk again, in case a mark was misread; Ctrl+R takes {at.fitted} off {at.name}."
    return Refusal("form", at.name, message)


def _steps(view: AircraftView | None, work: Work) -> list[str]:
    if view is None:
        return [f"scan {WANTS}."]
    if work.is_walk:
        return _steps_of_walk(view, work)
    at = here(view, work)
    if at is not None:
        return _steps_at(at, view)
    warning = [f"{view.tail} {p.name}{_begun_by(p)}." for p in unfinished(view)]
    if view.job_state == "closed":
        return [view.next_step, *after_closing(view)]
    said = view.next_step.removeprefix("Next: ")
    said = said[:1].upper() + said[1:] if warning else said
    step = f"{said} {_F9.get(view.next_act, '')}".strip()
    kits = kits_in_words(view) if view.next_act == "position" else ()
    return [*warning, step, *kits, *_untested(view)]


def _untested(view: AircraftView) -> Sequence[str]:
    """That a motor test is owed, as long as it comes before the rotors; later it is the next step itself."""
    if view.map_verified or view.next_act not in ("open a job", "position"):
        return ()
    return ("The sense map is NOT VERIFIED: test the motors while the rotors are off (F10, map test).",)


def _begun_by(at: PositionView) -> str:
    return f", begun by {' and '.join(at.worked_by)}" if at.worked_by else ""


def kits_in_words(view: AircraftView) -> Sequence[str]:
    """The kits that are out and unopened, or where the sets come from as long as the job holds none."""
    out = [
        f"{kit.code} is issued for it, to {kit.where}, and unopened: scan the kit, then read its seal."
        for kit in view.kits
        if kit.is_issued
    ]
    if out or any(thing.kind == "rotor set" for thing in view.in_job) or not _needs_sets(view):
        return out
    kept = [
        f"Nothing is issued to {view.job} yet; {kit.code} in {kit.where} is kept for it until {kit.until}: collect "
        "it at the Counter (F5)."
        for kit in view.kits
        if not kit.is_issued
    ]
    return kept or [f"Nothing is issued to {view.job} yet; a clerk issues its kit at the Counter (F5)."]


def _needs_sets(view: AircraftView) -> bool:
    return any(p.state == "to do" or (p.state == "bare" and not p.comes_back) for p in view.positions)


def _steps_of_walk(view: AircraftView, work: Work) -> list[str]:
    left, at = to_walk(view, work), here(view, work)
    if at is not None:
        return [f"read the mark on the rotor at {at.name} itself and type it."]
    if left:
        names = ", ".join(p.name for p in left)
        return [f"walk around {view.tail}: scan the tag of a position, read its mark. Still to see: {names}."]
    return [f"all positions of {view.tail} are seen; F9 has label, mark and map compared."]


def _steps_at(at: PositionView, view: AircraftView) -> list[str]:
    """What is done at a position; another one that is not finished comes before it."""
    others = [p for p in unfinished(view) if p.code != at.code] if at.state in ("to do", "bare") else []
    if others:
        names = " and ".join(f"{p.name}{_begun_by(p)}" for p in others)
        return [f"{names}; one position is finished before {at.name} is begun. F9 takes {others[0].name}."]
    if at.state == "to do" and at.fitted:
        return [f"{at.name}: isolate the battery, then take the old rotor {at.fitted} off: F9."]
    if at.state == "bare" and at.comes_back:
        return [
            f"{at.name} needs {at.sense}: {at.comes_back} was taken off it for transport and goes back on it; scan it."
        ]
    if at.state in ("to do", "bare"):
        return [f"{at.name} needs {at.sense}: scan a rotor set.", *kits_in_words(view)]
    told = {
        "not finished": f"{at.name}: {at.fitted} is on and not fastened. F9 asks what fastens it; Ctrl+R takes it off again.",
        "fitted": f"{at.name}: another person scans their badge here and reads the mark.",
        "": f"{at.name} is not part of this job; scan a position of it.",
    }
    if not view.job:
        return [f"{at.name}: no job is open for {view.tail}; F9 opens one."]
    kits = kits_in_words(view) if at.state == "not finished" else ()
    return [told.get(at.state, f"{at.name} is {state_in_words(at)}. F9 takes the next step."), *kits]
