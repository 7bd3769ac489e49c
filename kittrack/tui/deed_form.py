"""The form of a deed: labels and fields over a station; it stays, filled, until the deed is done.

What a service refuses is told in the form itself, in words, and nothing that was typed is lost. Scans fill
the field that takes them. Source: design 7.
"""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Input, Static
from textual.worker import Worker

from kittrack.errors import BadInput, KittrackError
from kittrack.services.desk import roles_in_words
from kittrack.store.form_memory import LeftForm
from kittrack.tui import form_scans
from kittrack.tui.deeds import Answered, Ask, Deed, Hint, Texts, Values, done_of, filled
from kittrack.tui.doing import carry_out
from kittrack.tui.faults import log_fault
from kittrack.tui.form_choosing import FormChoosing
from kittrack.tui.form_keeping import OpenForm, Standing, marked
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.field_box import FieldBox
from kittrack.tui.widgets.form_row import FormInput, FormRow

if TYPE_CHECKING:
    from kittrack.domain.codes import Code

_LAYING_OUT = 0.05  # seconds after which a form that opens is looked at again


class DeedForm(FormChoosing, OpenForm):
    """Asks for what a deed takes, does it, and stays open with all that was typed where it can't be done."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("f8", "add_row", "keep this row and begin the next", show=False),
        Binding("f7", "take_row_back", "take the last row back", show=False),
        Binding("f6", "take_left", "fill in the form that was left unfinished", show=False),
        Binding("f4", "list", "list what the field can be", show=False),
        Binding("escape", "leave", "leave the form", show=False),
        Binding("down", "app.focus_next", "the next field", show=False),
        Binding("up", "app.focus_previous", "the field before", show=False),
        Binding("ctrl+down", "scroll_told(1)", "more of what is told", show=False),
        Binding("ctrl+up", "scroll_told(-1)", "back", show=False),
    ]

    def __init__(
        self, deed: Deed, *, codes: Sequence["Code"] = (), given: Texts | None = None, rows: Sequence[Texts] = (),
        hint: Hint | None = None, is_kept: bool = True,
    ) -> None:  # fmt: skip
        super().__init__(deed, first=filled(deed.asks, codes, given=given or {}), hint=hint)
        if rows:
            self.kept.put_back(deed.rows[0].name, rows)
        self._is_kept = is_kept
        self._left: LeftForm | None = None

    # ---- what is shown ---------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """Title, what to know, the fields, help on one of them, what is told, the keys."""
        show = self.app.symbols.show
        with Vertical(id="deed"):
            yield Static(show(self.deed.title), markup=False, classes="form-title")
            for note in (*self._who_may(), *self.deed.notes):
                yield Static(show(note), markup=False, classes="deed-note")
            yield Static("", markup=False, id="deed-left", classes="empty")
            yield Static("", markup=False, id="deed-hint", classes="empty")
            with FieldBox(id="deed-fields"):
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

    def _who_may(self) -> Sequence[str]:
        """Who does this, and that it is not who is signed on; the act itself judges."""
        roles = self.deed.done_by
        if not roles:
            return ()
        who = self.app.signed_on
        words = roles_in_words(roles)
        lacks = f"; {who.name} is not, and would be refused" if who and not {*roles} & {*who.roles} else ""
        return (f"Done by {words}{lacks}.",)

    def _row(self, ask: Ask) -> ComposeResult:
        field = FormInput(
            self.shown_of(ask, self._first[ask.name]), name=ask.name, adds_up=ask.many or ask.is_raw,
            is_secret=ask.is_secret, suggester=self.suggester_of(ask),
        )  # fmt: skip
        yield FormRow(_label(ask), field, symbols=self.app.symbols)

    def on_mount(self) -> None:
        """Begin at the first field that is empty, or with what was left unfinished."""
        if self.deed.is_act and self._is_kept:
            self._offer(self.begin_keeping(self.app))
        self.show_keys()
        self.focus_empty(required=True)
        self.look()

    def show_keys(self) -> None:
        """Show the keys of the moment."""
        words = ["F9 write" if self.deed.writes else "F9 record" if self.deed.is_act else "F9 show"]
        if self.deed.rows:
            words += ["F8 keep this row, begin the next", *(["F7 last row back"] if self.kept else [])]
        words += [*(["F6 fill in what was left"] if self._left else []), "Enter next field", "Esc leave"]
        if self.query_one("#deed-told", VerticalScroll).max_scroll_y > 0:
            words.append("Ctrl+Down more of this")
        self.query_one("#deed-keys", Static).update("   ".join(words))

    def action_scroll_told(self, lines: int) -> None:
        """Show what of it is further up or down."""
        told = self.query_one("#deed-told", VerticalScroll)
        told.scroll_relative(y=lines * max(1, told.size.height - 1), animate=False)

    # ---- what comes in ---------------------------------------------------------------------------

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field."""
        event.stop()
        self.focus_next()

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is not to be left by one key; a gathering field that is emptied forgets its scans."""
        event.stop()
        name = (event.input.id or "").removeprefix("field-")
        if not event.value and name in self.raw:
            del self.raw[name]
        if not event.value or event.input.suggester is None:
            self.show_help()
        self.keep_soon()

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        """Say what belongs into the field, and that typing replaces what stands in it."""
        self.show_help(is_arrival=True)

    def take_scan(self, text: str) -> None:
        """Take a scan; one that comes while the form is still being laid out waits for it."""
        if not self.query(Input) and self.deed.asks:
            self.set_timer(_LAYING_OUT, partial(self.take_scan, text))
            return
        self.put_scan(text)
        self.keep_soon()

    def put_scan(self, text: str) -> None:
        """Put a scan where it belongs."""
        form_scans.take_scan(self, text)

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

    def action_add_row(self) -> None:
        """F8."""
        self.add_row()
        self.keep_soon()

    def action_take_row_back(self) -> None:
        """F7."""
        super().action_take_row_back()
        self.keep_soon()

    # ---- what was left unfinished ----------------------------------------------------------------

    @property
    def kept_as(self) -> tuple[str, str]:
        """The deed's name, and its title."""
        return self.deed.key, self.deed.title

    @property
    def _kept_asks(self) -> list[Ask]:
        return [ask for ask in self.deed.asks if not ask.is_secret and ask.keyword != "second"]

    def standing(self) -> Standing:
        """What stands in the form, but no secret and no second person."""
        now, names = self.now, [ask.name for ask in self._kept_asks]
        rows = {
            rows.name: [
                {name: text for name, text in row.items() if name in names}
                for row in self.kept.added(rows.name)
            ]
            for rows in self.deed.rows
        }
        fields = {name: now[name] for name in names if now[name]}
        is_touched = bool(self.kept) or any(now[name] != self._first[name].strip() for name in names)
        return Standing(fields, rows, sorted(self.scanned), is_touched)

    def _offer(self, left: LeftForm | None) -> None:
        """Fill in what was left unfinished; where something else is in hand, only say that it can be."""
        if left is None:
            return
        kept = left.content.fields
        in_hand = [a for a in self._kept_asks if self._first[a.name] not in ("", a.value)]
        if all(kept.get(ask.name, "") == self._first[ask.name] for ask in in_hand):
            self._fill(left)
        else:
            self._left = left
            said = f"Another form of this kind was left unfinished on {left.when}; F6 fills it in instead."
            self.say_above("#deed-left", [said])

    def action_take_left(self) -> None:
        """F6: what was left unfinished, in place of what is in the fields."""
        if self._left is not None and not self.is_working:
            self._fill(self._left)
            self.show_keys()
            self.look()

    def _fill(self, left: LeftForm) -> None:
        self._left = None
        content = left.content
        for rows in self.deed.rows:
            self.kept.put_back(rows.name, content.rows.get(rows.name, ()))
        for ask in self._kept_asks:
            self.raw.pop(ask.name, None)
            self.put(ask, content.fields.get(ask.name, ""))
        self.scanned |= set(content.scanned)
        self.say_above("#deed-left", [marked(left)])
        self.took(left)

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

    async def _do(self, values: Values) -> None:
        try:
            if self.deed.is_act:
                await self.note_entries()
                await self.keep_as_sent()
            answer = await self.carry_out(values)
        except KittrackError as error:
            self.not_sent()
            self.tell_error(error)
        except Exception as error:  # noqa: BLE001 - the person gets a sentence and keeps what was typed
            self.not_sent()
            self.tell([log_fault(error, where=f"form: {self.deed.key}")], tone=Tone.FAULT)
        else:
            await self.forget()
            self.dismiss(done_of(answer) if self.deed.is_act else Answered(answer, values, self.now))
        finally:
            self.is_working = False
            if self.is_attached:
                self.show_keys()

    async def carry_out(self, values: Values) -> object:
        """Do the deed; its errors arrive here."""
        return await carry_out(self.app, self.deed, values)

    def action_leave(self) -> None:
        """Leave; more than a little that was typed is left only by a second Esc, and never while it is recorded."""
        if self.is_working:
            self.app.stop_long_work()
            return
        said = self.asks_to_leave(self.typed_count)
        if said:
            self.tell(verdict(Tone.NEXT, said).lines)
            return
        self.leave_and_forget()
        self.dismiss(None)


def _label(ask: Ask) -> str:
    return ask.words if ask.needed else f"{ask.words} (if any)"
