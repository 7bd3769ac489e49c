"""What comes next at an aircraft, in words: of a view and of where the work is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.errors import Refusal
from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.queries.people import Who
from kittrack.services.walking import Seen
from kittrack.tui.stations import aircraft_positions as positions
from kittrack.tui.verdicts import SENSE_RULES, Tone, Verdict, verdict

WANTS: Final = "a job or an airframe"

_F9: Final = {
    "open a job": "F9 opens one.",
    "finding": "An inspector or a manager settles it: F9.",
    "position": "F9 takes it.",
    "torque again": "F9 takes it.",
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
    walker: str = ""
    """The badge of who began the walk; what somebody saw counts for nobody else."""
    seen: tuple[Seen, ...] = ()
    stopped_at: str = ""
    """The position at which the last walk was stopped for the sense of its rotor, until a mark is read again."""


def here(view: AircraftView | None, work: Work) -> PositionView | None:
    """The position that is worked on."""
    return next((p for p in view.positions if p.code == work.position), None) if view else None


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
        f"A manager declared that nobody else is there; it is recorded as such. {look.capitalize()}, and {read}",
    )


def ready(view: AircraftView | None, work: Work) -> Verdict:
    """The next step as a verdict; unfinished work says so first."""
    at = here(view, work)
    waits = view is not None and not work.is_walk and bool(positions.unfinished(view))
    is_told = at is None or at.state in ("to do", "bare", "not finished")
    return verdict(Tone.NOT_FINISHED if waits and is_told else Tone.NEXT, *_steps(view, work))


def next_in_words(view: AircraftView | None, work: Work) -> tuple[str, ...]:
    """The next step as it stands behind something else that is told."""
    said = ready(view, work)
    step, *more = said.sentences
    is_warning = said.tone is Tone.NOT_FINISHED and here(view, work) is None
    return (f"{Tone.NOT_FINISHED if is_warning else 'Next'}: {step}", *more)


def read_again(scanned: str) -> Refusal:
    """How a mark that stopped the hand is read once more."""
    return Refusal("form", scanned, f"To read it once more, scan {scanned} again.")


def bring_back(kit: str) -> Refusal:
    """What becomes of a kit that may not be opened."""
    message = f"Leave {kit} sealed and bring it back: a clerk takes it back at the Counter (F5)."
    return Refusal("form", kit, message)


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
    if at is not None:
        return positions.prompt_at(at, view)
    return "job or airframe" if view.job_state == "closed" else "position"


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
        return positions.steps_at(at, view)
    warning = [f"{view.tail} {p.name}{positions.begun_by(p)}." for p in positions.unfinished(view)]
    if view.job_state == "closed":
        return [view.next_step, *after_closing(view)]
    due = positions.retorque_first(view)
    if due is not None:
        names = ", ".join(view.retorque_due)
        told = f"the re-torque is due at {names}; F9 begins with {due.name}."
        return [told, "For other work open a job: F10, F10 again, job open.", *_untested(view)]
    said = view.next_step.removeprefix("Next: ")
    said = said[:1].upper() + said[1:] if warning else said
    step = f"{said} {_F9.get(view.next_act, '')}".strip()
    kits = positions.kits_in_words(view) if view.next_act == "position" else ()
    few = positions.too_few_in_words(view) if view.next_act == "position" else ()
    return [*warning, step, *kits, *few, *_untested(view)]


def _untested(view: AircraftView) -> Sequence[str]:
    """That a motor test is owed, as long as it comes before the rotors; later it is the next step itself."""
    if view.map_verified or view.next_act not in ("open a job", "position"):
        return ()
    return ("The sense map is NOT VERIFIED: test the motors while the rotors are off (F10, map test).",)


def _steps_of_walk(view: AircraftView, work: Work) -> list[str]:
    left, at = to_walk(view, work), here(view, work)
    if at is not None:
        return [f"read the mark on the rotor at {at.name} itself and type it."]
    if left:
        names = ", ".join(p.name for p in left)
        return [f"walk around {view.tail}: scan the tag of a position, read its mark. Still to see: {names}."]
    return [f"all positions of {view.tail} are seen; F9 has label, mark and map compared."]
