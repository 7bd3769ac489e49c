"""The form in which a person says who they are, and types the PIN where one is set.

It signs on, confirms as the second person, and lies over locked stations. What is typed or scanned into the
PIN is never shown, told or kept: the field is masked and empties with each attempt. How often a PIN may be
wrong the service limits. Source: design R8.
"""

from collections.abc import Awaitable, Callable, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from kittrack.domain.codes import Kind
from kittrack.domain.moves import Move
from kittrack.domain.scan_result import Standard
from kittrack.queries.people import Who
from kittrack.services import signing_on
from kittrack.tui import signing
from kittrack.tui.verdicts import Verdict
from kittrack.tui.widgets.form_row import FormInput, FormRow
from kittrack.tui.working_screen import WorkingScreen


class SignOnForm(WorkingScreen[Who | None]):
    """Answers with the person who proved to be there, or None where the form was left.

    Args:
        title: what it is for.
        notes: what to know.
        who: the person, where the badge was scanned already and only the PIN is to come.
        then: what else the person has to do before the answer counts; None of it keeps the form open.
        is_lock: whether it locks: it can't be left without an answer.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("escape", "leave", "leave the form", show=False),
    ]

    def __init__(
        self,
        title: str,
        *,
        notes: Sequence[str],
        who: Who | None = None,
        then: Callable[[Who], Awaitable[Who | None]] | None = None,
        is_lock: bool = False,
    ) -> None:
        super().__init__()
        self._title = title
        self._notes = notes
        self._who = who
        self._then = then
        self.is_lock = is_lock

    def compose(self) -> ComposeResult:
        """Title, what to know, badge or name, PIN, what is told, the keys."""
        show = self.app.symbols.show
        with VerticalScroll(id="form", can_focus=False):
            yield Static(show(self._title), markup=False, classes="form-title")
            for note in self._notes:
                yield Static(show(note), markup=False, classes="form-note")
            for name, words in (("who", "Badge, or exact name"), ("pin", "PIN or passphrase")):
                field = FormInput(name=name, is_secret=name == "pin")
                yield FormRow(words, field, symbols=self.app.symbols, row_id=f"row-{name}")
            yield Static("", markup=False, id="form-fault")
            yield Static("", markup=False, classes="form-keys")

    def on_mount(self) -> None:
        """Begin with what is not known yet."""
        self._ask_for(self._who)

    def _ask_for(self, who: Who | None) -> None:
        """Show the field that is to be filled: the PIN of a person, or who it is."""
        self._who = who
        self.query_one("#row-who").display = who is None
        self.query_one("#row-pin").display = who is not None
        for field in self.query(Input):
            field.value = ""
        self.query_one("#field-pin" if who else "#field-who", Input).focus()
        self.show_keys()

    def show_keys(self) -> None:
        """Show the keys of the moment."""
        leave = "Esc another badge" if self.is_lock else "Esc leave"
        words = "one moment" if self.is_working else f"Enter go on   {leave}"
        self.query_one(".form-keys", Static).update(words)

    def tell(self, said: Verdict) -> None:
        """Say why not, in words."""
        self.query_one("#form-fault", Static).update(
            "\n".join(self.app.symbols.show(line) for line in said.lines)
        )

    # ---- what comes in ---------------------------------------------------------------------------

    def take_scan(self, text: str) -> None:
        """A badge says who; another label is no PIN; a PIN that was pasted or typed fast is taken as typed."""
        scan = self.app.read_scan(text)
        is_badge = scan.code is not None and scan.code.kind is Kind.PERSON
        if self.is_working:
            return
        if is_badge or self._who is None:
            self._ask_for(None)
            self.query_one("#field-who", Input).value = "" if scan.problems else scan.text
            self.hear(scan.problems[0].message) if scan.problems else self.action_go_ahead()
        elif scan.standard is not Standard.PLAIN or scan.problems:
            self.hear("A label was scanned where a PIN is to be typed; it was not tried as one.")
        else:
            self.query_one("#field-pin", Input).value = text.strip()
            self.action_go_ahead()

    def take_move(self, move: Move) -> None:
        """A bench sheet proves nobody."""
        if move is Move.START_AGAIN:
            self.action_leave()
        else:
            self.hear(f"{move.called} does nothing here; say who you are first.")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on."""
        event.stop()
        self.action_go_ahead()

    def action_go_ahead(self) -> None:
        """Go on with what was typed."""
        field = self.query_one("#field-pin" if self._who else "#field-who", Input)
        text = field.value
        if not text.strip():
            self.hear("Type the PIN, then Enter." if self._who else "Scan a badge, or type an exact name.")
            return
        if self.is_working:
            return
        if self._who is None:
            self.begin(lambda: self._find(text))
        else:
            field.value = ""
            person = self._who
            self.begin(lambda: self._try(person, text))

    async def _find(self, text: str) -> None:
        who = await signing.find(self.app, text)
        if await self.app.ask(signing_on.needs_pin, who=who.code):
            self._ask_for(who)
            self.hear(f"{who.name} signs on with a PIN: type it.")
        else:
            await self._try(who, "")

    async def _try(self, who: Who, pin: str) -> None:
        await self.app.ask(signing_on.sign_on, who=who.code, pin=pin, at=self.app.now())
        answer = await self._then(who) if self._then else who
        if answer is None:
            self._ask_for(None)
            self.hear("The cautions are to be read first.")
        else:
            self.dismiss(answer)

    def action_leave(self) -> None:
        """Leave without an answer; locked stations only ask for another badge."""
        if self.is_working:
            return
        if self.is_lock:
            self._ask_for(None)
            self.hear("The stations are locked: scan a badge, or type an exact name.")
        else:
            self.dismiss(None)
