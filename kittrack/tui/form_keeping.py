"""Forms that outlive their terminal: what stands in one is kept a second after the last change, and offered again.

It is kept for who is signed on, off the event loop; at once where the terminal goes away. Once the act is recorded,
or the form is left by Esc, nothing of it is kept. What is offered is filled in and marked, never recorded by itself.
"""

import asyncio
from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Final

from textual.timer import Timer
from textual.worker import Worker

from kittrack.services import unfinished
from kittrack.store.act import instant_text
from kittrack.store.form_memory import KEPT_DAYS, FormContent, FormFile, FormsHere, LeftForm

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_REST: Final = 1.0  # seconds without a change after which a form is kept
_TYPED_AWAY: Final = 2  # fields with something typed, from which on one Esc is not enough
_TOLD: Final = 3  # forms that a sign-on tells of one by one


@dataclass(frozen=True)
class Standing:
    """What stands in a form now: its fields, its rows by their name, the numbers that a scanner put there."""

    fields: Mapping[str, str]
    rows: Mapping[str, Sequence[Mapping[str, str]]] = field(default_factory=dict)
    scanned: Sequence[str] = ()
    is_touched: bool = True


class FormMemory:
    """The forms that are open at these stations, and those that earlier runs left of who is signed on."""

    def __init__(self, app: "StationsApp") -> None:
        self._app = app
        self._here: FormsHere | None = None
        self._is_asked = False
        self._left: list[LeftForm] = []
        self._open: list[OpenForm] = []

    async def look(self, who: str) -> tuple[str, ...]:
        """Look what earlier runs left of a person, and say so in sentences."""
        if not self._is_asked:
            self._here, self._is_asked = await self._app.ask(unfinished.forms_here), True
        if self._here is None:
            return ()
        problems = await asyncio.to_thread(self._here.tidy, at=self._app.now())
        found, _ = await asyncio.to_thread(self._here.left)
        self._left = [form for form in found if form.content.who == who]
        told = [_told(form) for form in self._left[-_TOLD:]]
        more = len(self._left) - len(told)
        said = [*told, *([f"{more} more: kittrack unfinished lists them."] if more else [])]
        return (*said, *(str(problem) for problem in problems))

    def left_of(self, deed: str) -> LeftForm | None:
        """The newest form of a deed that was left unfinished and is still there."""
        who = self._app.signed_on
        own = [f for f in self._left if f.content.deed == deed and who and f.content.who == who.code]
        return next((form for form in reversed(own) if form.path.exists()), None)

    def opened(self, form: "OpenForm") -> FormFile | None:
        """Take note of an open form; its file, or None where forms are not kept."""
        self._open.append(form)
        return self._here.new_file() if self._here is not None else None

    def closed(self, form: "OpenForm") -> None:
        """It is open no more."""
        if form in self._open:
            self._open.remove(form)

    def keep_now(self) -> None:
        """The stations go away: keep every open form as it stands."""
        for form in tuple(self._open):
            with suppress(Exception):  # whatever a fault left of one, the others are kept
                form.keep_now()


class OpenForm:
    """One open form and its file.

    Subclasses say what is `standing` in them; a form that never began to be kept is not.
    """

    _app: "StationsApp | None" = None
    _file: FormFile | None = None
    _rest: Timer | None = None
    _taken: LeftForm | None = None
    _is_sent = False
    _is_filled_in = False
    _is_asked = False

    def standing(self) -> Standing:
        """What stands in the form."""
        raise NotImplementedError

    @property
    def kept_as(self) -> tuple[str, str]:
        """The name of its deed, and its title."""
        raise NotImplementedError

    def begin_keeping(self, app: "StationsApp") -> LeftForm | None:
        """Begin to keep the form; the form that was left unfinished of the same deed, where there is one."""
        self._app, self._file = app, app.forms.opened(self)
        return app.forms.left_of(self.kept_as[0])

    def took(self, left: LeftForm) -> None:
        """What was left unfinished stands in this form now: it is kept under this form's file."""
        self._taken, self._is_filled_in = left, True
        self.keep_soon()

    def keep_soon(self) -> None:
        """Something changed: keep it once nothing more changes for a moment."""
        self._is_asked = False
        if self._app is None or self._file is None:
            return
        if self._rest is not None:
            self._rest.stop()
        self._rest = self._app.set_timer(_REST, partial(self._in_its_turn, self._keep))

    def _in_its_turn(self, step: Callable[[], Awaitable[None]]) -> None:
        """Do a step as a worker, so that no key waits for the disk."""
        if self._app is not None:
            _: Worker[None] = self._app.run_worker(step(), group="forms", exit_on_error=False)

    async def _keep(self) -> None:
        if self._file is None:
            return
        content = self._content()
        await asyncio.to_thread(self._write, content)

    def asks_to_leave(self, changed: int) -> str:
        """What is said at Esc where one is not enough to forget so many changed fields; empty where it is."""
        if self._is_asked or (changed < _TYPED_AWAY and not self._is_filled_in):
            return ""
        self._is_asked = True
        return "Esc again leaves and forgets what was typed; F9 goes on."

    async def keep_as_sent(self) -> None:
        """The form is being recorded: say so in its file first, in case that nobody hears the answer."""
        self._is_sent = True
        await self._keep()

    def not_sent(self) -> None:
        """It was refused; it goes on as a form that is being filled."""
        self._is_sent = False
        self.keep_soon()

    def keep_now(self) -> None:
        """Keep it on the spot."""
        self._write(self._content())

    async def forget(self) -> None:
        """Keep nothing of it: it is recorded."""
        self.end_keeping()
        await asyncio.to_thread(self._take_away)

    def leave_and_forget(self) -> None:
        """Keep nothing of it: it is left on purpose."""
        self.end_keeping()
        self._in_its_turn(self.forget)

    def end_keeping(self) -> None:
        """The form is done with."""
        if self._rest is not None:
            self._rest.stop()
        if self._app is not None:
            self._app.forms.closed(self)

    def _take_away(self) -> None:
        if self._file is not None:
            self._file.forget()
        if self._taken is not None:
            self._taken.forget()

    def _content(self) -> FormContent | None:
        """What is to be kept; None where nothing is."""
        who = self._app.signed_on if self._app is not None else None
        standing = self.standing()
        if self._app is None or who is None or not standing.is_touched:
            return None
        deed, title = self.kept_as
        rows = {name: tuple(map(dict, kept)) for name, kept in standing.rows.items()}
        return FormContent(
            who.code, deed, title, instant_text(self._app.now()), dict(standing.fields), rows, tuple(standing.scanned), self._is_sent
        )  # fmt: skip

    def _write(self, content: FormContent | None) -> None:
        if self._file is None:
            return
        if content is None:
            self._file.empty()
        elif self._file.keep(content) and self._taken is not None:
            self._taken.forget()
            self._taken = None


def _told(left: LeftForm) -> str:
    content = left.content
    name = content.title if content.deed == content.title else f"{content.title} ({content.deed})"
    return (
        f"Left unfinished on {left.when}: {name}. {_sent(content)}Open it again: what was "
        f"typed stands in it. After {KEPT_DAYS} days it is forgotten."
    )


def marked(left: LeftForm) -> str:
    """What a form says over fields that stood in it before."""
    return (
        f"TAKEN FROM THE FORM LEFT UNFINISHED on {left.when}. {_sent(left.content)}Look every field over; a second "
        "person and a PIN are asked anew."
    )


def _sent(content: FormContent) -> str:
    if content.is_sent:
        return "It was being recorded: look in the log whether it is, before it is recorded twice. "
    return "Nothing of it is recorded. "
