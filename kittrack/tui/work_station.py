"""A station where lists are worked through: the record under the cursor, its next step on F9, all acts on F10.

What is in hand is what was scanned last, or what the cursor stands on; it fills the form of whatever is
done next. Source: design 7.
"""

from collections.abc import Sequence
from typing import Any, ClassVar

from kittrack.domain.codes import Code, looks_like_code, read_code
from kittrack.domain.scan_result import Scan
from kittrack.errors import BadInput
from kittrack.queries.lookup import what_is
from kittrack.services.desk import Done
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.deed_menu import DeedMenu
from kittrack.tui.deeds import Act, Deed, Question, Texts
from kittrack.tui.entries import Entry
from kittrack.tui.forms import ReadingPage
from kittrack.tui.keys import ARROWS, PAGES, Key
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Record
from kittrack.tui.paged import lines_of
from kittrack.tui.station import bindings
from kittrack.tui.verdicts import Tone, done, verdict
from kittrack.tui.widgets.record_list import RecordList

_OWN: tuple[Key, ...] = (
    Key("f8", "F8", "next_list", "the next list of this station"),
    Key("shift+f8", "Shift+F8", "list_before", "the list before"),
    Key("f10", "F10", "menu", "everything that can be done here"),
    Key("f11", "F11", "explain", "explain what is in hand: the figures that decided, or what the store knows"),
    *ARROWS,
    *PAGES,
)


class WorkStation(ListStation):
    """Shows lists and does what `deeds` declares; `next_for` says which of them comes next for a record."""

    wants = "any label to take it in hand, or type to filter"
    own_keys = _OWN
    BINDINGS: ClassVar = bindings(_OWN)
    deeds: ClassVar[tuple[Deed, ...]]
    explains: ClassVar[Question | None] = None

    def __init__(self) -> None:
        super().__init__()
        self._scanned: Code | None = None

    # ---- what is in hand -------------------------------------------------------------------------

    @property
    def here(self) -> Record | None:
        """The record under the cursor."""
        return self.query_one(RecordList).here

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """The code that was scanned last, or that of the record under the cursor."""
        if self._scanned is not None:
            return (self._scanned,)
        return codes_in(self.here)

    def next_for(self, record: Record | None) -> Deed | None:  # noqa: ARG002 - a subclass reads it
        """What comes next for a record, or without one; None where nothing does."""
        return None

    def next_for_code(self, code: Code) -> Deed | None:  # noqa: ARG002 - a subclass reads it
        """What comes next for a code that is on no list here."""
        return None

    @property
    def next_deed(self) -> Deed | None:
        """What F9 does."""
        here = self.here
        if self._scanned is not None and (here is None or here.key != self._scanned.text):
            return self.next_for_code(self._scanned)
        return self.next_for(here)

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """Take a label in hand; a supplier's label where an act takes it; typed text filters."""
        taker = self.label_taker(entry.scan)
        if entry.code is None and taker is not None:
            await self.do(taker, given=taker.scan(entry.scan) if taker.scan else {})
            return
        await super().take(entry)

    def label_taker(self, scan: Scan) -> Act | None:  # noqa: ARG002 - a subclass reads it
        """The act that takes a supplier's label, where this station has one."""
        return None

    async def _look_up(self, code: Code) -> None:
        thing = await self.app.ask(what_is, code=code.text)
        self.query_one(RecordList).choose(code.text)
        self._scanned = code
        self._show_detail(lines_of(thing))
        around = [place for place in thing.where if place != thing.code]
        where = f", in {around[0]}" if around else ""
        held = " It is ON HOLD." if thing.holds else ""
        following = self.next_deed
        then = f"Next, F9: {following.title}." if following else "F10 tells what can be done with it."
        self.say(verdict(Tone.DONE, f"{thing.code} is {code.kind.with_article}{where}.{held}", then))

    # ---- acts ------------------------------------------------------------------------------------

    async def go_ahead(self) -> None:
        """F9: the next step, or everything that can be done."""
        following = self.next_deed
        if following is None:
            await self._choose()
        else:
            await self.do(following)

    async def _choose(self) -> None:
        hand = self.in_hand
        fits = frozenset(deed.title for deed in self.deeds for code in hand if deed.takes(code.kind))
        menu = DeedMenu(
            f"{self.name_shown}: what is to be done?", deeds=self.deeds, in_hand=", ".join(c.text for c in hand), fits=fits
        )
        chosen = await self.app.push_screen_wait(menu)
        if chosen is not None:
            await self.do(chosen)

    async def do(self, deed: Deed, *, given: Texts | None = None) -> None:
        """Ask for what a deed takes, and do it."""
        if isinstance(deed, Question):
            await self._ask(deed, given=given)
            return
        if deed.by:
            _ = self.app.me  # nobody signed on is told before the form is filled
        form = DeedForm(deed, codes=self.in_hand, given=given or self.given_for(deed))
        answer = await self.app.push_screen_wait(form)
        if isinstance(answer, Done):
            await self._took(answer)

    def given_for(self, deed: Deed) -> Texts:  # noqa: ARG002 - a subclass reads it
        """What the record in hand says about the fields of a deed, besides its code."""
        return {}

    async def _took(self, answer: Done) -> None:
        """Show the store as it is now, and what the act said."""
        self._scanned = None
        await self.reload()
        new = next((code for code in reversed(answer.codes) if self.query_one(RecordList).choose(code)), None)
        codes = f"New: {', '.join(answer.codes)}." if answer.codes and not any(c in " ".join(answer.said) for c in answer.codes) else ""
        following = self.next_deed if new else None
        then = f"Next, F9: {following.title} ({new})." if following else ""
        self.say(done((*answer.said, codes, then)) if any((*answer.said, codes, then)) else done(()))

    async def _ask(self, question: Question, *, given: Texts | None = None) -> None:
        values: dict[str, Any] = {}
        if question.asks:
            form = DeedForm(question, codes=self.in_hand, given=given or self.given_for(question))
            answer = await self.app.push_screen_wait(form)
            if answer is None or isinstance(answer, Done):
                return
            values = answer
        await self.show_answer(question, values)

    async def show_answer(self, question: Question, values: dict[str, Any]) -> None:
        """Lay the answer of a question over the station."""
        lines = await question.answer(self.app.ask, values, self.app.now())
        page = ReadingPage(
            question.title, lines=lines, keys=" Up Down PgUp PgDn   Esc leaves", symbols=self.symbols, asks=False
        )
        await self.app.push_screen_wait(page)

    async def _explain(self) -> None:
        hand = self.in_hand
        question = self.explains
        if question is None or not hand:
            self.say(verdict(Tone.NEXT, "Nothing is in hand; scan a label, or go to a line with the arrows."))
        elif len(question.asks) <= 1 or all(not ask.needed for ask in question.asks[1:]):
            await self.show_answer(question, {question.asks[0].name: hand[0].text})

    # ---- lists -----------------------------------------------------------------------------------

    async def start_again(self) -> None:
        """The whole list again, nothing in hand."""
        self._scanned = None
        await super().start_again()

    async def reload(self) -> None:
        """The same page anew, the cursor where it was."""
        key = self.here.key if self.here else ""
        await super().reload()
        if key:
            self.query_one(RecordList).choose(key)

    def action_move(self, lines: int) -> None:
        """Up and down: what the cursor stands on is in hand."""
        self._scanned = None
        super().action_move(lines)
        if self._page.records:
            self._say_what_is_shown()

    def on_record_list_moved(self) -> None:
        """Show the record under the cursor, and ask for the whole of it."""
        super().on_record_list_moved()
        record, look = self.here, getattr(self.listing, "look", None)
        self.call_after_refresh(self.show_keys)
        if record is not None and look is not None:
            self.app.then(lambda: self._look(record), station=self)

    async def _look(self, record: Record) -> None:
        if self.here is record and self._scanned is None and self.is_mounted:
            await self._show_whole(record)

    async def _show_whole(self, record: Record) -> None:
        look = getattr(self.listing, "look", None)
        if look is not None:
            lines = await look(self.app.ask, record, self.app.now())
            self._show_detail([*record.detail, *lines])

    def _say_what_is_shown(self) -> None:
        super()._say_what_is_shown()
        following = self.next_deed
        if following is not None:
            said = self.said
            self.say(verdict(said.tone, *said.sentences, f"F9: {following.title}{_for(self.in_hand)}."))

    def keys_in_words(self) -> Sequence[str]:
        """The next step, everything, the other lists."""
        following = self.next_deed
        ahead = [f"F9 {_short(following.title)}"] if following else []
        explain = ["F11 explain"] if self.explains else []
        return (*ahead, "F10 all acts", *explain, f"F8 {self._next_title}", "Esc anew")

    @property
    def _next_title(self) -> str:
        return self.lists[(self._number + 1) % len(self.lists)].title

    def action_menu(self) -> None:
        """F10."""
        self.app.then(self._choose, station=self)

    def action_explain(self) -> None:
        """F11."""
        self.app.then(self._explain, station=self)

    def action_list_before(self) -> None:
        """Shift+F8."""
        self._number = (self._number - 2) % len(self.lists)
        self.action_next_list()


def codes_in(record: Record | None) -> tuple[Code, ...]:
    """The numbers of ours with which the key of a record begins."""
    if record is None:
        return ()
    found = []
    for word in record.key.split()[:2]:
        if looks_like_code(word):
            try:
                found.append(read_code(word))
            except BadInput:
                continue
    return tuple(found[:1])


def _for(codes: Sequence[Code]) -> str:
    return f" ({codes[0]})" if codes else ""


def _short(title: str) -> str:
    return title[:1].lower() + title[1:]
