"""An airframe's body of text: what is worked on, the plan beside the list of positions, what the job holds."""

from collections.abc import Sequence
from itertools import zip_longest

from kittrack.domain.fit import PASSED
from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.queries.standing import JobStanding
from kittrack.tui import layout
from kittrack.tui.kit_text import amount
from kittrack.tui.symbols import Symbols, sense_mark
from kittrack.tui.widgets.plan_view import Rotor, plan_lines

_SIDE_BY_SIDE = 72  # characters from which plan and list fit beside each other
_HALF_DONE = {"not finished": "NOT FINISHED", "bare": "rotor off", "fitted": "not inspected"}
_IN_WORDS = {"": "not in this job", "not finished": "NOT FINISHED", "fitted": "not inspected"}


def state_in_words(position: PositionView) -> str:
    """How far a position is, with what still sits on it."""
    words = _IN_WORDS.get(position.state, position.state)
    if position.state == "to do" and position.fitted:
        words = "old rotor on"
    return words


def open_job_lines(jobs: Sequence[JobStanding], *, width: int) -> list[str]:
    """What to do first where no airframe is chosen, and the open jobs with how far each is."""
    text = " No airframe is chosen. Scan a job or an airframe's tag, or type its tail; F9 then leads through the work."
    lines = ["", *layout.wrapped(text, width=width, indent=" ")]
    if not jobs:
        return [*lines, "", " No job is open."]
    rows = [(job.job, job.tail, _how_far(job), job.purpose) for job in jobs]
    return [*lines, "", *layout.table([("open job", "tail", "how far", "why"), *rows], width=width)]


def _how_far(job: JobStanding) -> str:
    told = [
        f"{words}: {', '.join(names)}"
        for state, words in _HALF_DONE.items()
        if (names := [name for name, own in job.positions if own == state])
    ]
    if told:
        return "; ".join(told)
    done = sum(state in PASSED for _, state in job.positions)
    return f"{done} of {len(job.positions)} positions inspected" if done else "not begun"


def airframe_lines(
    view: AircraftView,
    *,
    here: str,
    walked: Sequence[str],
    symbols: Symbols,
    from_below: bool,
    width: int,
    height: int,
) -> list[str]:
    """The body for an airframe.

    Args:
        view: the airframe as the store knows it.
        here: the code of the position that is worked on, "" for none.
        walked: the codes of positions that the running walk has seen.
        symbols: of this terminal.
        from_below: whether the plan is flipped.
        width: characters a line.
        height: lines that fit; the plan takes what is left.
    """
    head = _head(view, width=width)
    room = max(9, min(height - len(head) - 1, 19))
    if width < _SIDE_BY_SIDE:
        plan = _plan(view, here, walked, symbols, from_below=from_below, width=width, height=room)
        return [*head, "", *plan, "", *_list(view, here, walked, symbols, width=width)]
    left = width * 9 // 20
    plan = _plan(view, here, walked, symbols, from_below=from_below, width=left, height=room)
    beside = _list(view, here, walked, symbols, width=width - left - 2)
    pairs = zip_longest(plan, beside, fillvalue="")
    return [*head, "", *((line.ljust(left) + "  " + text).rstrip() for line, text in pairs)]


def _head(view: AircraftView, *, width: int) -> list[str]:
    verified = "verified by motor test" if view.map_verified else "NOT VERIFIED by motor test"
    facts = [f"{view.tail}, revision {view.revision}, sense map {view.map_revision} {verified}"]
    if view.job:
        facts.append(f"Job {view.job}, {view.job_state}: {view.purpose}")
    facts += view.holds
    if view.retorque_due:
        facts.append(f"RE-TORQUE DUE: {', '.join(view.retorque_due)} (F10, retorque)")
    facts += [f"OPEN FINDING {text}" for text in view.findings[:1]]
    others = [text.partition(":")[0] for text in view.findings[1:]]
    if others:
        facts.append(f"OPEN FINDINGS too: {', '.join(others)}; F10, finding list, shows them.")
    return [line for fact in facts for line in layout.wrapped(f" {fact}", width=width, indent="   ")]


def _plan(
    view: AircraftView,
    here: str,
    walked: Sequence[str],
    symbols: Symbols,
    *,
    from_below: bool,
    width: int,
    height: int,
) -> list[str]:
    rotors = [
        Rotor(
            p.name,
            p.level,
            p.sense,
            p.angle_mdeg,
            p.radius_um,
            _short_state(view, p, walked),
            is_here=p.code == here,
        )
        for p in view.positions
    ]
    drawn = plan_lines(rotors, width=width, height=height, symbols=symbols, from_below=from_below)
    return drawn or layout.wrapped("The plan needs a larger window; the list says the same.", width=width)


def _short_state(view: AircraftView, position: PositionView, walked: Sequence[str]) -> str:
    if position.code in walked:
        return "seen"
    if not view.job:
        return "rotor on" if position.fitted else "no rotor"
    return state_in_words(position)


def _list(view: AircraftView, here: str, walked: Sequence[str], symbols: Symbols, *, width: int) -> list[str]:
    """Every position, its sense first, then what the job still holds."""
    rows = [
        (
            f"{symbols.here if p.code == here else ' '} {sense_mark(p.sense)}",
            p.name,
            _on(p),
            _short_state(view, p, walked),
        )
        for p in view.positions
    ]
    lines = layout.table([("  sense", "at", "rotor on it", "state"), *rows], width=width, indent="")
    if view.in_job:
        held = [
            (thing.sense or " ", f"{amount(thing.quantity, thing.unit)} {thing.part}", thing.code)
            for thing in view.in_job
        ]
        lines += ["", "the job holds, not used yet:", *layout.table(held, width=width, indent="  ")]
    return lines


def _on(position: PositionView) -> str:
    if not position.fitted:
        return "none"
    return position.fitted if position.agrees else f"{position.fitted} {position.fitted_sense} WRONG SENSE"
