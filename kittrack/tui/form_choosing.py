"""What a field could say: suggested while somebody types, or listed by F4 and chosen from, with what each means.

A suggestion stands behind the cursor until Right takes it; nothing else changes a field, least of all what was
scanned. Names out of the store are data: one that this terminal can't show as it is is listed, never completed.
"""

from collections.abc import Awaitable, Callable, Sequence
from typing import Final

from textual.suggester import Suggester
from textual.widgets import Input, Static
from textual.worker import Worker

from kittrack.domain.text import clean_label
from kittrack.errors import KittrackError
from kittrack.queries.suggestions import Suggestion, suggestions
from kittrack.tui.chooser import Choice, Chooser
from kittrack.tui.deeds import Ask
from kittrack.tui.faults import log_fault
from kittrack.tui.form_fields import FormFields
from kittrack.tui.widgets.form_row import FormInput

_BESIDE: Final = 3  # that are told below the fields
_LISTED: Final = 60  # that F4 lists
_WORDS: Final = 24  # characters of what one is, below the fields

Find = Callable[[str], Awaitable[Sequence[Suggestion]]]


class FieldSuggester(Suggester):
    """Completes the last part of what stands in a field, and tells the form what else begins so."""

    def __init__(self, ask: Ask, *, find: Find, tell: Callable[[str, Sequence[Suggestion]], None]) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self._ask, self._find, self._tell = ask, find, tell

    async def get_suggestion(self, value: str) -> str | None:
        """What the field would say; its faults never reach the person who only types."""
        typed = last_part(self._ask, value)
        try:
            found = await self._find(typed) if typed else ()
        except KittrackError:
            found = ()  # the form tells of a store that can't be read once it is asked to go ahead
        except Exception as error:  # noqa: BLE001 - the library would end the program over a suggestion
            log_fault(error, where="suggestion")
            found = ()
        self._tell(value, found)
        return completed(self._ask, value, found)


def last_part(ask: Ask, value: str) -> str:
    """What is being typed: all of it, or what stands behind the last comma of a field that takes several."""
    return value.rpartition(",")[2].lstrip() if ask.many else value.lstrip()


def completed(ask: Ask, value: str, found: Sequence[Suggestion]) -> str | None:
    """The first of what begins so, with what stands in front of it; None where nothing can be completed."""
    typed = last_part(ask, value)
    for one in found:
        begins = one.value[: len(typed)].casefold() == typed.casefold() and len(one.value) > len(typed)
        if begins and one.value == clean_label(one.value):
            return value[: len(value) - len(typed)] + one.value
    return None


def in_choices(ask: Ask, typed: str) -> list[Suggestion]:
    """The fixed words of a field that begin with a text."""
    return [
        Suggestion(value, words)
        for value, words in ask.choices
        if value.casefold().startswith(typed.casefold())
    ]


class FormChoosing(FormFields):
    """A form whose fields suggest and list what they could say."""

    def suggester_of(self, ask: Ask) -> FieldSuggester | None:
        """What completes a field; None for one in which anything may stand."""
        if not ask.choices and not ask.looked_up:
            return None

        async def find(typed: str) -> Sequence[Suggestion]:
            return await self._found(ask, typed, limit=_BESIDE + 1)

        return FieldSuggester(ask, find=find, tell=lambda value, found: self._tell_found(ask, value, found))

    async def _found(self, ask: Ask, typed: str, *, limit: int) -> Sequence[Suggestion]:
        if ask.choices:
            return in_choices(ask, typed)[:limit]
        found: Sequence[Suggestion] = await self.app.ask(
            suggestions, of=ask.looked_up, text=typed, limit=limit, beside=self.now
        )
        return found

    def show_help(
        self, found: Sequence[Suggestion] = (), *, takes: str = "", is_arrival: bool = False
    ) -> None:
        """Say what belongs into the field of the focus, what begins as it does, and what typing does on arrival."""
        ask = self.ask_here
        if ask is None:
            return
        lines = [f"{ask.words}: {ask.help or ('needed' if ask.needed else 'may stay empty')}"]
        if found:
            typed = last_part(ask, self.input_of(ask).value).casefold()
            begins = found[0].value.casefold().startswith(typed)
            named = "; ".join(
                f"{one.value} ({clean_label(one.words, max_length=_WORDS)})" for one in found[:_BESIDE]
            )
            more = "; F4 lists more" if len(found) > _BESIDE else ""
            how = "Begins so" if begins else "Named so, F4 lists them"
            lines.append(f"{f'Right takes {takes}. ' if takes else ''}{how}: {named}{more if begins else ''}")
        elif ask.choices or ask.looked_up:
            lines[0] += ". F4 lists what it can be" if lines[0] else "F4 lists what it can be"
        if self.input_of(ask).is_replaced_by_typing(on_arrival=is_arrival):
            lines.append("Typing replaces what stands here, Right keeps it")
        self.query_one("#deed-help", Static).update(
            "\n".join(map(self.app.symbols.show, filter(None, lines)))
        )

    def _tell_found(self, ask: Ask, value: str, found: Sequence[Suggestion]) -> None:
        field = self.focused
        if self.is_attached and self.ask_here is ask and isinstance(field, Input) and field.value == value:
            whole = completed(ask, value, found)
            self.show_help(found, takes=last_part(ask, whole) if whole else "")

    def action_list(self) -> None:
        """F4: list what the field could say."""
        ask = self.ask_here
        if ask is None or self.is_working:
            return
        if not ask.choices and not ask.looked_up:
            self.hear(f"Nothing is listed for {ask.words}; type it.")
            return
        _: Worker[None] = self.run_worker(
            self._choose(ask), exclusive=True, group="list", exit_on_error=False
        )

    async def _choose(self, ask: Ask) -> None:
        field = self.input_of(ask)
        typed = "" if ask.choices else last_part(ask, field.value)
        try:
            found = await self._found(ask, typed, limit=_LISTED)
        except KittrackError as error:
            self.tell_error(error)
            return
        if not found:
            begun = f" that begins with {clean_label(typed, max_length=40)}" if typed else ""
            self.hear(f"The store holds nothing for {ask.words}{begun}; type less of it, or all of it.")
            return
        begun = f" beginning with {clean_label(typed, max_length=30)}" if typed else ""
        more = f"; the first {_LISTED}, type more in the field for others" if len(found) == _LISTED else ""
        choices = [Choice(one.value, (one.value, one.words)) for one in found]
        chosen = await self.app.push_screen_wait(Chooser(f"{ask.words}{begun}{more}", choices=choices))
        if chosen is not None:
            _put(ask, field, chosen)


def _put(ask: Ask, field: FormInput, chosen: str) -> None:
    kept = field.value[: len(field.value) - len(last_part(ask, field.value))]
    field.put(f"{kept}{clean_label(chosen)}")
    field.focus()
