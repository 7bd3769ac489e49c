"""Printing a list: by its own paper where it has one, else as it stands, with its filter and its bars."""

from typing import TYPE_CHECKING, Final

from kittrack.tui.doing import do
from kittrack.tui.layout import figure_columns
from kittrack.tui.listing import Page, Record
from kittrack.tui.lists import OfQuestion
from kittrack.tui.writing import write_content

if TYPE_CHECKING:
    from kittrack.tui.list_station import ListStation

_MOST: Final = 5_000  # rows on paper; some sixty pages


async def write_list(station: "ListStation") -> None:
    """Ask for a file, and write the list that a station shows into it."""
    from kittrack.printing.documents import Document, Table

    listing = station.listing
    deeds = await station.app.deeds_by_key()
    paper = listing.paper or (deeds[listing.question].paper if isinstance(listing, OfQuestion) else "")
    if paper:
        await do(station, deeds[paper])
        return
    page = await station.page_after("")
    records, more = await _records(station, page)
    facts = [("Rows", f"the first {len(records)}; more follow" if more else str(len(records)))]
    if station.filtered_by:
        facts.append(("Filtered by", station.filtered_by))
    heads = tuple(map(_begun_large, page.heads or listing.heads))
    title = _begun_large(listing.title)
    rows = tuple(tuple(record.cells) for record in records)
    right = frozenset(heads[at] for at in figure_columns(rows))
    content = Document(
        title, facts=tuple(facts), charts=(page.chart,) if page.chart else (),
        tables=(Table("Rows", heads, rows, right=right, empty=listing.empty),),
    )  # fmt: skip
    await write_content(station, listing.title, content)


def _begun_large(words: str) -> str:
    return words[:1].upper() + words[1:]


async def _records(station: "ListStation", page: Page) -> tuple[list[Record], bool]:
    """All the records that the filter lets through, as far as they go on paper; says whether more follow."""
    records = list(page.records)
    while page.more and len(records) < _MOST:
        page = await station.page_after(records[-1].key)
        records += page.records
    return records[:_MOST], page.more or len(records) > _MOST
