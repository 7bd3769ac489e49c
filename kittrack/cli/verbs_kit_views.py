"""Questions about kits, issues and jobs: what is needed, what is there, what stands against the next step."""

from collections.abc import Callable, Sequence
from typing import Final

from kittrack.cli.exits import Exit
from kittrack.cli.reading import amount_text
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option, word
from kittrack.errors import Refusal
from kittrack.queries import kits, kits_for_job
from kittrack.queries.kits import IssueView, JobView, KitLineView, KitView

STATES: Final = ("building", "checked", "sealed", "issued", "opened", "dissolved")
_KIT: Final = word("kit", "the kit's code")
_JOB: Final = word("job", "the job's code")


def against_table(against: Sequence[Refusal]) -> Table:
    """Every reason against something, by rule."""
    return listing(against, "rule", "message", title="against it")


def _kit(view: KitView) -> list[Table]:
    return [
        facts(
            ("kit", view.code), ("state", view.state), ("purpose", view.purpose), ("for", view.revision),
            ("airframe", view.airframe), ("job", view.job), ("positions", view.positions), ("senses", view.senses),
            ("where", view.where), ("built by", view.built_by), ("checked by", view.checked_by), ("seal", view.seal),
            ("good until", view.expires_on), ("reserved", view.reserved), ("next", view.next_step),
        ),
        listing(
            view.lines, "sense", "rank", "kind", "part",
            *((name.replace("_", " "), _amount(name)) for name in ("needed", "have", "short", "left_over")), "packs", "things",
            title="lines",
        ),
        *([against_table(view.against)] if view.against else []),
    ]  # fmt: skip


def _amount(name: str) -> Callable[[KitLineView], str]:
    return lambda line: amount_text(getattr(line, name), line.unit)


def _kits(found: tuple[KitView, ...]) -> list[Table]:
    return [
        listing(
            found, "code", "state", ("for", lambda k: k.revision), "airframe", "positions", "where", "seal",
            ("good until", lambda k: k.expires_on), ("against", lambda k: tuple(sorted({r.rule for r in k.against}))),
            ("next", lambda k: k.next_step),
            nothing="no such kit",
        )
    ]  # fmt: skip


def _issue(view: IssueView) -> list[Table]:
    verdict = "READY: issue the whole kit" if view.is_ready else "NOT READY"
    return [
        facts(
            ("kit", view.kit.code), ("job", view.job), ("airframe", view.airframe), ("verdict", verdict),
            ("override", "needed: built for another airframe" if view.needs_override else ""),
        ),
        *([against_table(view.against)] if view.against else []),
    ]  # fmt: skip


def _job(view: JobView) -> list[Table]:
    return [
        facts(
            ("job", view.code), ("airframe", view.airframe), ("purpose", view.purpose), ("state", view.state),
            ("not settled", view.left_over), ("next", view.next_step.removeprefix("Next: ")),
        ),
        Table(("position", "state"), view.positions, "positions"),
        Table(("kit", "state"), view.kits, "kits"),
        *([against_table(view.against)] if view.against else []),
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "kit show", Station.KITTING, "A kit with its lines, every reason against it, and the next step.", "K000042-G",
        kits.kit_view,
        (_KIT,),
        show=_kit,
        rows=lambda view: view.lines,
    ),
    Verb(
        "kit list", Station.KITTING, "Kits in a state, or all that are not dead.", "--state sealed",
        kits.kits,
        (option("state", "only kits in this state", choices=STATES),),
        show=_kits,
        rows=lambda found: found,
    ),
    Verb(
        "issuable", Station.COUNTER, "Whether a kit can go to a job, or every reason against it.",
        "K000042-G J000031-6 --seal 004417",
        kits.issue_view,
        (
            _KIT,
            _JOB,
            option("airframe", "the airframe as scanned; by default the job's"),
            option("seal", "the seal, as read on the kit"),
            option("giver", "badge or name of who gives it"),
            option("receiver", "badge or name of who takes it"),
        ),
        show=_issue,
        fails=lambda view: Exit.DONE if view.is_ready else Exit.REFUSED,
    ),
    Verb(
        "job show", Station.COUNTER, "How far a job is: positions, kits, what is not settled, every reason against closing it, the next step.", "J000031-6",
        kits.job_view,
        (_JOB,),
        show=_job,
    ),
    Verb(
        "job kits", Station.COUNTER, "Sealed kits to fetch for a job: those kept for it first, then those that fit.",
        "J000031-6",
        kits_for_job.kits_for_job,
        (_JOB,),
        show=lambda found: [
            listing(found, "kit", "where", "positions", "expires_on", "kept_until", "against", nothing="no sealed kit fits; build one")
        ],
        rows=lambda found: found,
    ),
)  # fmt: skip
