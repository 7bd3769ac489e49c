"""Forms that lie over a station: fields to fill by typing or scanning, F9 to go ahead, Esc to leave.

A form takes scans itself, or says why not; none reaches the station below. It stays, filled, until its act
is recorded: what a service refuses is told in it, and nothing that was typed is lost.
"""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from kittrack.domain.codes import Kind, looks_like_code, read_code
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, KittrackError
from kittrack.store.form_memory import LeftForm
from kittrack.tui.faults import log_fault
from kittrack.tui.form_keeping import OpenForm, Standing, marked
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.symbols import Symbols
from kittrack.tui.verdicts import Tone, Verdict, stop_banner, verdict, verdict_of
from kittrack.tui.widgets.field_box import FieldBox

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

T = TypeVar("T")
Values = Mapping[str, str]


class WorkingScreen(ModalScreen[T], ScanTaker, Generic[T]):
    """A screen over a station that does its work in the store's thread and tells here what went wrong."""

    if TYPE_CHECKING:
        app: StationsApp

    def begin(self, step: Callable[[], Awaitable[None]]) -> None:
        """Do a step, one at a time; its errors are told and what was typed stays."""
        if self.is_working:
            return
        self.is_working = True
        self.show_keys()
        self.run_worker(self._work(step), exclusive=True, group="step", exit_on_error=False)

    async def _work(self, step: Callable[[], Awaitable[None]]) -> None:
        try:
            await step()
        except KittrackError as error:
            self.tell(verdict_of(error))
        except Exception as error:  # noqa: BLE001 - the person gets a sentence and keeps what was typed
            self.tell(verdict(Tone.FAULT, log_fault(error, where=type(self).__name__)))
        finally:
            self.is_working = False
            if self.is_attached:
                self.show_keys()

    def show_keys(self) -> None:
        """Show the keys of the moment."""

    def tell(self, said: Verdict) -> None:
        """Show a verdict in the screen itself."""
        raise NotImplementedError

    def hear(self, sentence: str) -> None:
        """Show one sentence."""
        self.tell(verdict(Tone.NEXT, sentence))


@dataclass(frozen=True)
class Field:
    """One line of a form: its name, what it asks in words, what stands there at first.

    `gathers` are the kinds of numbers of ours of which scans add up in it, parted by commas.
    """

    name: str
    words: str
    value: str = ""
    gathers: tuple[Kind, ...] = ()


class Form(WorkingScreen[T | None], OpenForm, Generic[T]):
    """Asks for some fields and answers with what their act said, or None where the person leaves.

    Args:
        title: what is asked, and of what: a form that was left unfinished is known by it.
        fields: the fields.
        act: reads what stands in them and does the act; it may raise, and the form then stays.
        symbols: of this terminal.
        notes: what to know.
        scan_into: the field that a scan belongs in, None for none.
        is_override: whether the act overrides a rule: no scan goes ahead with it.
        is_kept: whether what was typed outlives a terminal that is closed.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("escape", "leave", "leave the form", show=False),
        Binding("down", "app.focus_next", "the next field", show=False),
        Binding("up", "app.focus_previous", "the field before", show=False),
    ]

    def __init__(
        self,
        title: str,
        *,
        fields: Sequence[Field],
        act: Callable[[Values], Awaitable[T]],
        symbols: Symbols,
        notes: Sequence[str] = (),
        scan_into: Callable[[str], str | None] = lambda _: None,
        is_override: bool = False,
        is_kept: bool = True,
    ) -> None:
        super().__init__()
        self._title = title
        self._fields = fields
        self._act = act
        self._symbols = symbols
        self._notes = notes
        self._scan_into = scan_into
        self._is_override = is_override
        self._is_kept = is_kept

    @property
    def takes_go_ahead(self) -> bool:
        """No scan confirms an override."""
        return not self._is_override

    def compose(self) -> ComposeResult:
        """Title, what to know, the fields, what is wrong, the keys."""
        show = self._symbols.show
        with FieldBox(id="form"):
            yield Static(show(self._title), markup=False, classes="form-title")
            for note in self._notes:
                yield Static(show(note), markup=False, classes="form-note")
            left = Static("", markup=False, id="form-left", classes="form-note")
            left.display = False
            yield left
            for field in self._fields:
                with Horizontal(classes="form-row"):
                    yield Static(show(field.words), markup=False, classes="form-label")
                    yield Input(
                        show(field.value), compact=True, id=f"field-{field.name}", select_on_focus=False
                    )
            yield Static("", markup=False, id="form-fault")
            yield Static("", markup=False, classes="form-keys")

    def on_mount(self) -> None:
        """Begin at the first field that is empty, with what was left unfinished."""
        inputs = list(self.query(Input))
        for one in inputs:
            one.cursor_blink = False
        left = self.begin_keeping(self.app) if self._is_kept else None
        if left is not None:
            self._fill(left)
        empty = [one for one in inputs if not one.value]
        if inputs:
            (empty or inputs)[0].focus()
        self.show_keys()

    def show_keys(self) -> None:
        """Show the keys of the moment."""
        words = "one moment" if self.is_working else "F9 go ahead   Enter next field   Esc leave"
        self.query_one(".form-keys", Static).update(words)

    # ---- what is kept of it ----------------------------------------------------------------------

    @property
    def kept_as(self) -> tuple[str, str]:
        """The title, which names what the form is about."""
        return self._title, self._title

    @property
    def _kept_fields(self) -> list[Field]:
        return [field for field in self._fields if field.name != "second"]

    def standing(self) -> Standing:
        """What stands in the fields, but no second person."""
        now = {f.name: self.query_one(f"#field-{f.name}", Input).value for f in self._kept_fields}
        return Standing(now, is_touched=self._typed_count > 0)

    @property
    def _typed_count(self) -> int:
        return sum(self.query_one(f"#field-{f.name}", Input).value.strip() != f.value for f in self._fields)

    def _fill(self, left: LeftForm) -> None:
        for field in self._kept_fields:
            text = left.content.fields.get(field.name, "")
            self.query_one(f"#field-{field.name}", Input).value = self._symbols.show(text)
        note = self.query_one("#form-left", Static)
        note.update(self._symbols.show(marked(left)))
        note.display = True
        self.took(left)

    # ---- what comes in ---------------------------------------------------------------------------

    def on_input_changed(self) -> None:
        """What is typed is kept."""
        self.keep_soon()

    def on_input_submitted(self) -> None:
        """Enter goes on to the next field."""
        self.focus_next()

    def take_scan(self, text: str) -> None:
        """Put the scan into the field that it belongs in, or tell that it belongs in none."""
        if self._gather(text):
            return
        name = self._scan_into(text)
        if name is None:
            shown = clean_label(text, max_length=40)
            self.hear(f"{shown} was scanned and this form has no use for it; F9 goes ahead, Esc leaves.")
            return
        field = self.query_one(f"#field-{name}", Input)
        field.value = self._symbols.show(text.strip())
        self._forget()
        self.action_next_empty()

    def _gather(self, text: str) -> bool:
        """Add a number of ours to the field that gathers its kind: the one somebody is in, else the first; says whether one does."""
        if not looks_like_code(text) or not any(f.gathers for f in self._fields):
            return False
        try:
            code = read_code(text)
        except BadInput as misread:
            self.tell(verdict_of(misread))
            return True
        gathering = [
            self.query_one(f"#field-{f.name}", Input) for f in self._fields if code.kind in f.gathers
        ]
        if not gathering:
            return False
        field = next((one for one in gathering if one.has_focus), gathering[0])
        self._forget()
        if code.text in field.value:
            self.hear(f"{code.text} stands there already.")
        else:
            field.value = ", ".join(filter(None, (field.value.strip(" ,"), code.text)))
        field.focus()
        field.cursor_position = len(field.value)
        return True

    def _go_to_fault(self, error: BadInput) -> None:
        """Go to the first field that was not read, where it is told by name."""
        names = {field.name for field in self._fields}
        wrong = [problem.field for problem in error.problems if problem.field in names]
        if wrong:
            self.query_one(f"#field-{wrong[0]}", Input).focus()

    def ask_for_second(self) -> None:
        """Go to the field of the second person, where there is one."""
        field = next(iter(self.query("#field-second").results(Input)), None)
        if field is None:
            super().ask_for_second()
            return
        field.focus()
        self.hear("Scan the second person's badge.")

    def action_next_empty(self) -> None:
        """Go to the first field that is still empty."""
        empty = [one for one in self.query(Input) if not one.value]
        if empty:
            empty[0].focus()

    def tell(self, said: Verdict) -> None:
        """Say it in the form itself."""
        fault = self.query_one("#form-fault", Static)
        fault.set_class(said.tone is Tone.STOP, "stop")
        banner = [stop_banner(60)] if said.tone is Tone.STOP else []
        fault.update("\n".join([*banner, *map(self._symbols.show, said.lines)]))

    def _forget(self) -> None:
        fault = self.query_one("#form-fault", Static)
        fault.set_class(False, "stop")
        fault.update("")

    def action_go_ahead(self) -> None:
        """Do the act with the fields; leave with what it said, or say why not."""
        values = {field.name: self.query_one(f"#field-{field.name}", Input).value for field in self._fields}

        async def step() -> None:
            await self.keep_as_sent()
            try:
                answer = await self._act(values)
            except Exception as error:
                self.not_sent()
                if isinstance(error, BadInput):
                    self._go_to_fault(error)
                raise
            await self.forget()
            self.dismiss(answer)

        self.begin(step)

    def action_leave(self) -> None:
        """Leave without an answer, unless it is being recorded; more than a little that was typed takes a second Esc."""
        if self.is_working:
            self.app.stop_long_work()
        elif said := self.asks_to_leave(self._typed_count):
            self.hear(said)
        else:
            self.leave_and_forget()
            self.dismiss(None)
