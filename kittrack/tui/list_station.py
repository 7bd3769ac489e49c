"""A station that shows lists: type to filter, scan to take in hand, the record under the cursor in full beside it.

What is in hand is what was scanned last, or what the cursor stands on; it fills the form of whatever is done
next. Source: design 7.
"""

from collections.abc import Iterable, Sequence
from functools import partial
from typing import ClassVar

from textual.containers import Container
from textual.widget import Widget

from kittrack.domain.codes import Code, Kind, looks_like_code, read_code
from kittrack.domain.paper_marks import looks_like_paper_mark
from kittrack.errors import BadInput, KittrackError
from kittrack.queries.lookup import what_is
from kittrack.services.desk import Done
from kittrack.tui import doing, explain_pane, layout, list_writing
from kittrack.tui.chooser import Choice, Chooser
from kittrack.tui.entries import Entry
from kittrack.tui.frame import bindings
from kittrack.tui.hints import RAW
from kittrack.tui.keys import ARROWS, PAGES, Key
from kittrack.tui.listing import Listing, Page, Record, Step
from kittrack.tui.lists import OfQuestion
from kittrack.tui.standings import Standing, standing_of, thing_lines, wrapping
from kittrack.tui.station import Station
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.record_list import RecordList
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.text_body import TextBody
from kittrack.tui.widgets.verdict_line import VerdictLine
from kittrack.tui.writing import SAVE

_OWN: tuple[Key, ...] = (
    Key("f8", "F8", "lists", "the other lists of this station"),
    Key("f11", "F11", "explain", "explain what is in hand: the figures that decided, and its trace"),
    Key("ctrl+o", "Ctrl+O", "explain", "the same, where the terminal keeps F11 for itself"),
    SAVE,
    *ARROWS,
    *PAGES,
)


class ListStation(Station):
    """Shows one list of several, and does what comes next for what is in hand."""

    wants = "any label to take it in hand, or type to filter"
    own_keys = _OWN
    BINDINGS: ClassVar = bindings(_OWN)
    takes_names = False
    lists: ClassVar[tuple[Listing, ...]]
    takes_boxes: ClassVar[bool] = False
    asks_at_once: ClassVar[bool] = False

    def __init__(self) -> None:
        super().__init__()
        self._number = 0
        self._text = ""
        self._befores: list[str] = []
        self._page = Page(())
        self._scanned: Code | None = None
        self._standing: Standing | None = None
        self._looked: tuple[Record | None, tuple[Code, ...]] | None = None

    def body(self) -> Iterable[Widget]:
        """The list, and what is in hand."""
        yield Container(
            RecordList(symbols=self.symbols),
            TextBody(symbols=self.symbols, widget_id="detail"),
            classes="lists",
        )

    @property
    def listing(self) -> Listing:
        """The list that is shown."""
        return self.lists[self._number]

    # ---- what is in hand -------------------------------------------------------------------------

    @property
    def here(self) -> Record | None:
        """The record under the cursor."""
        return self.query_one(RecordList).here

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """The number that was scanned last, or that of the record under the cursor."""
        if self._scanned is not None:
            return (self._scanned,)
        found = code_of(self.here)
        return (found,) if found else ()

    @property
    def next_step(self) -> Step | None:
        """What F9 does: the next step of what is in hand, or the first thing to do where a list is empty."""
        here = self.here
        if self._scanned is None and here is None:
            return self.listing.first if not self._text else None
        if here is not None and here.step is not None and self._scanned in (None, code_of(here)):
            return here.step  # what the list is about comes before what can always be done with such a thing
        return self._standing.step if self._standing else None

    async def look(self) -> None:
        """Ask the store what is in hand, and what comes next for it."""
        here, codes = self.here, self.in_hand
        self._standing = None
        if codes:
            try:
                self._standing = await standing_of(self.app.ask, codes[0], self.app.now())
            except KittrackError as error:
                self._standing = Standing(wrapping([str(error)]), None)
        self._looked = (here, codes)
        if (self.here, self.in_hand) == (here, codes) and self.is_mounted:
            self._show_detail(here)
            self.show_keys()

    def _show_detail(self, here: Record | None) -> None:
        told = wrapping(here.detail) if here is not None and self._scanned is None else (lambda _: [])
        standing = self._standing.draw if self._standing else (lambda _: [])
        picture = self._page.picture or (lambda _: [])
        self.query_one("#detail", TextBody).show(
            lambda width: [*told(width), *standing(width), *picture(width)]
        )
        self.query_one("#detail", TextBody).scroll_home(animate=False)
        self.call_after_refresh(self.show_keys)

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """A label of ours is taken in hand, a supplier's begins a delivery or filters; typed text filters."""
        if entry.code is not None:
            await self._take_in_hand(entry.code)
        elif looks_like_paper_mark(entry.text):
            await self._tell_of_paper(entry.text)
        elif entry.scan.problems:
            entry.require_code("a label of this store")
        elif entry.scan.fields.found() and not entry.typed:
            await self._take_label(entry)
        else:
            await self._filter(entry.text)

    async def _take_in_hand(self, scanned: Code) -> None:
        """Take what was scanned, and of the tag that a set got when it came off the set itself."""
        found = await self.app.ask(
            what_is, code=scanned.text
        )  # what is not known is told, and nothing is in hand
        code = read_code(dict(found.facts)["rotor set"]) if scanned.kind is Kind.TAG else scanned
        self.query_one(RecordList).choose(code.text)
        self._scanned = code
        await self.look()
        then = (
            f"Next, F9: {self.next_step.words}." if self.next_step else "F10 tells what can be done with it."
        )
        told = (
            [line for line in thing_lines(found)[1:] if code.text not in line] if code is not scanned else []
        )
        by_tag = [f"Its tag {scanned} says: {'; '.join(told)}."] if told else []
        self.say(verdict(Tone.DONE, f"In hand: {code.kind.in_words} {code}.", then, *by_tag))

    async def _tell_of_paper(self, mark: str) -> None:
        """Where in the chain a paper stands; nothing is in hand by it."""
        if self._text:
            await self._filter("")
        self.say(verdict(Tone.DONE, *thing_lines(await self.app.ask(what_is, code=mark))))

    async def _take_label(self, entry: Entry) -> None:
        if self.takes_boxes:
            await self._do(Step("delivery scan", "take the delivery in", ((RAW, entry.raw),)))
            return
        read = entry.scan.fields
        await self._filter(read.serial or read.lot or read.part_number or read.customer_part or entry.text)

    async def go_ahead(self) -> None:
        """F9: the next step, or everything that can be done."""
        if self.next_step is None:
            await doing.choose(self)
        else:
            await self._do(self.next_step)

    async def _do(self, step: Step) -> None:
        deeds = await self.app.deeds_by_key()
        await doing.do(
            self, deeds[step.deed], codes=self.in_hand, given=dict(step.given), rows=tuple(map(dict, step.rows)),
            at_once=self.asks_at_once,
        )  # fmt: skip

    async def took(self, answer: Done) -> None:
        """Show the store as it is now, what the act made in hand, and what comes next for it."""
        scanned, self._scanned = self._scanned, None
        given = await doing.given_out(self.app, answer)
        await self.reload()
        codes = [read_code(code) for code in answer.codes if looks_like_code(code)]
        codes = [code for code in codes if code.kind is not Kind.DELIVERY]  # its lines go on, it does not
        new = [code for code in codes if code.text in given]
        about = codes if len(codes) == 1 else [] if scanned else new
        self._scanned = about[0] if about else scanned  # of several that it only worked on, none is the next
        if self._scanned is not None:
            self.query_one(RecordList).choose(self._scanned.text)
        await self.look()
        then = ""
        if self.next_step and self.in_hand:
            first = f", the first of {len(about)}" if len(about) > 1 else ""
            then = f"Next, F9: {self.next_step.words} ({self.in_hand[0]}{first})."
        self.say(doing.what_was_done(answer, then, new=given))

    async def start_again(self) -> None:
        """The whole list again, from its first record, nothing in hand."""
        self._scanned = None
        await self._filter("")

    # ---- pages -----------------------------------------------------------------------------------

    async def reload(self) -> None:
        """The same page anew, the cursor where it was."""
        key = self.here.key if self.here else ""
        await self._load(self._befores[-1] if self._befores else "")
        if key:
            self.query_one(RecordList).choose(key)

    async def page_after(self, after: str) -> Page:
        """The records after a key that the filter lets through."""
        listing = self.listing
        if isinstance(listing, OfQuestion):
            deeds = await self.app.deeds_by_key()
            return await listing.page_of(
                deeds[listing.question], self.app.ask, after=after, text=self._text, at=self.app.now()
            )
        return await self.app.ask_for_page(listing, after=after, text=self._text)

    @property
    def filtered_by(self) -> str:
        """What was typed to filter."""
        return self._text

    async def _filter(self, text: str) -> None:
        self._text, self._befores, self._scanned = text.strip(), [], None
        await self._load("")

    async def _load(self, after: str, *, at_end: bool = False) -> None:
        listing = self.listing
        self._page = await self.page_after(after)
        self.query_one(RecordList).show(self._page.heads or listing.heads, self._page.records, at_end=at_end)
        await self.look()
        self._say_what_is_shown()

    def _say_what_is_shown(self) -> None:
        listing, page = self.listing, self._page
        which = f"{listing.title} (list {self._number + 1} of {len(self.lists)})"
        if not page.records and not self._text and not self._befores:
            first = f"F9: {listing.first.words}." if listing.first else ""
            self.say(verdict(Tone.NEXT, f"{which}: {listing.empty}", first))
            return
        filtered = f"; filtered by {self._text!r}, Esc shows all" if self._text else ""
        more = "; more below" if page.more else ""
        count = page.note or f"{len(page.records)} shown"
        self.say(verdict(Tone.NEXT, f"{which}: {count}{more}{filtered}."))

    async def _next_page(self) -> None:
        if self._page.more:
            self._befores.append(self._page.records[-1].key)
            await self._load(self._befores[-1])

    async def _page_before(self) -> None:
        if self._befores:
            self._befores.pop()
            await self._load(self._befores[-1] if self._befores else "", at_end=True)

    # ---- what is shown ---------------------------------------------------------------------------

    def keys_in_words(self) -> Sequence[str]:
        """The next step of what is in hand, the other lists, what decided."""
        step = self.next_step
        explain = ["F11 explain"] if self.in_hand else []
        return (*([f"F9 {step.words}"] if step else []), "F8 lists", *explain, "Esc all")

    body_goes_on_by = "Ctrl+Down more"

    @property
    def body_goes_on(self) -> bool:
        """Whether more is told of the line under the cursor than fits."""
        return self.query_one("#detail", TextBody).goes_on

    def prompt(self) -> str:
        """Scan or type."""
        return "scan, or type to filter"

    # ---- keys ------------------------------------------------------------------------------------

    def on_record_list_moved(self) -> None:
        """What the cursor stands on is in hand."""
        here = self.here
        if (here, self.in_hand) == self._looked:
            return
        self._standing = None
        self._show_detail(here)
        if here is not None:
            self.app.then(partial(self._look_at, here), station=self)

    async def _look_at(self, record: Record) -> None:
        if self.here is record and self._scanned is None and self.is_mounted:
            await self.look()

    def on_record_list_past(self, event: RecordList.Past) -> None:
        """Turn the page."""
        self.app.then(self._next_page if event.direction > 0 else self._page_before, station=self)

    def on_scan_line_changed(self, event: ScanLine.Changed) -> None:
        """Filter while somebody types."""
        event.stop()
        if event.text.strip() != self._text and event.text:
            self.app.then(partial(self._filter, event.text), station=self)

    def action_move(self, lines: int) -> None:
        """Up and Down."""
        if self._scanned is not None:
            self._scanned = None
            self._say_what_is_shown()
        self.query_one(RecordList).move(lines)

    def action_page(self, pages: int) -> None:
        """A screen full up or down."""
        self.action_move(pages * self.query_one(RecordList).rows)

    def action_lists(self) -> None:
        """F8."""
        self.app.then(self._choose_list, station=self)

    async def _choose_list(self) -> None:
        choices = [
            Choice(n, (one.title, f"{'shown now: ' if n == self._number else ''}{one.asks}"))
            for n, one in enumerate(self.lists)
        ]
        chosen = await self.app.push_screen_wait(Chooser(f"{self.name_shown}: which list?", choices=choices))
        if chosen is not None:
            self._number = chosen
            await self.start_again()

    def action_scroll_verdict(self, lines: int) -> None:
        """Ctrl+Up and Ctrl+Down: what of the verdict is not shown, else what of the line under the cursor is not."""
        detail = self.query_one("#detail", TextBody)
        if self.query_one(VerdictLine).max_scroll_y > 0:
            super().action_scroll_verdict(lines)
        else:
            detail.scroll_relative(y=lines * max(1, detail.size.height - 1), animate=False)

    def action_explain(self) -> None:
        """F11."""
        self.app.then(partial(explain_pane.explain, self), station=self)

    def action_save(self) -> None:
        """Ctrl+S."""
        self.app.then(partial(list_writing.write_list, self), station=self)

    def help_lines(self) -> list[str]:
        """Help, and the lists of this station."""
        lists = ", ".join(one.title for one in self.lists)
        return [
            *super().help_lines(),
            "",
            *layout.wrapped(f"Lists (F8): {lists}.", width=min(76, self.size.width or 76)),
        ]


def code_of(record: Record | None) -> Code | None:
    """The number of ours that a record is about."""
    for text in (record.code, record.key) if record else ():
        if looks_like_code(text):
            try:
                return read_code(text)
            except BadInput:
                continue
    return None
