"""The Aircraft: one position finished before the next, the sense read three ways, the last walk, the end of a job.

The station holds where the work is; every rule stands in the services. Source: design 7, R3, R8, R10, R11.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import ClassVar

from textual.widget import Widget

from kittrack.domain.codes import Code, Kind
from kittrack.errors import BadInput, Refused
from kittrack.queries.at_aircraft import AircraftView, PositionView, aircraft_view
from kittrack.services import fitting, issuing, jobs, removing, sense_maps
from kittrack.services.desk import Done
from kittrack.services.walking import Seen
from kittrack.tui import layout
from kittrack.tui.aircraft_text import airframe_lines
from kittrack.tui.entries import Entry, that_is
from kittrack.tui.keys import PAGES, Key
from kittrack.tui.station import Station, bindings
from kittrack.tui.stations import aircraft_forms as forms
from kittrack.tui.stations import aircraft_steps as steps
from kittrack.tui.stations.aircraft_forms import MotorTest
from kittrack.tui.stations.aircraft_steps import Work
from kittrack.tui.verdicts import SENSE_RULES, Tone, Verdict, verdict
from kittrack.tui.widgets.text_body import TextBody

_OWN: tuple[Key, ...] = (
    Key("f8", "F8", "flip", "see the plan from below, or from above again"),
    Key("ctrl+r", "Ctrl+R", "take_off_again", "take a set off again that is not finished"),
    *PAGES,
)


class Aircraft(Station):
    """Fits, fastens, inspects, walks, and closes jobs."""

    mode = "aircraft"
    wants = "a job or an airframe"
    about = (
        "Scan a job or an airframe. Then scan a position's tag (or F9 takes the next), scan the rotor set, read "
        "the mark on the rotor itself and type it: label, mark and map must agree.",
        "F9 then asks what fastens it. Another person scans their badge at the position and reads the mark again.",
        "At the end all positions are walked once more. An issued kit is opened here: scan it and read its seal.",
    )
    own_keys = _OWN
    CSS_PATH = "aircraft.tcss"
    BINDINGS: ClassVar = bindings(_OWN)

    def __init__(self) -> None:
        super().__init__()
        self.work = Work()
        self.view: AircraftView | None = None
        self.from_below = False

    def body(self) -> Iterable[Widget]:
        """One text."""
        yield TextBody(symbols=self.symbols)

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """A code goes where it belongs; other text is what was asked for: a tail, a seal, or a mark."""
        if entry.code is not None:
            await self._take_code(entry.code)
        elif not (self.work.found_by or self.work.kit or entry.scan.problems):
            await self._show(Work(found_by=entry.text))
        elif entry.scan.problems or not (self.work.kit or steps.is_mark_asked(self.work)):
            entry.require_code(self._wanted())
        elif self.work.kit:
            await self._open_kit(entry.text)
        else:
            await self._take_mark(entry.text)

    async def _take_code(self, code: Code) -> None:
        match code.kind:
            case Kind.JOB | Kind.AIRFRAME:
                await self._show(Work(found_by=code.text))
            case Kind.POSITION:
                await self._take_position(code.text)
            case Kind.ROTOR_SET:
                self._take_set(code.text)
            case Kind.PERSON:
                await self._take_inspector(code.text)
            case Kind.KIT:
                self.work = replace(self.work, kit=code.text)
                self.say(verdict(Tone.NEXT, f"read and enter the seal on {code.text}, before you break it."))
            case _:
                raise that_is(code, wanted=self._wanted())

    async def _take_position(self, code: str) -> None:
        if self.work.is_walk:
            await self._show(replace(self.work, position=code))
            return
        found_by = self.work.found_by or code
        await self._show(Work(found_by=found_by, position=code))
        if self._here is None:  # of another airframe: that one comes to the front, and it is said
            await self._show(Work(found_by=code, position=code))
            tail = self.view.tail if self.view else ""
            self.say(
                verdict(Tone.NEXT, f"This is {tail}, another airframe than before.", *self._ready().sentences)
            )

    def _take_set(self, code: str) -> None:
        here = self._here
        if here is None or self.work.is_walk:
            raise BadInput(f"{code} is a rotor set; scan the tag of its position first.")
        self.work = replace(self.work, rotor_set=code)
        self.say(
            verdict(Tone.NEXT, f"read the mark on the rotor itself, not on its label, and type it ({code}).")
        )

    async def _take_inspector(self, code: str) -> None:
        here = self._here
        if here is None or here.state != "fitted":
            raise BadInput(f"{code} is a person; nothing waits for an inspector here. Scan {self._wanted()}.")
        inspector = await self.app.confirm(code, what=f"the inspection of {here.name}")
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
            raise
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
        others = tuple(s for s in self.work.seen if s.position != seen.position)
        await self._show(replace(self.work, position="", seen=(*others, seen)))

    async def _open_kit(self, seal: str) -> None:
        kit = self.work.kit
        said = await self.app.ask(
            issuing.open_at_aircraft, kit=kit, seal=seal, by=self.app.me, at=self.app.now()
        )
        await self._show(replace(self.work, kit=""), said)

    # ---- acts ------------------------------------------------------------------------------------

    async def go_ahead(self) -> None:
        """The next step: at a position, on the walk, or of the job."""
        view, here = self.view, self._here
        if view is None:
            self.say(self._ready())
        elif self.work.is_walk:
            await self._end_walk(view)
        elif here is not None and here.state not in ("inspected", "walked", ""):
            await self._go_ahead_at(here, view)
        else:
            await self._go_ahead_with_job(view)

    async def _go_ahead_at(self, here: PositionView, view: AircraftView) -> None:
        if here.state == "not finished":
            await self._fasten(here, view)
        elif here.state in ("to do", "bare") and here.fitted:
            await self._take_off(here)
        else:
            self.say(self._ready())

    async def _go_ahead_with_job(self, view: AircraftView) -> None:
        acts = {
            "open a job": self._open_job, "walk": self._begin_walk, "motor test": self._motor_test, "close": self._close,
        }  # fmt: skip
        if view.next_act == "position":
            await self._show(self._at(view.next_position))
        elif view.next_act in acts:
            await acts[view.next_act](view)
        else:
            self.say(self._ready())

    async def _fasten(self, here: PositionView, view: AircraftView) -> None:
        hub = await self.app.ask(forms.hub_needs, position=here.code)
        said = await forms.ask_fastened(
            self, here, hub, view.in_job,
            lambda answer: self.app.ask(
                fitting.fasten, job=view.job, position=here.code, parts=answer.parts, torque_mnm=answer.torque_mnm,
                tool=answer.tool, method=answer.method, by=self.app.me, at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(self._at(here.code), said)

    async def _take_off(self, here: PositionView) -> None:
        said = await forms.ask_taken_off(
            self, here,
            lambda answer: self.app.ask(
                removing.remove_set, job=self._job, position=here.code, mark=answer.mark, reason=answer.reason,
                screws_out=answer.screws_out, purpose=answer.purpose, to_place=answer.carrier, by=self.app.me,
                at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(self._at(here.code), said)

    async def _take_off_again(self) -> None:
        here = self._here
        if here is None or here.state not in ("not finished", "fitted"):
            raise BadInput("Nothing unfinished is chosen; scan the tag of a position that is NOT FINISHED.")
        note = "The set goes back to the job; what fastened it is scrapped."
        said = await forms.ask_reason(
            self, f"Take {here.fitted} off {here.name} again", note=note,
            act=lambda reason: self.app.ask(
                fitting.take_off_unfinished, job=self._job, position=here.code, reason=reason, by=self.app.me,
                at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(self._at(here.code), said)

    async def _open_job(self, view: AircraftView) -> None:
        said = await forms.ask_job(
            self, view,
            lambda answer: self.app.ask(
                jobs.open_job, airframe=view.code, purpose=answer[0], positions=answer[1], by=self.app.me,
                at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(Work(found_by=said.codes[0]), said)

    async def _begin_walk(self, _view: AircraftView) -> None:
        await self._show(Work(found_by=self.work.found_by, is_walk=True))

    async def _end_walk(self, view: AircraftView) -> None:
        if steps.to_walk(view, self.work):
            self.say(self._ready())
            return
        seen = self.work.seen
        self.work = Work(found_by=self.work.found_by, is_walk=True)  # refused, every mark is read again
        said = await self.app.ask(
            fitting.walk_positions, job=self._job, seen=seen, by=self.app.me, at=self.app.now()
        )
        await self._show(self._at(""), said)

    async def _motor_test(self, view: AircraftView) -> None:
        async def record(answer: MotorTest) -> Done:
            second = await self.app.confirm(answer.second, what="the motor test")
            return await self.app.ask(
                sense_maps.record_motor_test, airframe=view.code, seen=answer.seen, source=answer.source,
                by=self.app.me, second=second.code, at=self.app.now(),
            )  # fmt: skip

        said = await forms.ask_motor_test(self, view.positions, record)
        if said is not None:
            await self._show(self._at(""), said)

    async def _close(self, view: AircraftView) -> None:
        said = await self.app.ask(jobs.close_job, job=view.job, by=self.app.me, at=self.app.now())
        await self._show(Work(found_by=view.job), said)

    # ---- where the work is -----------------------------------------------------------------------

    def _at(self, position: str) -> Work:
        return Work(found_by=self.work.found_by, position=position)

    @property
    def _job(self) -> str:
        if self.view is None or not self.view.job:
            raise BadInput("No job is open for this airframe; F9 opens one.")
        return self.view.job

    @property
    def _here(self) -> PositionView | None:
        return steps.here(self.view, self.work)

    async def reload(self) -> None:
        """Look at the same airframe again."""
        await self._show(self.work)

    async def start_again(self) -> None:
        """Leave the position; once more, leave the airframe."""
        goes_up = self.work != self._at("")
        await self._show(self._at("") if goes_up else Work())

    async def _show(self, work: Work, said: Done | None = None) -> None:
        """Ask the store for the airframe again, draw it, and say what was done and what comes next."""
        view = await self.app.ask(aircraft_view, code=work.found_by) if work.found_by else None
        self.work, self.view = work, view
        self._draw()
        if said is None:
            self.say(self._ready())
        else:
            stops = any(sentence.startswith("STOP") for sentence in said.said)
            told = [sentence for sentence in said.said if not sentence.startswith("Next: ")]
            self.say(verdict(Tone.STOP if stops else Tone.DONE, *told, f"Next: {self._ready().sentences[0]}"))

    # ---- what is shown ---------------------------------------------------------------------------

    def _ready(self) -> Verdict:
        return steps.ready(self.view, self.work)

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
        return [*words, *(["PgDn more"] if self.query_one(TextBody).goes_on else [])]

    def _draw(self) -> None:
        view, body = self.view, self.query_one(TextBody)
        if view is None:
            text = " No airframe is chosen. Scan a job or an airframe's tag; F9 then leads through the work."
            body.show(lambda width: ["", *layout.wrapped(text, width=width, indent=" ")])
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
        self.from_below = not self.from_below
        self._draw()
        self.show_keys()

    def action_take_off_again(self) -> None:
        """Ctrl+R."""
        self.app.then(self._take_off_again, station=self)

    def action_page(self, pages: int) -> None:
        """Show what is above or below."""
        self.query_one(TextBody).scroll_relative(y=pages * 10, animate=False)
