"""The form of an act: labels and fields over a station; it stays, filled, until the act is recorded.

What a service refuses is told in the form itself, in words, and nothing that was typed is lost. Scans fill
the field that takes them. Source: design 7.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from kittrack.domain.codes import Code
from kittrack.domain.scan_result import Scan
from kittrack.domain.scans import read_scan
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, KittrackError, Problem
from kittrack.services.desk import Done
from kittrack.tui.deeds import Act, Ask, Deed, Texts, Values, done_of, filled
from kittrack.tui.faults import log_fault
from kittrack.tui.forms import ScanTaker
from kittrack.tui.verdicts import Tone, verdict, verdict_of

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_ROWS_SHOWN = 4


class DeedForm(ModalScreen[Done | Values | None], ScanTaker):
    """Asks for what a deed takes. An act is recorded from here; a question's fields are handed back, read."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("f8", "add_row", "add a row", show=False),
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
        self, deed: Deed, *, codes: Sequence[Code] = (), given: Texts | None = None, note: str = ""
    ) -> None:
        super().__init__()
        self._deed = deed
        self._texts = filled(deed.asks, codes, given=given or {})
        self._first = dict(self._texts)
        self._note = note
        self._rows: list[dict[str, str]] = []
        self._asked_to_leave = False
        self._last: Done | None = None

    # ---- what is shown ---------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """Title, what to know, the fields, what is told, the keys."""
        show = self.app.symbols.show
        with Vertical(id="deed"):
            yield Static(show(self._deed.title), markup=False, classes="form-title")
            for note in (*self._deed.notes, self._note):
                if note:
                    yield Static(show(note), markup=False, classes="deed-note")
            yield Static("", markup=False, id="deed-hint")
            with VerticalScroll(id="deed-fields", can_focus=False):
                for ask in self._deed.asks:
                    with Horizontal(classes="form-row"):
                        yield Static(show(_label(ask)), markup=False, classes="form-label")
                        yield Input(
                            show(self._texts[ask.name]),
                            compact=True,
                            id=f"field-{ask.name}",
                            select_on_focus=False,
                        )
            with VerticalScroll(id="deed-told", can_focus=False):
                yield Static("", markup=False)
            yield Static("", markup=False, id="deed-keys")

    def on_mount(self) -> None:
        """Begin at the first field that is empty."""
        for one in self.query(Input):
            one.cursor_blink = False
        self._show_keys()
        self._focus_empty(required=True)
        self._look()

    def _show_keys(self) -> None:
        act = self._deed if isinstance(self._deed, Act) else None
        words = ["F9 record" if act else "F9 show"]
        if act is not None and act.rows:
            words += ["F8 add this row", *(["F7 last row back"] if self._rows else [])]
        words += ["Enter next field", "Esc leave"]
        self.query_one("#deed-keys", Static).update(" " + "   ".join(words))

    def tell(self, lines: Sequence[str], *, tone: Tone | None = None) -> None:
        """Say something in the form itself."""
        box = self.query_one("#deed-told", VerticalScroll)
        box.set_class(tone is not None and tone.is_against, "against")
        box.set_class(tone is Tone.STOP, "stop")
        box.query_one(Static).update("\n".join(self.app.symbols.show(line) for line in lines))
        box.scroll_home(animate=False)

    def _tell_error(self, error: KittrackError) -> None:
        said = verdict_of(error)
        self.tell(said.lines, tone=said.tone)

    def action_scroll_told(self, lines: int) -> None:
        """Show what of it is further up or down."""
        self.query_one("#deed-told", VerticalScroll).scroll_relative(y=lines, animate=False)

    # ---- fields ----------------------------------------------------------------------------------

    def _input(self, ask: Ask) -> Input:
        return self.query_one(f"#field-{ask.name}", Input)

    @property
    def _now(self) -> dict[str, str]:
        return {ask.name: self._input(ask).value.strip() for ask in self._deed.asks}

    def _fill(self, ask: Ask, text: str) -> None:
        field = self._input(ask)
        joins = ask.many and field.value.strip() and text not in field.value
        field.value = f"{field.value.strip().rstrip(',')}, {text}" if joins else text
        field.cursor_position = len(field.value)

    def _focus_empty(self, *, required: bool = False) -> None:
        empty = [ask for ask in self._deed.asks if not self._input(ask).value.strip()]
        needed = [ask for ask in empty if ask.needed] or ([] if required and not empty else empty)
        chosen = needed or list(self._deed.asks)[:1]
        if chosen:
            self._input(chosen[0]).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field."""
        event.stop()
        self.focus_next()

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is not to be left by one key."""
        event.stop()
        self._asked_to_leave = False

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """Look up what was typed, once a field is left."""
        self._look()

    def _look(self) -> None:
        act = self._deed
        if isinstance(act, Act) and (act.hint or self._rows):
            self.run_worker(self._hint(act), exclusive=True, group="hint", exit_on_error=False)

    async def _hint(self, act: Act) -> None:
        lines = [_row_line(act, n, row) for n, row in enumerate(self._rows, start=1)][-_ROWS_SHOWN:]
        if len(self._rows) > _ROWS_SHOWN:
            lines.insert(0, f"{len(self._rows)} rows so far, the last {_ROWS_SHOWN}:")
        if act.hint is not None:
            try:
                lines += await act.hint(self.app.ask, self._now, self.app.now())
            except KittrackError as error:
                lines += [str(error)]
        self.query_one("#deed-hint", Static).update("\n".join(self.app.symbols.show(line) for line in lines))

    # ---- scans -----------------------------------------------------------------------------------

    def take_scan(self, text: str) -> None:
        """Put the scan into the field that takes it, or tell why none does."""
        scan = read_scan(text, today=self.app.now().date())
        if scan.problems:
            self.tell(verdict(Tone.NOT_READ, *(p.message for p in scan.problems)).lines, tone=Tone.NOT_READ)
        elif scan.code is not None:
            self._take_code(scan.code)
        elif not self._take_label(scan):
            self._take_text(scan)

    def _take_code(self, code: Code) -> None:
        takers = [ask for ask in self._deed.asks if code.kind in ask.scans]
        if not takers:
            self.tell(
                [f"{code} is {code.kind.with_article}; this form has no use for it."], tone=Tone.NOT_READ
            )
            return
        here = [ask for ask in takers if self._input(ask).has_focus]
        free = [ask for ask in takers if ask.many or not self._input(ask).value.strip()]
        self._fill((here or free or takers)[0], code.text)
        self.tell([])
        self._focus_empty()
        self._look()

    def _take_label(self, scan: Scan) -> bool:
        act = self._deed
        found = act.scan(scan) if isinstance(act, Act) and act.scan else {}
        for ask in self._deed.asks:
            if ask.name in found:
                self._fill(ask, found[ask.name])
        if scan.questions:
            self.tell([question.message for question in scan.questions])
        elif found:
            self.tell([f"From the label: {', '.join(found.values())}.", *scan.notes])
        if found:
            self._focus_empty()
            self._look()
        return bool(found)

    def _take_text(self, scan: Scan) -> None:
        field = self.focused
        if not isinstance(field, Input):
            shown = clean_label(scan.text, max_length=40)
            self.tell([f"{shown} was scanned and no field is chosen; go to its field and scan it again."])
            return
        field.value = self.app.symbols.show(scan.text)
        self.tell([])
        self.focus_next()

    # ---- going ahead -----------------------------------------------------------------------------

    def _read(self, asks: Sequence[Ask], texts: Texts) -> Values:
        """What the fields say.

        Raises:
            BadInput: every field that can't be read.
        """
        values: Values = {}
        problems: list[Problem] = []
        for ask in asks:
            text = texts[ask.name]
            if not text:
                problems += [Problem(f"{ask.words} is empty.", ask.name)] if ask.needed else []
                continue
            try:
                values[ask.name] = ask.read(text)
            except BadInput as error:
                problems += [Problem(f"{ask.words}: {p.message}", ask.name) for p in error.problems]
        if problems:
            raise BadInput(problems)
        return values

    def _all(self) -> Values:
        """Everything that was typed, as keywords of the deed."""
        deed, now = self._deed, self._now
        if not (isinstance(deed, Act) and deed.rows):
            values = self._read(deed.asks, now)
            return deed.build(values) if isinstance(deed, Act) and deed.build else values
        heads = self._read([ask for ask in deed.asks if not ask.row], now)
        rows = [*self._rows, *([now] if self._row_is_begun(now) or not self._rows else [])]
        made = tuple(self._row_of(deed, row) for row in rows)
        values = heads | {deed.rows: made}
        return deed.build(values) if deed.build else values

    def _row_of(self, deed: Act, texts: Texts) -> Any:
        values = self._read([ask for ask in deed.asks if ask.row], texts)
        return deed.row(**values) if deed.row else values

    def _row_is_begun(self, texts: Texts) -> bool:
        return any(texts[ask.name] not in ("", ask.value) for ask in self._deed.asks if ask.row)

    def action_add_row(self) -> None:
        """F8: keep this row and begin the next."""
        deed = self._deed
        if not (isinstance(deed, Act) and deed.rows):
            return
        try:
            self._row_of(deed, self._now)
        except BadInput as error:
            self._tell_error(error)
            return
        self._rows.append(self._now)
        self._clear(only_rows=True)

    def action_take_row_back(self) -> None:
        """F7: the last row into the fields again."""
        if self._rows:
            row = self._rows.pop()
            for ask in self._deed.asks:
                if ask.row:
                    self._input(ask).value = row[ask.name]
            self._show_keys()
            self._look()

    def _clear(self, *, only_rows: bool) -> None:
        for ask in self._deed.asks:
            if not ask.keeps and (ask.row or not only_rows):
                self._input(ask).value = ask.value
        self.tell([])
        self._show_keys()
        self._focus_empty()
        self._look()

    def action_go_ahead(self) -> None:
        """F9: read the fields and record, or hand the answer over."""
        if self.is_working:
            return
        try:
            values = self._all()
        except BadInput as error:
            self._tell_error(error)
            return
        deed = self._deed
        if isinstance(deed, Act):
            self.is_working = True
            self.query_one("#deed-keys", Static).update(" one moment")
            self.run_worker(self._record(deed, values), exclusive=True, group="record", exit_on_error=False)
        else:
            self.dismiss(values)

    async def _record(self, act: Act, values: Values) -> None:
        try:
            by = {"by": self.app.me} if act.by else {}
            done = done_of(await self.app.ask(act.calls, **values, **by, at=self.app.now()))
        except KittrackError as error:
            self._tell_error(error)
        except Exception as error:  # noqa: BLE001 - the person gets a sentence and keeps what was typed
            self.tell([log_fault(error, where=f"form: {act.title}")], tone=Tone.FAULT)
        else:
            self._take_done(act, done)
        finally:
            self.is_working = False
            if self.is_attached:
                self._show_keys()

    def _take_done(self, act: Act, done: Done) -> None:
        if not act.again:
            self.dismiss(done)
            return
        self._last = done
        self._rows = []
        self._clear(only_rows=False)
        self.tell(verdict(Tone.DONE, *done.said, "The next one, or Esc.").lines)

    def action_leave(self) -> None:
        """Leave; what was typed is left only by a second Esc."""
        typed = self._rows or sum(self._now[name] != text.strip() for name, text in self._first.items()) > 2
        if typed and not self._asked_to_leave and self._last is None:
            self._asked_to_leave = True
            self.tell(["Esc again leaves, and forgets what was typed; F9 records it."])
            return
        self.dismiss(self._last)


def _label(ask: Ask) -> str:
    return ask.words if ask.needed else f"{ask.words} (if any)"


def _row_line(act: Act, number: int, row: Texts) -> str:
    told = [row[ask.name] for ask in act.asks if ask.row and row[ask.name]]
    return f"{number}  {'  '.join(told)}"
