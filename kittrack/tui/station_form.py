"""A form of a station's own, for what is done from what stands on its screen: fields as everywhere, an act of its own."""

from collections.abc import Awaitable, Callable

from kittrack.services.desk import Done
from kittrack.tui import form_scans
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.deeds import Deed, Values

ScanInto = Callable[[str], str | None]
"""The name of the field that a scan belongs in; None where its kind decides."""


class StationForm(DeedForm):
    """Asks for what an act takes besides what the station knows, and answers with what the act said.

    Args:
        deed: its title, fields and notes; a form that was left unfinished is known by its title.
        act: does it with what was read; it may raise, and the form then stays, filled.
        scan_into: which field a scan belongs in, where that is no matter of its kind.
    """

    def __init__(
        self, deed: Deed, *, act: Callable[[Values], Awaitable[Done]], scan_into: ScanInto | None = None
    ) -> None:
        super().__init__(deed)
        self._act = act
        self._scan_into = scan_into
        self._noted: set[str] = set()

    def focus_empty(self, *, required: bool = False) -> None:  # noqa: ARG002 - the order of the work decides
        """Go to the first field that is empty, in the order of the work; stay where none is."""
        empty = [ask for ask in self.deed.in_order if not self.input_of(ask).value.strip()]
        if self.deed.asks and (empty or self.ask_here is None):
            self.input_of((*empty, *self.deed.in_order)[0]).focus()

    def put_scan(self, text: str) -> None:
        """Put a scan into its field."""
        name = self._scan_into(text) if self._scan_into is not None else None
        ask = next((ask for ask in self.deed.asks if ask.name == name), None)
        if ask is None:
            super().put_scan(text)
        else:
            form_scans.take_into(self, ask, text)

    async def note_entries(self) -> None:
        """Add what came into this form to what came in at the station, each number once, however often it is tried."""
        for text, typed in self.entered():
            if text not in self._noted:
                self._noted.add(text)
                await self.app.note_entry(text, typed=typed)

    async def carry_out(self, values: Values) -> object:
        """Do the station's act."""
        return await self._act(values)
