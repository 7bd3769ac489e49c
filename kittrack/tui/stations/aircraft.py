"""The Aircraft: one position finished before the next, the sense read three ways, the last walk, the end of a job.

The station holds where the work is; every rule stands in the services. Source: design 7, R3, R8, R10, R11.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import ClassVar

from textual.widget import Widget

from kittrack.domain.codes import Code, Kind, looks_like_code, read_code
from kittrack.errors import BadInput, NotFound, Refusal, Refused
from kittrack.queries import standing
from kittrack.queries.at_aircraft import AircraftView, aircraft_view
from kittrack.queries.lookup import what_is
from kittrack.queries.standing import JobStanding
from kittrack.services import fitting
from kittrack.services.desk import Done
from kittrack.services.walking import Seen
from kittrack.tui import doing
from kittrack.tui.aircraft_text import airframe_lines, open_job_lines
from kittrack.tui.entries import Entry, that_is
from kittrack.tui.frame import bindings
from kittrack.tui.keys import PAGES, Key
from kittrack.tui.stations import aircraft_steps as steps
from kittrack.tui.stations.aircraft_acts import AircraftActs
from kittrack.tui.stations.aircraft_steps import Work
from kittrack.tui.verdicts import SENSE_RULES, Tone, Verdict, verdict
from kittrack.tui.widgets.text_body import TextBody

_JOBS_SHOWN = 10
_MUCH = 3  # sentences beside the first, from which on the next step is not left to the end

_OWN: tuple[Key, ...] = (
    Key("f8", "F8", "flip", "see the plan from below, or from above again"),
    Key(
        "ctrl+r",
        "Ctrl+R",
        "take_off_again",
        "take a set off again that is not finished, or the one that stopped a walk",
    ),
    *PAGES,
)


class Aircraft(AircraftActs):
    """Fits, fastens, inspects, walks, and closes jobs."""

    mode = "aircraft"
    wants = "a job or an airframe"
    about = (
        "Scan a job or an airframe, or type its tail. F9 takes the next step from there; the verdict line says which.",
        "At a position: take the old rotor off, scan the new set, read the mark on the rotor itself and type it: label, "
        "mark and map must agree. F9 asks what fastens it. Another person scans their badge there and reads the mark again.",
        "At the end all positions are walked once more. An issued kit is opened here: scan it and read its seal. "
        "Transport, loss, motor work, an occurrence, a re-torque: F10.",
    )
    own_keys = _OWN
    CSS_PATH = "aircraft.tcss"
    BINDINGS: ClassVar = bindings(_OWN)

    def __init__(self) -> None:
        super().__init__()
        self.work = Work()
        self.view: AircraftView | None = None
        self.jobs: tuple[JobStanding, ...] = ()
        self.from_below = False

    def body(self) -> Iterable[Widget]:
        """One text."""
        yield TextBody(symbols=self.symbols)

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """A code goes where it belongs; other text is what was asked for: a tail, a seal, or a mark."""
        if entry.code is not None:
            await self._take_code(entry.code)
        elif entry.scan.problems:
            entry.require_code(self._wanted())
        elif not (self.work.kit or steps.is_mark_asked(self.work)):
            await self._take_tail(entry)
        elif self.work.kit:
            await self._open_kit(entry.text)
        else:
            await self._take_mark(entry.text)

    async def _take_tail(self, entry: Entry) -> None:
        try:
            await self._show(Work(found_by=entry.text))
        except NotFound:
            if self.work.found_by:  # here it may be meant as something else
                entry.require_code(self._wanted())
            raise

    async def _take_code(self, code: Code) -> None:
        match code.kind:
            case Kind.JOB | Kind.AIRFRAME:
                await self._show(Work(found_by=code.text))
            case Kind.POSITION:
                await self._take_position(code.text)
            case Kind.ROTOR_SET:
                await self._take_set(code.text)
            case Kind.PERSON:
                await self._take_inspector(code.text)
            case Kind.KIT:
                await self._take_kit(code.text)
            case Kind.PIECE if self.work.position:
                raise Refused([await self._single_piece(code.text)])
            case _:
                raise that_is(code, wanted=self._wanted())

    async def _take_position(self, code: str) -> None:
        if self.work.is_walk:
            if not await self._is_walk_of_another():
                await self._show(replace(self.work, position=code))
            return
        before = self.view
        is_known = before is not None and any(position.code == code for position in before.positions)
        await self._show(Work(found_by=self.work.found_by if is_known else code, position=code))
        if before is not None and self.view is not None and self.view.code != before.code:
            told = f"This is {self.view.tail}, another airframe than before."
            self.say(verdict(Tone.NEXT, told, *self._ready().sentences))

    async def _take_kit(self, code: str) -> None:
        """A kit is opened for the job that it is out for; where the work was elsewhere, it goes on there."""
        before, found = self.view, await self.app.ask(aircraft_view, code=code)
        if before is None or before.job != found.job:
            await self._show(Work(found_by=found.job))
        is_elsewhere = before is not None and before.code != found.code
        told = [f"{code} is for {found.tail}, another airframe than before."] if is_elsewhere else []
        if not any(kit.code == code and kit.is_issued for kit in found.kits):
            told.append(f"{code} was opened for {found.job}, which holds what is left of it.")
            self.say(verdict(Tone.NEXT, *told, *self.next_in_words()))
            return
        self.work = replace(self.work, kit=code)
        read = "Read" if told else "read"
        self.say(verdict(Tone.NEXT, *told, f"{read} and enter the seal on {code}, before you break it."))

    async def _single_piece(self, code: str) -> Refusal:
        """Why a blade, a hub or a bottle is nothing for a position by itself."""
        thing = await self.app.ask(what_is, code=code)
        around = [place for place in thing.where if looks_like_code(place)]
        of_set = f" of {around[0]}" if around and read_code(around[0]).kind is Kind.ROTOR_SET else ""
        message = (
            f"{code} is a single piece{of_set}; only a whole set goes on a position: scan the set's label."
        )
        return Refusal("R1", code, message)

    async def _take_set(self, code: str) -> None:
        """What stands against a set here is told at once; the mark is asked for only where nothing does."""
        here = self._here
        if here is None or self.work.is_walk:
            raise BadInput(f"{code} is a rotor set; scan the tag of its position first.")
        try:  # it is never fitted so: without a mark read, the act is always refused
            await self.app.ask(
                fitting.fit_set, job=self._job, position=here.code, rotor_set=code, mark="", by=self.app.me,
                at=self.app.now(),
            )  # fmt: skip
        except Refused as error:
            against = [reason for reason in error.refusals if reason.rule != "R2"]
            if against:
                refused = Refused([*against, *steps.asked_by_form(against, code)])
                await self._keep_stop(refused, scanned=code, mark="")
                raise refused from error
        self.work = replace(self._at(here.code), rotor_set=code)
        self.say(
            verdict(Tone.NEXT, f"read the mark on the rotor itself, not on its label, and type it ({code}).")
        )

    async def _take_inspector(self, code: str) -> None:
        here = self._here
        if here is None or here.state != "fitted":
            raise BadInput(f"{code} is a person; nothing waits for an inspector here. Scan {self._wanted()}.")
        inspector = await self.app.confirm(code, what=f"the inspection of {here.name}")
        try:  # as above, nothing is recorded without a mark
            await self.app.ask(
                fitting.inspect_position, job=self._job, position=here.code, mark="", by=inspector.code,
                at=self.app.now(),
            )  # fmt: skip
        except Refused as error:
            against = [reason for reason in error.refusals if reason.rule != "R2"]
            if against:
                refused = Refused(against)
                await self._keep_stop(refused, scanned=here.fitted, mark="")
                raise refused from error
        self.work = replace(self.work, inspector=inspector)
        self.say(verdict(Tone.NEXT, *steps.inspection(here, inspector)))

    async def ask_for_second(self) -> None:
        """The inspector's badge, where a position waits for one."""
        here = self._here
        if here is None or here.state != "fitted":
            raise BadInput(f"Nothing waits for an inspector here; scan {self._wanted()}.")
        self.say(verdict(Tone.NEXT, f"scan the inspector's badge; {here.name} is then read once more."))

    async def _take_mark(self, mark: str) -> None:
        work, here = self.work, self._here
        if work.is_walk:
            await self._see(Seen(work.position, mark))
            return
        inspector, scanned = work.inspector, work.rotor_set
        if inspector is not None and here is not None:
            scanned = here.fitted
            act = self.app.ask(
                fitting.inspect_position, job=self._job, position=work.position, mark=mark, by=inspector.code,
                at=self.app.now(),
            )  # fmt: skip
        else:
            act = self.app.ask(
                fitting.fit_set, job=self._job, position=work.position, rotor_set=scanned, mark=mark,
                by=self.app.me, at=self.app.now(),
            )  # fmt: skip
        try:
            said = await act
        except Refused as error:
            await self._keep_stop(error, scanned=scanned, mark=mark)
            if not error.rules & SENSE_RULES:
                raise
            again = steps.read_again("the inspector's badge" if inspector else scanned)
            raise Refused([*error.refusals, again]) from error
        await self._show(replace(self._at(work.position), position="" if inspector else work.position), said)

    async def _keep_stop(self, error: Refused, *, scanned: str, mark: str) -> None:
        """Put a scan that was stopped for its sense on record; set and inspector are to be scanned again."""
        work, self.work = self.work, self._at(self.work.position)
        if error.rules & SENSE_RULES and "role" not in error.rules:
            by = work.inspector.code if work.inspector else self.app.me
            await self.app.ask(
                fitting.record_refused_scan, job=self._job, position=work.position, scanned=scanned, mark=mark,
                by=by, at=self.app.now(),
            )  # fmt: skip

    async def _see(self, seen: Seen) -> None:
        """One position of the walk; every mark is judged when the walk is done."""
        if await self._is_walk_of_another():
            return
        others = tuple(s for s in self.work.seen if s.position != seen.position)
        await self._show(replace(self.work, position="", seen=(*others, seen), stopped_at=""))

    async def _is_walk_of_another(self) -> bool:
        """Whether the walk that runs was begun by somebody else: then it begins anew, as nobody vouches for another's eyes."""
        if self.work.walker == self.app.me:
            return False
        self.work = Work(found_by=self.work.found_by, is_walk=True, walker=self.app.me)
        await self._show(self.work)
        told = "the walk was begun by another person; whoever walks reads every mark, so it begins anew."
        self.say(verdict(Tone.NEXT, told, *self._ready().sentences))
        return True

    # ---- where the work is -----------------------------------------------------------------------

    async def reload(self) -> None:
        """Look at the same airframe again."""
        await self._show(self.work)

    async def start_again(self) -> None:
        """Leave the position; once more, leave the walk with all that it has seen; once more, the airframe."""
        if self.work.is_walk and self.work.position:
            await self._show(replace(self.work, position=""))
            return
        goes_up = self.work != self._at("")
        await self._show(self._at("") if goes_up else Work())

    async def _show(self, work: Work, said: Done | None = None) -> None:
        """Ask the store for the airframe again, draw it, and say what was done and what comes next."""
        view = await self.app.ask(aircraft_view, code=work.found_by) if work.found_by else None
        if view is None:
            self.jobs = await self.app.ask(standing.newest_open_jobs, most=_JOBS_SHOWN)
        self.work, self.view = work, view
        self._draw()
        self.say(self._ready() if said is None else self._told(said, await doing.given_out(self.app, said)))

    def _told(self, said: Done, new: Sequence[str]) -> Verdict:
        """What was done and what comes next; of much that was done, the next step stands second, always in sight."""
        stops = any(sentence.startswith("STOP") for sentence in said.said)
        first, *more = [s for s in doing.what_was_done(said, new=new).sentences if not s.startswith("Next: ")]
        after = [*self.next_in_words()]
        if self.view is not None and self.view.job_state == "closed":
            after = [*steps.after_closing(self.view)]
        told = (first, *after, *more) if len(more) >= _MUCH else (first, *more, *after)
        return verdict(Tone.STOP if stops else Tone.DONE, *told)

    async def took(self, answer: Done) -> None:
        """Show the airframe as it is after an act of the menu, and what comes next."""
        await self._show(self._at(self.work.position), answer)

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """The set or kit that was scanned, the position, the job and the airframe that are worked on."""
        work, view = self.work, self.view
        of_view = (view.job, view.code) if view else ()
        return tuple(read_code(text) for text in (work.rotor_set, work.kit, work.position, *of_view) if text)

    def next_in_words(self) -> tuple[str, ...]:
        """What comes next for whoever signs on."""
        return steps.next_in_words(self.view, self.work)

    # ---- what is shown ---------------------------------------------------------------------------

    def _wanted(self) -> str:
        return steps.wanted(self.view, self.work)

    def prompt(self) -> str:
        """What the scan line waits for."""
        return steps.prompt(self.view, self.work)

    def keys_in_words(self) -> Sequence[str]:
        """The keys that matter now."""
        words = ["F9 next step", "Esc back"]
        if self.view is not None:
            words.append("F8 from above" if self.from_below else "F8 from below")
        here = self._here
        if here is not None and here.state == "not finished":
            words.append("Ctrl+R take off")
        return words

    body_goes_on_by = "PgDn more"

    @property
    def body_goes_on(self) -> bool:
        """Whether more is told of the aircraft than fits."""
        return self.query_one(TextBody).goes_on

    def _draw(self) -> None:
        view, body = self.view, self.query_one(TextBody)
        if view is None:
            jobs = self.jobs
            body.show(lambda width: open_job_lines(jobs, width=width))
            return
        here, walked = self.work.position, tuple(s.position for s in self.work.seen)
        body.show(
            lambda width: airframe_lines(
                view, here=here, walked=walked, symbols=self.symbols, from_below=self.from_below,
                width=width, height=body.size.height or 18,
            )
        )  # fmt: skip

    def action_flip(self) -> None:
        """Flip the picture, never the data."""
        if self.view is None:
            return
        self.from_below = not self.from_below
        self._draw()
        self.show_keys()

    def action_take_off_again(self) -> None:
        """Ctrl+R."""
        self.app.then(self._take_off_again, station=self)

    def action_page(self, pages: int) -> None:
        """Show what is above or below."""
        self.query_one(TextBody).scroll_relative(y=pages * 10, animate=False)
