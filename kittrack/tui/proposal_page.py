"""A pairing proposal, looked at before anything is accepted: each set with its residual, as numbers and as bars.

F9 makes the set under the cursor by its form, F8 makes all of them one after another. Each set is one act of
its own, so what was made before one is refused stays made. Source: design C3, R19.
"""

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static
from textual.worker import Worker

from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, KittrackError
from kittrack.queries.pairing import LotPairing, PairingProposal, propose_pairing
from kittrack.services import matching
from kittrack.services.desk import Done
from kittrack.tui import layout
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.faults import log_fault
from kittrack.tui.hints import known_of
from kittrack.tui.listing import Record
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.verdicts import Tone, done, verdict, verdict_of
from kittrack.tui.widgets.plots import Bar, bar_lines
from kittrack.tui.widgets.record_list import RecordList
from kittrack.tui.widgets.text_body import TextBody

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_HEADS = ("sense", "blades around the hub", "residual", "uncertain by", "tolerance", "lot")
_KEYS = "Up Down   F9 make this set   F8 make all   PgUp PgDn   Esc leaves"


class ProposalPage(ModalScreen[Done | None], ScanTaker):
    """Shows a proposal over the station; answers with what was made of it, None where nothing was."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", show=False),
        Binding("f9", "go_ahead", "make this set", show=False),
        Binding("f8", "make_all", "make all sets", show=False),
        Binding("down", "move(1)", "down", show=False),
        Binding("up", "move(-1)", "up", show=False),
        Binding("pagedown", "scroll(1)", "further down", show=False),
        Binding("pageup", "scroll(-1)", "further up", show=False),
    ]
    if TYPE_CHECKING:
        app: StationsApp

    def __init__(self, proposal: PairingProposal, *, is_one_stop: bool) -> None:
        super().__init__()
        self._proposal = proposal
        self._is_one_stop = is_one_stop
        self._made: list[Done] = []

    def compose(self) -> ComposeResult:
        """Title, the sets, their bars with who stays single, what is told, the keys."""
        title = f"Proposed, nothing is made yet: {self._proposal.sense} {self._proposal.part}"
        with Vertical(id="page", classes="proposal"):
            yield Static(self.app.symbols.show(title), markup=False, classes="form-title")
            yield RecordList(symbols=self.app.symbols)
            yield TextBody(symbols=self.app.symbols, widget_id="page-text")
            yield Static("", markup=False, id="page-told")
            yield Static(_KEYS, markup=False, classes="form-keys")

    def on_mount(self) -> None:
        """Show it."""
        self.call_after_refresh(self._show)

    def _show(self) -> None:
        records = [record for lot in self._proposal.lots for record in _records(self._proposal, lot)]
        self.query_one(RecordList).show(_HEADS, records)
        self.query_one(TextBody).show(self._drawn)

    def _drawn(self, width: int) -> list[str]:
        lines: list[str] = []
        for lot in self._proposal.lots:
            lines += layout.wrapped(
                f"lot {', '.join(lot.lots)} on {lot.scale}: {lot.said}", width=width, indent="  "
            )
            lines += bar_lines(
                _bars(lot), width=width, symbols=self.app.symbols, limit=lot.tolerance_g_um / 1000,
                limit_words=f"tolerance {_moment(lot.tolerance_g_um)}; a bar is residual and uncertainty together",
            )  # fmt: skip
            lines += [
                part
                for one in lot.pairing.singles
                for part in layout.wrapped(one.in_words, width=width, indent="  ")
            ]
        lines += [
            part
            for code, why in self._proposal.left_out
            for part in layout.wrapped(f"left out: {code}, {why}", width=width, indent="  ")
        ]
        return lines or ["No loose blade of this part is serviceable and weighed."]

    def hear(self, sentence: str) -> None:
        """Show one sentence."""
        self._tell([sentence])

    def _tell(self, lines: list[str] | tuple[str, ...]) -> None:
        width = max(20, self.size.width - 4)
        shown = [
            part
            for line in lines
            for part in layout.wrapped(self.app.symbols.show(line), width=width, indent="  ")
        ]
        self.query_one("#page-told", Static).update("\n".join(shown))

    def take_scan(self, text: str) -> None:
        """A blade that is scanned is looked for among the sets."""
        wanted = clean_label(text, max_length=40)
        for lot in self._proposal.lots:
            for one in lot.pairing.sets:
                if wanted in one.keys:
                    self.query_one(RecordList).choose(one.keys[0])
                    self._tell(
                        [f"{wanted} is proposed with {', '.join(key for key in one.keys if key != wanted)}."]
                    )
                    return
        self._tell([f"{wanted} is in none of these sets."])

    # ---- making ----------------------------------------------------------------------------------

    def action_go_ahead(self) -> None:
        """F9: the form of the set under the cursor, with its blades; a hub or tape may be added there."""
        here = self.query_one(RecordList).here
        if here is None:
            self._tell(["There is no set to make; Esc leaves."])
        elif not self.is_working:
            _: Worker[None] = self.run_worker(partial(self._make_by_form, here.key), exit_on_error=False)

    async def _make_by_form(self, first: str) -> None:
        deeds = {deed.key: deed for deed in (await self.app.all_deeds())["matching"]}
        keys = next(
            one.keys for lot in self._proposal.lots for one in lot.pairing.sets if one.keys[0] == first
        )
        given = {"blades": ", ".join(keys), "one_stop": "yes" if self._is_one_stop else "no"}
        try:
            _me = self.app.me
        except KittrackError as error:
            self._tell(verdict_of(error).lines)
            return
        made = await self.app.push_screen_wait(DeedForm(deeds["set measure"], given=given, hint=known_of))
        if isinstance(made, Done):
            self._made.append(made)
            await self._ask_again()
            self._tell(done(made.said).lines)

    def action_make_all(self) -> None:
        """F8: every set that is proposed, one act each."""
        if not self.is_working:
            self.is_working = True
            _: Worker[None] = self.run_worker(self._make_all, exit_on_error=False)

    async def _make_all(self) -> None:
        wanted = [one.keys for lot in self._proposal.lots for one in lot.pairing.sets]
        made = 0
        try:
            for keys in wanted:
                self._tell([f"one moment, {made} of {len(wanted)} sets are made"])
                self._made.append(
                    await self.app.ask(
                        matching.make_set_by_measurement,
                        blades=keys,
                        by=self.app.me,
                        at=self.app.now(),
                        one_stop=self._is_one_stop,
                    )
                )
                made += 1
            await self._ask_again()
            self._tell(
                verdict(Tone.DONE, f"{made} of {len(wanted)} sets are made; label them: Esc, then F10.").lines
            )
        except KittrackError as error:
            self._tell([f"{made} of {len(wanted)} sets are made.", *verdict_of(error).lines])
        except Exception as error:  # noqa: BLE001 - the person gets a sentence, the log gets the trace
            self._tell([log_fault(error, where="proposal")])
        finally:
            self.is_working = False

    async def _ask_again(self) -> None:
        """The proposal for the blades that are still loose."""
        try:
            self._proposal = await self.app.ask(
                propose_pairing, part=self._proposal.part, at=self.app.now(), one_stop=self._is_one_stop
            )
        except BadInput as error:
            self._tell(verdict_of(error).lines)
        self._show()

    # ---- keys ------------------------------------------------------------------------------------

    def action_move(self, lines: int) -> None:
        """Another set."""
        self.query_one(RecordList).move(lines)

    def action_scroll(self, pages: int) -> None:
        """More of the bars."""
        body = self.query_one(TextBody)
        body.scroll_relative(y=pages * max(1, body.size.height - 1), animate=False)

    def action_leave(self) -> None:
        """Leave; what was made stays made."""
        if self.is_working:
            return
        if not self._made:
            self.dismiss(None)
            return
        codes = tuple(code for one in self._made for code in one.codes)
        self.dismiss(
            Done(self._made[-1].event, codes, (f"{len(self._made)} sets made: {', '.join(codes)}.",))
        )


def _records(proposal: PairingProposal, lot: LotPairing) -> Iterator[Record]:
    for one in lot.pairing.sets:
        cells = (
            proposal.sense, " ".join(one.keys), _moment(one.residual_g_um), _moment(lot.uncertainty_g_um),
            _moment(lot.tolerance_g_um), ", ".join(lot.lots),
        )  # fmt: skip
        yield Record(one.keys[0], cells)


def _bars(lot: LotPairing) -> list[Bar]:
    return [
        Bar(
            " ".join(one.keys), (one.residual_g_um + lot.uncertainty_g_um) / 1000,
            f"{_moment(one.residual_g_um)} + {_moment(lot.uncertainty_g_um)}",
        )
        for one in lot.pairing.sets
    ]  # fmt: skip


def _moment(moment_g_um: float) -> str:
    return write_quantity(round(moment_g_um), dimension=Dimension.MOMENT)
