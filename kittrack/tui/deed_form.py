"""The form of a deed: labels and fields over a station; it stays, filled, until the deed is done.

What a service refuses is told in the form itself, in words, and nothing that was typed is lost. Scans fill
the field that takes them. Source: design 7.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.worker import Worker

from kittrack.domain.codes import looks_like_code
from kittrack.errors import BadInput, KittrackError
from kittrack.services.desk import Done
from kittrack.tui import form_scans
from kittrack.tui.deeds import Ask, Deed, Hint, Rows, Texts, Values, done_of, filled
from kittrack.tui.doing import carry_out
from kittrack.tui.faults import log_fault
from kittrack.tui.form_rows import FormRows
from kittrack.tui.forms import ScanTaker
from kittrack.tui.verdicts import Tone, verdict, verdict_of

if TYPE_CHECKING:
    from kittrack.domain.codes import Code
    from kittrack.tui.stations_app import StationsApp

_ROWS_SHOWN = 4
_LAYING_OUT = 0.05  # seconds after which a form that opens is looked at again
_TYPED_AWAY = 2  # fields with something typed, from which on one Esc is not enough


@dataclass(frozen=True)
class Answered:
    """What the store answered to a question, and with which values it was asked."""

    answer: Any
    values: Values


class DeedForm(ModalScreen[Done | Answered | None], ScanTaker):
    """Asks for what a deed takes, does it, and stays open with all that was typed where it can't be done."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("f8", "add_row", "keep this row and begin the next", show=False),
        Binding("f7", "take_row_back", "take the last row back", show=False),
        Binding("escape", "leave", "leave the form", show=False),
        Binding("down", "app.focus_next", "the next field", show=False),
        Binding("up", "app.focus_previous", "the field before", show=False),
        Binding("ctrl+down", "scroll_told(1)", "more of what is told", show=False),
        Binding("ctrl+up", "scroll_told(-1)", "back", show=False),
    ]
    if TYPE_CHECKING:
        app: StationsApp

    def __init__(
        self, deed: Deed, *, codes: Sequence["Code"] = (), given: Texts | None = None, hint: Hint | None = None
    ) -> None:  # fmt: skip
        super().__init__()
        self.deed = deed
        self.kept = FormRows(deed)
        self.raw: dict[str, list[str]] = {}
        self._first = filled(deed.asks, codes, given=given or {})
        self.raw |= {
            a.name: self._first[a.name].split("\n") for a in deed.asks if a.is_raw and self._first[a.name]
        }
        self._hint = hint
        self._asked_to_leave = False
        self.scanned: set[str] = set()
        self._typed: dict[str, None] = {}

    # ---- what is shown ---------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """Title, what to know, the fields, help on one of them, what is told, the keys."""
        show = self.app.symbols.show
        with Vertical(id="deed"):
            yield Static(show(self.deed.title), markup=False, classes="form-title")
            for note in self.deed.notes:
                yield Static(show(note), markup=False, classes="deed-note")
            yield Static("", markup=False, id="deed-hint")
            with VerticalScroll(id="deed-fields", can_focus=False):
                for ask in self.deed.heads:
                    yield from self._row(ask)
                for rows in self.deed.rows:
                    if len(self.deed.asks) > 1:
                        yield Static(show(f"{rows.words}:"), markup=False, classes="deed-rows")
                    for ask in self.deed.of_rows(rows.name):
                        yield from self._row(ask)
            yield Static("", markup=False, id="deed-help")
            with VerticalScroll(id="deed-told", can_focus=False):
                yield Static("", markup=False)
            yield Static("", markup=False, id="deed-keys")

    def _row(self, ask: Ask) -> ComposeResult:
        show = self.app.symbols.show
        with Horizontal(classes="form-row"):
            yield Static(show(_label(ask)), markup=False, classes="form-label")
            yield Input(
                show(_gathered(self.raw[ask.name]) if ask.name in self.raw else self._first[ask.name]), compact=True, id=f"field-{ask.name}", select_on_focus=False,
                password=ask.is_secret,
            )  # fmt: skip

    def on_mount(self) -> None:
        """Begin at the first field that is empty."""
        for one in self.query(Input):
            one.cursor_blink = False
        self._show_keys()
        self.focus_empty(required=True)
        self.look()

    def _show_keys(self) -> None:
        words = ["F9 record" if self.deed.is_act else "F9 show"]
        if self.deed.rows:
            words += ["F8 keep this row, begin the next", *(["F7 last row back"] if self.kept else [])]
        words += ["Enter next field", "Esc leave"]
        self.query_one("#deed-keys", Static).update("   ".join(words))

    def tell(self, lines: Sequence[str], *, tone: Tone | None = None) -> None:
        """Say something in the form itself."""
        box = self.query_one("#deed-told", VerticalScroll)
        box.set_class(tone is not None and tone.is_against, "against")
        box.set_class(tone is Tone.STOP, "stop")
        box.query_one(Static).update("\n".join(self.app.symbols.show(line) for line in lines))
        box.scroll_home(animate=False)

    def tell_error(self, error: KittrackError) -> None:
        """Say what is wrong."""
        said = verdict_of(error)
        self.tell(said.lines, tone=said.tone)

    def action_scroll_told(self, lines: int) -> None:
        """Show what of it is further up or down."""
        self.query_one("#deed-told", VerticalScroll).scroll_relative(y=lines, animate=False)

    # ---- fields ----------------------------------------------------------------------------------

    def input_of(self, ask: Ask) -> Input:
        """The field of an ask."""
        return self.query_one(f"#field-{ask.name}", Input)

    @property
    def now(self) -> dict[str, str]:
        """What stands in the fields; of a field that gathers scans, the scans themselves."""
        return {
            ask.name: "\n".join(self.raw.get(ask.name, ())) or self.input_of(ask).value.strip()
            for ask in self.deed.asks
        }

    def focus_empty(self, *, required: bool = False) -> None:
        """Go to the first field that is empty, a needed one before others."""
        empty = [ask for ask in self.deed.in_order if not self.input_of(ask).value.strip()]
        needed = [ask for ask in empty if ask.needed] or ([] if required and not empty else empty)
        chosen = needed or list(self.deed.in_order)[:1]
        if chosen:
            self.input_of(chosen[0]).focus()

    @property
    def ask_here(self) -> Ask | None:
        """The field that has the focus."""
        return next((ask for ask in self.deed.asks if self.input_of(ask).has_focus), None)

    @property
    def rows_here(self) -> Rows | None:
        """The rows whose field has the focus, or the first ones."""
        here = self.ask_here
        own = [rows for rows in self.deed.rows if here is not None and rows.name == here.rows]
        return next(iter(own or self.deed.rows), None)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field."""
        event.stop()
        self.focus_next()

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is not to be left by one key; a gathering field that is emptied forgets its scans."""
        event.stop()
        self._asked_to_leave = False
        name = (event.input.id or "").removeprefix("field-")
        if not event.value and name in self.raw:
            del self.raw[name]

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        """Say what belongs into the field."""
        ask = self.ask_here
        if ask is not None:
            told = f"{ask.words}: {ask.help}" if ask.help else ""
            self.query_one("#deed-help", Static).update(self.app.symbols.show(told))

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """Look up what was typed, once a field is left."""
        self.look()

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
            self.query_one("#deed-hint", Static).update("\n".join(map(self.app.symbols.show, lines)))

    def take_scan(self, text: str) -> None:
        """Put a scan where it belongs; one that comes while the form is still being laid out waits for it."""
        if not self.query(Input) and self.deed.asks:
            self.set_timer(_LAYING_OUT, partial(self.take_scan, text))
            return
        form_scans.take_scan(self, text)

    def hear(self, sentence: str) -> None:
        """Show one sentence that comes from outside."""
        self.tell([sentence])

    @property
    def takes_go_ahead(self) -> bool:
        """No scan confirms an override, nor anything else that takes a second person."""
        careful = [ask for ask in self.deed.asks if ask.keyword in ("second", "override")]
        return not any(ask.needed or self.input_of(ask).value.strip() for ask in careful)

    def ask_for_second(self) -> None:
        """Go to the field of the second person, where there is one."""
        fields = [ask for ask in self.deed.asks if ask.keyword == "second"]
        if not fields:
            super().ask_for_second()
            return
        self.input_of(fields[0]).focus()
        self.hear("Scan the second person's badge.")

    # ---- rows ------------------------------------------------------------------------------------

    def action_add_row(self) -> None:
        """F8."""
        self.add_row()

    def add_row(self) -> bool:
        """Keep this row and begin the next; says whether it could be kept."""
        rows = self.rows_here
        if rows is None:
            return False
        self._see_typed()
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
        self._show_keys()
        self.look()

    def put(self, ask: Ask, text: str) -> None:
        """Fill a field; one that gathers scans shows how many there are."""
        if ask.is_raw and text:
            self.raw[ask.name] = text.split("\n")
            text = _gathered(self.raw[ask.name])
        self.input_of(ask).value = self.app.symbols.show(text)

    def empty(self, asks: Sequence[Ask]) -> None:
        """Empty some fields for what comes next."""
        for ask in asks:
            if not ask.keeps:
                self.input_of(ask).value = ask.value
                self.raw.pop(ask.name, None)
        self.tell([])
        self._show_keys()
        wanted = [ask for ask in asks if not self.input_of(ask).value]
        (self.input_of(wanted[0]) if wanted else self.input_of(self.deed.asks[0])).focus()
        self.look()

    # ---- going ahead -----------------------------------------------------------------------------

    def action_go_ahead(self) -> None:
        """F9: read the fields, and do it."""
        if self.is_working:
            return
        try:
            values = self.kept.values(self.now)
        except BadInput as error:
            self.tell_error(error)
            return
        self.is_working = True
        self.query_one("#deed-keys", Static).update("one moment")
        _: Worker[None] = self.run_worker(
            partial(self._do, values), exclusive=True, group="do", exit_on_error=False
        )

    def _see_typed(self) -> None:
        """Keep in mind which numbers of ours stand in the fields that no scanner put there."""
        for ask in self.deed.asks:
            for word in self.now[ask.name].replace(",", " ").split() if ask.scans else ():
                if looks_like_code(word) and word not in self.scanned and word not in self._first[ask.name]:
                    self._typed[word] = None

    async def _note_entries(self) -> None:
        """Tell the store how the numbers of an act came in."""
        self._see_typed()
        await self.app.forget_entries()
        for text, typed in (*((t, False) for t in sorted(self.scanned)), *((t, True) for t in self._typed)):
            await self.app.note_entry(text, typed=typed)

    async def _do(self, values: Values) -> None:
        try:
            if self.deed.is_act:
                await self._note_entries()
            answer = await carry_out(self.app, self.deed, values)
        except KittrackError as error:
            self.tell_error(error)
        except Exception as error:  # noqa: BLE001 - the person gets a sentence and keeps what was typed
            self.tell([log_fault(error, where=f"form: {self.deed.key}")], tone=Tone.FAULT)
        else:
            self.dismiss(done_of(answer) if self.deed.is_act else Answered(answer, values))
        finally:
            self.is_working = False
            if self.is_attached:
                self._show_keys()

    def action_leave(self) -> None:
        """Leave; more than a little that was typed is left only by a second Esc, and never while it is recorded."""
        if self.is_working:
            self.app.stop_long_work()
            return
        typed = sum(self.now[name] != text.strip() for name, text in self._first.items())
        if (self.kept or typed >= _TYPED_AWAY) and not self._asked_to_leave:
            self._asked_to_leave = True
            said = "Esc again leaves and forgets what was typed; F9 goes on."
            self.tell(verdict(Tone.NEXT, said).lines)
            return
        self.dismiss(None)


def _gathered(scans: Sequence[str]) -> str:
    return f"{len(scans)} scanned"


def _label(ask: Ask) -> str:
    return ask.words if ask.needed else f"{ask.words} (if any)"
