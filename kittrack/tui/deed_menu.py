"""The menu of what can be done at a station, or at all of them: arrows or a number, or typing to filter."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from kittrack.domain.codes import Code
from kittrack.tui.chooser import Choice, Chooser
from kittrack.tui.deeds import NOWHERE, Deed
from kittrack.tui.keys import STATIONS
from kittrack.tui.widgets.record_list import RecordList

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_NAMES = dict(STATIONS)


class DeedMenu(Chooser[Deed]):
    """Lists deeds, those that take what is in hand first; F10 goes on to the deeds of all stations.

    So does typing what no deed of this station is called.
    """

    if TYPE_CHECKING:
        app: StationsApp

    def __init__(
        self, deeds: Mapping[str, Sequence[Deed]], *, here: str, codes: Sequence[Code] = (), everywhere: bool = False
    ) -> None:  # fmt: skip
        self._deeds = deeds
        self._here = here
        self._codes = codes
        self._everywhere = everywhere
        super().__init__("", choices=())
        self._change()

    def on_mount(self) -> None:
        """Show all, and take what was typed since the menu was asked for."""
        super().on_mount()
        self.call_after_refresh(self.app.let_keys_in)

    def _change(self) -> None:
        where = "every station" if self._everywhere else _NAMES[self._here]
        hand = f"; in hand: {', '.join(map(str, self._codes))}" if self._codes else ""
        self.title_shown = f"What is to be done? {where}{hand}"
        other = "this station" if self._everywhere else "every station"
        self.keys_shown = f"Up Down or a number; type to filter   Enter choose   F10 {other}   Esc leave"
        modes = (
            [self._here, *(m for m in self._deeds if m not in (self._here, NOWHERE))]
            if self._everywhere
            else [self._here]
        )
        named: dict[str, tuple[Deed, str]] = {}
        for mode in modes:  # what several stations do is listed once
            for deed in self._deeds.get(mode, ()):
                named.setdefault(deed.key, (deed, mode))
        found = [self._choice(deed, mode) for deed, mode in named.values()]
        self.choices = sorted(found, key=lambda choice: not choice.is_first)

    def _choice(self, deed: Deed, mode: str) -> Choice[Deed]:
        fits = [code for code in self._codes if deed.takes(code.kind)]
        where = (_NAMES[mode],) if self._everywhere else ()
        return Choice(deed, (deed.key, *where, deed.title), is_first=bool(fits))

    def _filter(self, text: str) -> None:
        super()._filter(text)
        if text and not self._everywhere and self.query_one(RecordList).here is None:
            self.action_other()

    def action_other(self) -> None:
        """F10: the deeds of all stations, or of this one again."""
        self._everywhere = not self._everywhere
        self._change()
        self.show_again()
