"""Verbs of the store itself: making it, checking it, its event log, reversing."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.exits import Exit
from kittrack.cli.progress import progress_line
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option, word
from kittrack.errors import NotFound
from kittrack.queries import log, verify
from kittrack.queries.log import LogEntry
from kittrack.queries.verify import Verdict
from kittrack.services import founding, reversing
from kittrack.store.database import Store
from kittrack.store.fold import Difference


def _verify(store: Store, *, expected_head: str = "") -> Verdict:
    """Verify with a line of progress on a terminal, and silence in a pipe."""
    with progress_line("events") as progress:
        return verify.verify(store, expected_head=expected_head, progress=progress)


def _event_with_key(store: Store, *, key: str) -> LogEntry:
    found = log.event_with_key(store, key=key)
    if found is None:
        raise NotFound("No act was recorded under this key; do it again with the same key.")
    return found


def _log_table(entries: tuple[LogEntry, ...]) -> Table:
    return listing(
        entries, "event", "at", "recorded", "act", "by", "second", "moved", "reason", "codes",
        nothing="no event answers to this",
    )  # fmt: skip


def _verdict_tables(verdict: Verdict) -> list[Table]:
    return [
        facts(("events", verdict.events), ("head", verdict.head), ("faults", len(verdict.faults))),
        *([listing(verdict.faults, "check", "subject", "message", title="faults")] if verdict.faults else []),
        *(
            [listing(verdict.open_points, "check", "subject", "message", title="open points")]
            if verdict.open_points
            else []
        ),
    ]


def _points(found: Verdict) -> tuple[Difference, ...]:
    return (*found.faults, *found.open_points)


VERBS: Final = (
    Verb(
        "found", Station.STORE, "Make a store: its first site, its first manager, its places.",
        '--site Home --time-zone Europe/Oslo --manager "Manager One"',
        founding.found_store,
        (
            option("site", "the first site's name", needed=True),
            option("time_zone", "an IANA name such as Europe/Oslo; it says when a day ends", needed=True),
            option("manager", "the first manager's name", needed=True),
        ),
        makes_store=True,
    ),
    Verb(
        "verify", Station.STORE, "Check the whole store against its own history and the rules.",
        "--expected-head 812:5f0e...",
        _verify,
        (option("expected_head", "number:hash of an event, as a voucher or a note beside a backup shows it"),),
        show=_verdict_tables,
        rows=_points,
        fails=lambda v: Exit.STORE if v.faults else Exit.DONE,
        reaches=(verify.verify,),
    ),
    Verb(
        "log", Station.OFFICE, "The event log, newest first: who did what, when and why.",
        '--act "issue a kit" --limit 20',
        log.event_log,
        (
            option("before", "only events before this number; the last of a page leads to the next", read=reading.whole),
            option("limit", "how many at the most; default 50", read=reading.whole),
            option("act", "only acts of this name"),
            option("person", "only acts of this person, by badge or name"),
        ),
        show=lambda entries: [_log_table(entries)],
        rows=lambda entries: entries,
    ),
    Verb(
        "key", Station.OFFICE, "The event that was recorded under a key of yours, if it was.",
        "night-run-2026-03-02-7",
        _event_with_key,
        (word("key", "the key that the act was given"),),
        show=lambda entry: [_log_table((entry,))],
        rows=lambda entry: (entry,),
        reaches=(log.event_with_key,),
    ),
    Verb(
        "clock correct", Station.OFFICE, "Record that the clock was ahead when the last events were written.",
        '--reason "battery of the clock" --second "Inspector One" --by "Manager One"',
        founding.correct_clock,
    ),
    Verb(
        "reverse", Station.OFFICE, "Reverse an event while everything it moved is still where it put it.",
        '812 --reason "wrong bin" --second "Clerk Two" --by "Clerk One"',
        reversing.reverse_event,
        (
            word("event", "the event's number, as the log shows it", read=reading.whole),
            option("seal", "the seal as read on the kit, where an issue is reversed"),
        ),
    ),
)  # fmt: skip
