"""Verbs of recalls and drills: notices, decisions, closing, and exercises that hold nothing."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option, switch, word, words
from kittrack.cli.verbs_hold import HELD, SCOPE_OPTIONS, scope_of
from kittrack.cli.verbs_kit_views import against_table
from kittrack.domain.codes import Kind
from kittrack.queries import recalls
from kittrack.queries.recalls import Drill, DrillSummary, Notice, RecallStanding, RecallSummary
from kittrack.services import drilling, recalling

_HOLD: Final = word("hold", "the recall's code (H)")
_NOTICE: Final = word("notice", "the notice's code (M)")
_DRILL: Final = word("drill", "the drill's code (F)")


def _cases(found: tuple[RecallSummary, ...]) -> list[Table]:
    return [
        listing(
            found, "hold", "of", "reference", "placed_at", "state", "open_entries", "notices_open",
            nothing="no recall was ever placed",
        )
    ]  # fmt: skip


def _case(found: RecallStanding) -> list[Table]:
    return [
        facts(
            ("recall", found.hold), ("of", found.of), ("reason", found.reason), ("reference", found.reference),
            ("placed at", found.placed_at), ("placed by", found.placed_by), ("state", found.state), ("under", found.ended_under),
        ),
        *([against_table(found.against)] if found.against else []),
        *_notices(found.notices, title="notices"),
        listing(
            found.stock, ("class", lambda s: s.account_class), ("quantity", lambda s: reading.amount_text(s.quantity, s.unit)),
            "sense", "part", "receipt_line", "piece", "serial", "where", ("settled", lambda s: s.settled or "OPEN"),
            title="everything under it", nothing="nothing is under it any more",
        ),
    ]  # fmt: skip


def _notices(found: tuple[Notice, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "notice", "kind", "recipient", "state", "sent_how", "sent_at", "answer", "answered_at",
            title=title, nothing="no notice is written",
        )
    ]  # fmt: skip


def _drill(found: Drill) -> list[Table]:
    return [
        _drill_facts(found),
        listing(
            found.entries, "entry", ("class", lambda e: e.account_class), "where", "sense", "part",
            ("found", lambda e: "" if e.found is None else reading.amount_text(e.found, e.unit)),
            ("on record", lambda e: "" if e.expected is None else reading.amount_text(e.expected, e.unit)), "by",
        ),
    ]  # fmt: skip


def _drill_facts(found: Drill) -> Table:
    return facts(
        ("DRILL", found.drill), ("of", found.of), ("started at", found.started_at), ("started by", found.started_by),
        ("ended at", found.ended_at), ("minutes", found.minutes), ("entries not seen", found.unseen or None),
        ("adds up", found.adds_up),
    )  # fmt: skip


def _drills(found: tuple[DrillSummary, ...]) -> list[Table]:
    return [
        listing(
            found, "drill", "of", "started_at", "minutes", "unseen", "adds_up", nothing="no drill was ever held"
        )
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "recall-case list", Station.OFFICE, "Every recall, how much of it is open, how many notices have no answer.", "--open",
        recalls.recalls,
        (switch("only_open", "only those that are neither closed nor cancelled", flag="--open"),),
        show=_cases,
        rows=lambda found: found,
    ),
    Verb(
        "recall-case show", Station.OFFICE, "How far a recall is: its stock, its notices, every reason against closing it.",
        "H000003-2",
        recalls.recall_standing,
        (_HOLD,),
        show=_case,
        rows=lambda found: found.stock,
    ),
    Verb(
        "recall-case decide", Station.OFFICE, "Keep what was decided about recalled stock that stays where it is.",
        'H000003-2 QA-01 --decision "inspected in place, may fly until 2026-12-31" --reference "SB-7 para 3" --by "Inspector One"',
        recalling.record_disposition,
        (
            _HOLD,
            words(
                "things", 'receipt lines, pieces, airframes, or a class of the account in words, such as "lost"',
                scans=(Kind.RECEIPT_LINE, Kind.PIECE, Kind.AIRFRAME),
            ),
            option("decision", "what was decided", needed=True),
            option("reference", "the document that allows it", needed=True),
        ),
    ),
    Verb(
        "recall-case close", Station.OFFICE, "Close a recall whose every piece is accounted for; what it holds stays on hold.",
        'H000003-2 --reference "report 12" --reason "all 48 scrapped" --second "Inspector One" --by "Manager One"',
        recalling.close_recall,
        (_HOLD, option("reference", "what the closing is reported under", needed=True)),
    ),
    Verb(
        "notice write", Station.OFFICE, "Write a notice for each airframe, van, person and new owner that has none of a recall.",
        'H000003-2 --by "Clerk One"',
        recalling.write_notices,
        (_HOLD,),
    ),
    Verb(
        "notice sent", Station.OFFICE, "Mark a notice as sent, and how.", 'M000001-4 "handed to the crew" --by "Clerk One"',
        recalling.mark_notice_sent,
        (_NOTICE, word("how", "how it was sent, in words")),
    ),
    Verb(
        "notice answer", Station.OFFICE, "Keep what the recipient of a notice answered.",
        'M000001-4 "4 screws taken off, bagged, on their way" --by "Clerk One"',
        recalling.record_notice_answer,
        (_NOTICE, word("answer", "what was found and done, in words")),
    ),
    Verb(
        "notice list", Station.OFFICE, "Every notice of every recall, the newest first.", "--open",
        recalls.notices,
        (switch("only_open", "only those without an answer", flag="--open"),),
        show=_notices,
        rows=lambda found: found,
    ),
    Verb(
        "drill start", Station.OFFICE, "Start a recall drill: nothing is held, every place with something is to be looked at.",
        'L000012-5 --reason "quarterly drill" --by "Manager One"',
        drilling.start_drill,
        (word("code", "a lot, receipt line, piece, rotor set, kit or scale of ours", needed=False, scans=HELD), *SCOPE_OPTIONS),
        build=scope_of,
    ),
    Verb(
        "drill report", Station.OFFICE, "Report what was seen at one entry of a drill; the last one ends it and tells the time.",
        'F000001-C 3 16 --by "Clerk One"',
        drilling.report_drill,
        (
            _DRILL,
            word("line", "the entry's number on the drill's list", read=reading.whole),
            word("found", "how much was seen there: pieces, or a volume with its unit", read=reading.counted),
        ),
    ),
    Verb(
        "drill stop", Station.OFFICE, "End a drill before everything was seen.", 'F000001-C --reason "called away" --by "Manager One"',
        drilling.stop_drill,
        (_DRILL,),
    ),
    Verb(
        "drill show", Station.OFFICE, "A drill's list: where to look, what was seen, how long it took.", "F000001-C",
        recalls.drill,
        (_DRILL,),
        show=_drill,
        rows=lambda found: found.entries,
    ),
    Verb(
        "drill list", Station.OFFICE, "Every drill with its time to full account.", "",
        recalls.drills,
        show=_drills,
        rows=lambda found: found,
    ),
)  # fmt: skip
