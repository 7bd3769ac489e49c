"""Verbs of the Office's papers: stock review, re-order proposal, what expires, ship sets, matched sets."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Verb, option
from kittrack.cli.verbs_documents import print_verb
from kittrack.cli.verbs_reorder import PROPOSAL_OPTIONS
from kittrack.queries import office_papers, set_papers, stock_review
from kittrack.queries.stock_review import PartReview


def _review(found: tuple[PartReview, ...]) -> list[Table]:
    def in_words(name: str) -> tuple[str, object]:
        return name.replace(
            "_", " "
        ), lambda r: reading.amount_text(getattr(r, name), r.unit) if getattr(r, name) else ""

    quantities = (
        "on_shelf",
        "on_hold",
        "at_bench",
        "in_kits",
        "in_vans",
        "removed",
        "expired",
        "on_order",
        "used",
    )
    return [
        listing(
            found, "sense", "part", *(in_words(name) for name in quantities), "issues",  # type: ignore[arg-type]  # a heading and its reader
            ("cover", lambda r: "" if r.cover is None else f"{r.cover} days"), "says", nothing="no part is in the stores",
        )
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "stock-review", Station.OFFICE, "Every part: what there is and where, what was used, how long it lasts.", "",
        stock_review.stock_review,
        show=_review,
        rows=lambda found: found,
    ),
    print_verb(
        "stock-review", Station.OFFICE, "Write the stock review, as PDF, CSV or workbook.", "", stock_review.stock_review_document
    ),
    print_verb(
        "reorder", Station.OFFICE, "Write the re-order proposal with its reasons, to be approved.", "--protection 98",
        office_papers.reorder_document, *PROPOSAL_OPTIONS,
    ),
    print_verb(
        "expiry", Station.OFFICE, "Write what expires, what will be wasted, and what falls due.", "--days 60", office_papers.expiry_document,
        option("within_days", "how many days ahead; default 90", read=reading.whole, flag="--days"),
    ),
    print_verb("ship-sets", Station.OFFICE, "Write what can be built by place and together, and what limits it.", "", office_papers.ship_sets_document),
    print_verb("matched-sets", Station.OFFICE, "Write which sets are proved and which are not, and every orphaned blade.", "", set_papers.matched_sets_document),
)  # fmt: skip
