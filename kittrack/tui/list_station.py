"""A station that shows lists: type to filter, scan to look up, the record under the cursor in full below.

It changes nothing; what is to be done is told, with the verb of the command line that does it.
"""

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual.containers import Container
from textual.widget import Widget

from kittrack.domain.codes import Code
from kittrack.queries.lookup import what_is
from kittrack.tui import layout
from kittrack.tui.entries import Entry
from kittrack.tui.keys import ARROWS, PAGES, Key
from kittrack.tui.listing import Listing, Page
from kittrack.tui.station import Station, bindings
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.record_list import RecordList
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.text_body import TextBody

_OWN: tuple[Key, ...] = (Key("f8", "F8", "next_list", "the next list of this station"), *ARROWS, *PAGES)


class ListStation(Station):
    """Shows one list of several."""

    wants = "any label to look it up, or type to filter"
    own_keys = _OWN
    BINDINGS: ClassVar = bindings(_OWN)
    takes_names = False
    lists: ClassVar[tuple[Listing, ...]]

    def __init__(self) -> None:
        super().__init__()
        self._number = 0
        self._text = ""
        self._befores: list[str] = []
        self._page = Page(())

    def body(self) -> Iterable[Widget]:
        """The list, and the detail of one record."""
        yield Container(
            RecordList(symbols=self.symbols),
            TextBody(symbols=self.symbols, widget_id="detail"),
            classes="lists",
        )

    @property
    def listing(self) -> Listing:
        """The list that is shown."""
        return self.lists[self._number]

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """Look a label up; typed text filters."""
        if entry.code is not None:
            await self._look_up(entry.code)
        elif entry.scan.problems:
            entry.require_code("a label of this store")
        else:
            await self._filter(entry.text)

    async def _look_up(self, code: Code) -> None:
        thing = await self.app.ask(what_is, code=code.text)
        self.query_one(RecordList).choose(code.text)
        lines = [f"{thing.kind} {thing.code}", *(f"{name}: {value}" for name, value in thing.facts)]
        around = [place for place in thing.where if place != thing.code]
        lines += [f"it is in {' in '.join(around)}"] if around else []
        lines += [f"ON HOLD under {hold}" for hold in thing.holds]
        self._show_detail(lines)
        where = f", in {around[0]}" if around else ""
        held = " It is ON HOLD." if thing.holds else ""
        self.say(verdict(Tone.DONE, f"{thing.code} is {code.kind.with_article}{where}.{held}"))

    async def go_ahead(self) -> None:
        """These stations only read so far as this screen goes."""
        self.say(verdict(Tone.NEXT, "This station shows; acts here are verbs: kittrack --help lists them."))

    async def start_again(self) -> None:
        """The whole list again, from its first record."""
        await self._filter("")

    async def reload(self) -> None:
        """The same page anew."""
        await self._load(self._befores[-1] if self._befores else "")

    async def _filter(self, text: str) -> None:
        self._text, self._befores = text.strip(), []
        await self._load("")

    async def _load(self, after: str, *, at_end: bool = False) -> None:
        listing = self.listing
        self._page = await self.app.ask_for_page(listing, after=after, text=self._text)
        records = self.query_one(RecordList)
        records.show(listing.heads, self._page.records, at_end=at_end)
        self._say_what_is_shown()

    def _say_what_is_shown(self) -> None:
        listing, page = self.listing, self._page
        which = f"{listing.title} (list {self._number + 1} of {len(self.lists)})"
        if not page.records and not self._text and not self._befores:
            self.say(verdict(Tone.NEXT, f"{which}: {listing.empty}"))
            return
        filtered = f"; filtered by {self._text!r}, Esc shows all" if self._text else ""
        more = "; more below" if page.more else ""
        count = page.note or f"{len(page.records)} shown"
        self.say(verdict(Tone.NEXT, f"{which}: {count}{more}{filtered}."))

    # ---- what is shown ---------------------------------------------------------------------------

    def keys_in_words(self) -> Sequence[str]:
        """Moving, filtering, the next list."""
        following = self.lists[(self._number + 1) % len(self.lists)]
        return ("Up Down", "Esc all", f"F8 {following.title}")

    def prompt(self) -> str:
        """Scan or type."""
        return "scan, or type to filter"

    def _show_detail(self, lines: Sequence[str]) -> None:
        self.query_one("#detail", TextBody).show(
            lambda width: [part for line in lines for part in layout.wrapped(line, width=width, indent="  ")]
        )

    def on_record_list_moved(self) -> None:
        """Show the record under the cursor in full."""
        here = self.query_one(RecordList).here
        self._show_detail(here.detail if here else ())

    def on_record_list_past(self, event: RecordList.Past) -> None:
        """Turn the page."""
        self.app.then(self._next_page if event.direction > 0 else self._page_before, station=self)

    async def _next_page(self) -> None:
        if self._page.more:
            self._befores.append(self._page.records[-1].key)
            await self._load(self._befores[-1])

    async def _page_before(self) -> None:
        if self._befores:
            self._befores.pop()
            await self._load(self._befores[-1] if self._befores else "", at_end=True)

    def on_scan_line_changed(self, event: ScanLine.Changed) -> None:
        """Filter while somebody types."""
        event.stop()
        if event.text.strip() != self._text and event.text:
            text = event.text
            self.app.then(lambda: self._filter(text), station=self)

    def action_move(self, lines: int) -> None:
        """Up and Down."""
        self.query_one(RecordList).move(lines)

    def action_page(self, pages: int) -> None:
        """A screen full up or down."""
        records = self.query_one(RecordList)
        records.move(pages * records.rows)

    def action_next_list(self) -> None:
        """F8."""
        self._number = (self._number + 1) % len(self.lists)
        self.app.then(self.start_again, station=self)
