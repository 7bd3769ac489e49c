"""What comes next at one position of an aircraft, in words, and where its sets come from."""

from collections import Counter
from collections.abc import Sequence

from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.tui.aircraft_text import state_in_words

_TO_BEGIN = ("to do", "bare")


def unfinished(view: AircraftView) -> Sequence[PositionView]:
    """The positions on which a set sits that is not fastened."""
    return [p for p in view.positions if p.state == "not finished"]


def unfinished_beside(at: PositionView, view: AircraftView) -> Sequence[PositionView]:
    """The positions that are finished before this one is begun."""
    return [p for p in unfinished(view) if p.code != at.code] if at.state in _TO_BEGIN else []


def begun_by(at: PositionView) -> str:
    """Who began what is not finished, as the end of a sentence."""
    return f", begun by {' and '.join(at.worked_by)}" if at.worked_by else ""


def is_blocked(at: PositionView, view: AircraftView) -> bool:
    """Whether nothing can be fitted at a bare position before a finding is settled."""
    return at.state in _TO_BEGIN and not at.fitted and bool(view.findings)


def retorque_first(view: AircraftView) -> PositionView | None:
    """The first position whose screws are due to be torqued again; None where other work of a job comes first."""
    if view.next_act != "open a job":
        return None
    return next((p for p in view.positions if is_retorque_due(p, view)), None)


def is_retorque_due(at: PositionView, view: AircraftView) -> bool:
    """Whether that is what comes next at a position: it is due and no job works there, or what is stated changed meanwhile."""
    is_due = not at.state and bool(at.fitted) and at.name in view.retorque_due
    return is_due or (view.next_act == "torque again" and at.code == view.next_position)


def prompt_at(at: PositionView, view: AircraftView) -> str:
    """What the scan line waits for at a position, in a few words."""
    if at.state == "to do" and at.fitted:
        return "F9 takes the rotor off"
    if is_blocked(at, view):
        return "F9 settles the finding"
    if is_retorque_due(at, view):
        return "F9 asks for the torque"
    asked = {
        "to do": "rotor set", "bare": "rotor set", "not finished": "F9 fastens", "fitted": "inspector's badge",
    }  # fmt: skip
    return asked.get(at.state, "scan")


def steps_at(at: PositionView, view: AircraftView) -> list[str]:
    """What is done at a position; another one that is not finished comes before it."""
    if at.state in _TO_BEGIN:
        return _steps_to_begin(at, view)
    if is_retorque_due(at, view):
        return [f"{at.name}: the screws of {at.fitted} are to be torqued again; F9 asks for torque and tool."]
    if not view.job:
        return [f"{at.name}: no job is open for {view.tail}; F9 opens one."]
    told = {
        "not finished": f"{at.name}: {at.fitted} is on and not fastened. F9 asks what fastens it; Ctrl+R takes it off again.",
        "fitted": f"{at.name}: another person scans their badge here and reads the mark.",
        "": f"{at.name} is not part of this job; scan a position of it.",
    }
    kits = kits_in_words(view) if at.state == "not finished" else ()
    return [told.get(at.state, f"{at.name} is {state_in_words(at)}. F9 takes the next step."), *kits]


def _steps_to_begin(at: PositionView, view: AircraftView) -> list[str]:
    others = unfinished_beside(at, view)
    if others:
        names = " and ".join(f"{p.name}{begun_by(p)}" for p in others)
        return [f"{names}; one position is finished before {at.name} is begun. F9 takes {others[0].name}."]
    if at.fitted:
        return [f"{at.name}: isolate the battery, then take the old rotor {at.fitted} off: F9."]
    if is_blocked(at, view):
        finding = view.findings[0].rstrip(".")
        return [
            f"{at.name}: {view.job} is blocked by finding {finding}.",
            "An inspector or a manager settles it: F9.",
        ]
    if at.comes_back:
        taken_off = f"{at.comes_back} was taken off it for transport and goes back on it; scan it."
        return [f"{at.name} needs {at.sense}: {taken_off}"]
    return [f"{at.name} needs {at.sense}: scan a rotor set.", *kits_in_words(view), *too_few_in_words(view)]


# ---- where the sets come from --------------------------------------------------------------------


def kits_in_words(view: AircraftView) -> Sequence[str]:
    """The kits that are out and unopened, or where the sets come from as long as the job holds none."""
    out = [
        f"{kit.code} is issued for it, to {kit.where}, and unopened: scan the kit, then read its seal."
        for kit in view.kits
        if kit.is_issued
    ]
    if out or _sets_held(view) or not _sets_needed(view):
        return out
    kept = [
        f"Nothing is issued to {view.job} yet; {kit.code} in {kit.where} is kept for it until {kit.until}: collect "
        "it at the Counter (F5)."
        for kit in view.kits
        if not kit.is_issued
    ]
    return kept or [f"Nothing is issued to {view.job} yet; a clerk issues its kit at the Counter (F5)."]


def too_few_in_words(view: AircraftView) -> Sequence[str]:
    """Where a job holds sets, but fewer of a sense than positions wait for: one was broken, lost or not issued."""
    held, needed = _sets_held(view), _sets_needed(view)
    if not held or any(kit.is_issued for kit in view.kits):
        return []
    return [
        f"{view.job} holds {held[sense]} of the {needed[sense]} {sense} sets to be fitted: a clerk issues a kit, or a "
        "make-good kit for what was broken or lost (F4 Kitting, F10, kit make-good)."
        for sense in sorted(needed)
        if held[sense] < needed[sense]
    ]


def _sets_held(view: AircraftView) -> Counter[str]:
    return Counter(thing.sense for thing in view.in_job if thing.kind == "rotor set")


def _sets_needed(view: AircraftView) -> Counter[str]:
    """The senses of the sets that positions wait for; what was taken off for transport comes back by itself."""
    return Counter(p.sense for p in view.positions if p.state in _TO_BEGIN and not p.comes_back)
