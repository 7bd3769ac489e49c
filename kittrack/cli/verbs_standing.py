"""Questions about airframes and the work on them: plan, fitted sets, jobs, findings, re-torques due."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, switch, word
from kittrack.cli.verbs_kit_views import against_table
from kittrack.domain.codes import Kind
from kittrack.queries import aircraft, at_aircraft, due, standing
from kittrack.queries.aircraft import Fastened, Fitted, Plan, PlanPosition
from kittrack.queries.at_aircraft import AircraftView
from kittrack.queries.due import RetorqueDue
from kittrack.queries.standing import JobStanding, OpenFinding

_AIRFRAME: Final = word("airframe", "code or tail")


def _plan(plan: Plan) -> list[Table]:
    verified = "verified by motor test" if plan.map_verified else "NOT verified"
    return [
        facts(
            ("airframe", plan.airframe), ("tail", plan.tail), ("type", f"{plan.type_name} revision {plan.revision}"),
            ("state", plan.state), ("sense map", f"revision {plan.map_revision}, {verified}"),
            ("hours", reading.time_text(plan.minutes)), ("flights", "unknown" if plan.flights is None else plan.flights),
            ("open jobs", plan.jobs), ("open findings", plan.findings),
        ),
        listing(
            plan.positions, "sense", "name", "alias", "code", "arm", "level", ("angle", lambda p: f"{p.angle_mdeg / 1000:g} deg"),
            ("fitted", _sits), "set_part", "approved", "job", "state",
            title="positions, seen from above, angles clockwise from the nose",
        ),
    ]  # fmt: skip


def _sits(position: PlanPosition) -> str:
    if not position.rotor_set:
        return ""
    words = [position.set_sense, position.rotor_set]
    words += ["WRONG SENSE"] if position.agrees is False else []
    words += ["ON HOLD"] if position.held else []
    return " ".join(words)


def _fitted(sets: tuple[Fitted, ...]) -> list[Table]:
    return [
        listing(
            sets, "sense", "name", "rotor_set", "part", "condition", "holds", ("hours", lambda f: reading.time_text(f.used_minutes)),
            "mark", "state", "job", "fitted_by", "fitted_at", "inspected_by", "inspection", "walked_by",
            ("fastened", lambda f: _fastened(f.fastened)),
            nothing="nothing is fitted on it",
        )
    ]  # fmt: skip


def _fastened(how: Fastened | None) -> str:
    if how is None:
        return ""
    torque = reading.torque_text(how.torque_mnm) or how.torque_method
    return (
        f"{how.screws} {how.screw_part} of {how.screw_lot}, {torque}{f' by {how.tool}' if how.tool else ''}"
    )


def _at_aircraft(view: AircraftView) -> list[Table]:
    verified = "verified by motor test" if view.map_verified else "NOT verified"
    return [
        facts(
            ("airframe", view.code), ("tail", view.tail), ("revision", view.revision), ("state", view.state),
            ("sense map", f"revision {view.map_revision}, {verified}"), ("job", view.job), ("purpose", view.purpose),
            ("job state", view.job_state), ("on hold", view.holds), ("re-torque due", view.retorque_due), ("open findings", view.findings), ("next", view.next_step.removeprefix("Next: ")),
        ),
        listing(view.positions, "sense", "name", "code", "state", "fitted_sense", "fitted", "fitted_part", "fit_state", "worked_by", title="positions"),
        listing(
            view.in_job, "sense", "code", "kind", "part", ("quantity", lambda t: reading.amount_text(t.quantity, t.unit)),
            title="issued to the job and not settled",
        ),
        *([listing(view.kits, "code", ("state", lambda k: "issued, unopened" if k.is_issued else f"kept until {k.until}"), "where", title="kits that wait for the job")] if view.kits else []),
        *([against_table(view.against_closing)] if view.against_closing else []),
    ]  # fmt: skip


def _jobs(jobs: tuple[JobStanding, ...]) -> list[Table]:
    return [
        listing(
            jobs, "job", "tail", "purpose", "state", ("positions", lambda j: tuple(f"{name} {state}" for name, state in j.positions)),
            "owed", ("against closing", lambda j: tuple(sorted({r.rule for r in j.reasons}))),
            ("next step", lambda j: j.next_step.removeprefix("Next: ")),
            nothing="no job is open",
        )
    ]  # fmt: skip


def _findings(found: tuple[OpenFinding, ...]) -> list[Table]:
    return [
        listing(
            found, "finding", "airframe", "position", "rotor_set", "job", "text", "at", "by", nothing="no finding is open"
        )
    ]  # fmt: skip


def _retorques(found: tuple[RetorqueDue, ...]) -> list[Table]:
    return [
        listing(
            found, "airframe", "name", "position", "rotor_set", ("every", lambda r: reading.time_text(r.interval_minutes)),
            ("since", lambda r: reading.time_text(r.since_minutes)), ("over", lambda r: reading.time_text(r.over_minutes)), "due",
            nothing="no re-torque is due",
        )
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "aircraft", Station.AIRCRAFT, "An airframe with its open job: every position, what is there, the next step.", "QA-01",
        at_aircraft.aircraft_view,
        (word("code", "an airframe by code or tail, its job, or one of its positions", scans=(Kind.AIRFRAME, Kind.JOB, Kind.POSITION)),),
        show=_at_aircraft,
        rows=lambda view: view.positions,
    ),
    Verb(
        "airframe show", Station.AIRCRAFT, "An airframe seen from above: map, jobs, findings, positions.", "QA-01",
        aircraft.plan,
        (_AIRFRAME,),
        show=_plan,
        rows=lambda plan: plan.positions,
    ),
    Verb(
        "airframe fitted", Station.AIRCRAFT, "What is fitted on an airframe: by whom, how fastened, how old.", "QA-01",
        aircraft.as_fitted,
        (_AIRFRAME,),
        show=_fitted,
        rows=lambda sets: sets,
    ),
    Verb(
        "job list", Station.AIRCRAFT, "Every open job, oldest first: what the next shift has to know.", "",
        standing.open_jobs,
        show=_jobs,
        rows=lambda jobs: jobs,
        reaches=(standing.newest_open_jobs, standing.standing),
    ),
    Verb(
        "finding list", Station.AIRCRAFT, "Every finding that nobody has settled, oldest first.", "",
        standing.findings,
        show=_findings,
        rows=lambda found: found,
    ),
    Verb(
        "retorques", Station.OFFICE, "Re-torques that are due, the most overdue first.", "--all",
        due.retorques,
        (switch("everything", "also those that are not due yet", flag="--all"),),
        build=lambda values: {"only_due": not values.get("everything", False)},
        show=_retorques,
        rows=lambda found: found,
    ),
)  # fmt: skip
