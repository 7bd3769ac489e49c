"""The fields of a deed's form: what stands in them, rows that were kept, what the store knows of the numbers in them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from textual import events
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static
from textual.worker import Worker

from kittrack.domain.codes import looks_like_code
from kittrack.errors import BadInput, KittrackError
from kittrack.tui.deeds import Ask, Deed, Hint, Rows
from kittrack.tui.form_rows import FormRows
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.verdicts import Tone, stop_banner, verdict_of
from kittrack.tui.widgets.form_row import FormInput

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_ROWS_SHOWN = 4
_BANNER = 60  # characters of STOP over a refusal that stops the hand


class FormFields(ModalScreen[Any], ScanTaker):
    """What stands in a form, and how it gets there; the form itself lays it out and goes ahead."""

    if TYPE_CHECKING:
        app: StationsApp

    def __init__(self, deed: Deed, *, first: dict[str, str], hint: Hint | None) -> None:
        super().__init__()
        self.deed = deed
        self.kept = FormRows(deed)
        self._first = first
        self.raw = {a.name: first[a.name].split("\n") for a in deed.asks if a.is_raw and first[a.name]}
        self.scanned: set[str] = set()
        self._typed: dict[str, None] = {}
        self._hint = hint

    # ---- what stands in them ---------------------------------------------------------------------

    def input_of(self, ask: Ask) -> FormInput:
        """The field of an ask."""
        return self.query_one(f"#field-{ask.name}", FormInput)

    def shown_of(self, ask: Ask, text: str) -> str:
        """A text as its field shows it: of gathered scans how many there are, of a text nothing unseen."""
        return gathered(self.raw[ask.name]) if ask.name in self.raw else self.app.symbols.show(text)

    @property
    def now(self) -> dict[str, str]:
        """What stands in the fields; of a field that gathers scans, the scans themselves."""
        return {
            ask.name: "\n".join(self.raw.get(ask.name, ())) or self.input_of(ask).value.strip()
            for ask in self.deed.asks
        }

    @property
    def typed_count(self) -> int:
        """How many fields say something else than at first, those of the rows that were kept too."""
        now = self.now
        in_rows = sum(1 + len(row) for rows in self.deed.rows for row in self.kept.added(rows.name))
        return in_rows + sum(now[name] != text.strip() for name, text in self._first.items())

    def put(self, ask: Ask, text: str) -> None:
        """Fill a field; one that gathers scans shows how many there are."""
        if ask.is_raw and text:
            self.raw[ask.name] = text.split("\n")
        self.input_of(ask).put(self.shown_of(ask, text))

    def empty(self, asks: Sequence[Ask]) -> None:
        """Empty some fields for what comes next."""
        for ask in asks:
            if not ask.keeps:
                self.input_of(ask).put(ask.value)
                self.raw.pop(ask.name, None)
        self.tell([])
        self.show_keys()
        wanted = [ask for ask in asks if not self.input_of(ask).value]
        (self.input_of(wanted[0]) if wanted else self.input_of(self.deed.asks[0])).focus()
        self.look()

    def see_typed(self) -> None:
        """Keep in mind which numbers of ours stand in the fields that no scanner put there."""
        for ask in self.deed.asks:
            takes_numbers = ask.scans or ask.choices
            for word in self.now[ask.name].replace(",", " ").split() if takes_numbers else ():
                if looks_like_code(word) and word not in self.scanned and word not in self._first[ask.name]:
                    self._typed[word] = None

    async def note_entries(self) -> None:
        """Tell the store how the numbers of an act came in."""
        await self.app.forget_entries()
        for text, typed in self.entered():
            await self.app.note_entry(text, typed=typed)

    def entered(self) -> list[tuple[str, bool]]:
        """The numbers that came into this form, and whether each was typed."""
        self.see_typed()
        return [*((text, False) for text in sorted(self.scanned)), *((text, True) for text in self._typed)]

    # ---- where one is ----------------------------------------------------------------------------

    def focus_empty(self, *, required: bool = False) -> None:
        """Go to the first field that is empty: a needed one before others, then one of a row."""
        empty = [ask for ask in self.deed.in_order if not self.input_of(ask).value.strip()]
        empty.sort(key=lambda ask: not (ask.needed or ask.rows))
        needed = [ask for ask in empty if ask.needed] or ([] if required and not empty else empty)
        chosen = needed or list(self.deed.in_order)[:1]
        if chosen:
            self.input_of(chosen[0]).focus()

    @property
    def ask_here(self) -> Ask | None:
        """The field that has the focus."""
        here = self.focused.id if self.focused is not None else None
        return next((ask for ask in self.deed.asks if f"field-{ask.name}" == here), None)

    @property
    def rows_here(self) -> Rows | None:
        """The rows whose field has the focus, or the first ones."""
        here = self.ask_here
        own = [rows for rows in self.deed.rows if here is not None and rows.name == here.rows]
        return next(iter(own or self.deed.rows), None)

    # ---- rows ------------------------------------------------------------------------------------

    def add_row(self) -> bool:
        """Keep this row and begin the next; says whether it could be kept."""
        rows = self.rows_here
        if rows is None:
            return False
        self.see_typed()
        try:
            self.kept.add(rows, self.now)
        except BadInput as error:
            self.tell_error(error)
            return False
        self.empty(self.deed.of_rows(rows.name))
        return True

    def action_take_row_back(self) -> None:
        """F7: the last row into the fields again."""
        rows = self.rows_here
        row = self.kept.take_back(rows.name) if rows else None
        if rows is None or row is None:
            return
        for ask in self.deed.of_rows(rows.name):
            self.put(ask, row[ask.name])
        self.show_keys()
        self.look()

    # ---- what is told ----------------------------------------------------------------------------

    def look(self) -> None:
        """Tell what the store knows of what stands in the fields."""
        _: Worker[None] = self.run_worker(self._look, exclusive=True, group="hint", exit_on_error=False)

    async def _look(self) -> None:
        lines = self.kept.lines(most=_ROWS_SHOWN)
        if self._hint is not None and not self.is_working:
            try:
                lines += await self._hint(self.app.ask, self.now, self.app.now())
            except KittrackError as error:
                lines += [str(error)]
        if self.is_attached:
            self.say_above("#deed-hint", lines)

    def say_above(self, place: str, lines: Sequence[str]) -> None:
        """Say something above the fields; where there is nothing to say, the fields have the room."""
        shown = self.query_one(place, Static)
        shown.set_class(not lines, "empty")
        shown.update("\n".join(map(self.app.symbols.show, lines)))

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """Look up what was typed, once a field is left."""
        self.look()

    def tell(self, lines: Sequence[str], *, tone: Tone | None = None) -> None:
        """Say something in the form itself."""
        box = self.query_one("#deed-told", VerticalScroll)
        box.set_class(tone is not None and tone.is_against, "against")
        box.set_class(tone is Tone.STOP, "stop")
        banner = [stop_banner(_BANNER)] if tone is Tone.STOP else []
        shown = [*banner, *map(self.app.symbols.show, lines)]
        box.query_one(Static).update("\n".join(shown))
        box.scroll_home(animate=False)
        self.call_after_refresh(self._show_keys_of_what_is_told)

    def _show_keys_of_what_is_told(self) -> None:
        if self.is_attached and not self.is_working:
            self.show_keys()

    def tell_error(self, error: KittrackError) -> None:
        """Say what is wrong, each field by the name that it has here, and go to the first of them."""
        if isinstance(error, BadInput):
            words = {ask.keyword: ask.words for ask in self.deed.asks}
            named = [
                ask for problem in error.problems for ask in self.deed.asks if ask.keyword == problem.field
            ]
            wrong = named[0] if named else self.kept.unread(self.now)
            error = BadInput([replace(p, field=words.get(p.field, p.field)) for p in error.problems])
            if wrong is not None:
                self.input_of(wrong).focus()
        said = verdict_of(error)
        self.tell(said.lines, tone=said.tone)

    def hear(self, sentence: str) -> None:
        """Show one sentence that comes from outside."""
        self.tell([sentence])

    def show_keys(self) -> None:
        """Show the keys of the moment."""
        raise NotImplementedError


def gathered(scans: Sequence[str]) -> str:
    """How many scans a field holds."""
    return f"{len(scans)} scanned"
