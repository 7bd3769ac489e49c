"""The acts at an aircraft, each behind its form: fasten, take off, open, walk, motor test, findings, the end of a job.

Which of them comes next, the query says; whether it may be done, the service. Source: design 7, R3, R8, R10, R11.
"""

from dataclasses import replace

from kittrack.errors import BadInput, Refused
from kittrack.queries.at_aircraft import AircraftView, PositionView
from kittrack.services import findings, fitting, issuing, jobs, removing, sense_maps, torquing
from kittrack.services.desk import Done
from kittrack.tui.station import Station
from kittrack.tui.stations import aircraft_forms as forms
from kittrack.tui.stations import aircraft_positions as positions
from kittrack.tui.stations import aircraft_steps as steps
from kittrack.tui.stations.aircraft_forms import MotorTest, Settlement
from kittrack.tui.stations.aircraft_steps import Work
from kittrack.tui.verdicts import Verdict


class AircraftActs(Station):
    """What is done at an aircraft; where the work is, and how it is shown, the station itself says."""

    work: Work
    view: AircraftView | None

    async def go_ahead(self) -> None:
        """The next step: at a position, on the walk, or of the job."""
        view, here = self.view, self._here
        if view is None:
            self.say(self._ready())
        elif self.work.is_walk:
            await self._end_walk(view)
        elif here is not None and positions.is_retorque_due(here, view):
            await self._retorque(here)
        elif here is not None and here.state not in ("inspected", "walked", ""):
            await self._go_ahead_at(here, view)
        else:
            await self._go_ahead_with_job(view)

    async def _go_ahead_at(self, here: PositionView, view: AircraftView) -> None:
        others = positions.unfinished_beside(here, view)
        if here.state == "not finished":
            await self._fasten(here, view)
        elif others:
            await self._show(self._at(others[0].code))
        elif here.state in ("to do", "bare") and here.fitted:
            await self._take_off(here)
        elif positions.is_blocked(here, view):
            await self._settle(view)
        else:
            self.say(self._ready())

    async def _go_ahead_with_job(self, view: AircraftView) -> None:
        acts = {
            "open a job": self._open_job, "finding": self._settle, "walk": self._begin_walk,
            "motor test": self._motor_test, "close": self._close,
        }  # fmt: skip
        due = positions.retorque_first(view)
        if view.next_act in ("position", "torque again"):
            await self._show(self._at(view.next_position))
        elif due is not None:
            await self._show(self._at(due.code))
        elif view.next_act in acts:
            await acts[view.next_act](view)
        else:
            self.say(self._ready())

    async def do_own(self, key: str) -> bool:
        """What F9 leads to as well, chosen in the menu: the same forms, for what is worked on."""
        view, here = self.view, self._here
        at_airframe = {"map test": self._motor_test}
        at_position = {"retorque": self._retorque} if here and here.fitted else {}
        if self._has_job and here and here.fitted and here.state not in ("not finished", "fitted"):
            at_position |= {"remove": self._take_off}
        if view is not None and view.findings:
            at_airframe |= {"finding settle": self._settle}
        if view is not None and here is not None and here.state == "not finished" and key == "fasten":
            await self._fasten(here, view)
        elif view is not None and key in at_airframe:
            await at_airframe[key](view)
        elif here is not None and key in at_position:
            await at_position[key](here)
        else:
            return False
        return True

    async def _open_kit(self, seal: str) -> None:
        """Open a kit by its seal; a seal may be read again, any other refusal puts the kit aside."""
        kit = self.work.kit
        try:
            said = await self.app.ask(
                issuing.open_at_aircraft, kit=kit, seal=seal, by=self.app.me, at=self.app.now()
            )
        except Refused as error:
            if error.rules == {"R5"}:
                raise
            self.work = replace(self.work, kit="")
            raise Refused([*error.refusals, steps.bring_back(kit)]) from error
        await self._show(replace(self.work, kit=""), said)

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

    async def _retorque(self, here: PositionView) -> None:
        hub = await self.app.ask(forms.hub_needs, position=here.code)
        said = await forms.ask_retorqued(
            self, here, hub,
            lambda answer: self.app.ask(
                torquing.record_retorque, position=here.code, torque_mnm=answer.torque_mnm, tool=answer.tool,
                method=answer.method, by=self.app.me, at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(self._at(""), said)

    async def _take_off(self, here: PositionView, *, purpose: str = "replacement") -> None:
        said = await forms.ask_taken_off(
            self, here, purpose,
            lambda answer: self.app.ask(
                removing.remove_set, job=self._job, position=here.code, mark=answer.mark, reason=answer.reason,
                screws_out=answer.screws_out, purpose=answer.purpose, to_place=answer.to_place, by=self.app.me,
                at=self.app.now(),
            ),
        )  # fmt: skip
        if said is not None:
            await self._show(self._at(here.code), said)

    async def _take_off_again(self) -> None:
        wrong = (
            next((p for p in self.view.positions if p.code == self.work.stopped_at), None)
            if self.view
            else None
        )
        if wrong is not None:
            await self._take_off(wrong, purpose="finding")
            return
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
        await self._show(Work(found_by=self.work.found_by, is_walk=True, walker=self.app.me))

    async def _end_walk(self, view: AircraftView) -> None:
        if await self._is_walk_of_another():
            return
        if steps.to_walk(view, self.work):
            self.say(self._ready())
            return
        seen = self.work.seen
        self.work = Work(
            found_by=self.work.found_by, is_walk=True, walker=self.app.me
        )  # refused, every mark is read again
        try:
            said = await self.app.ask(
                fitting.walk_positions, job=self._job, seen=seen, by=self.app.me, at=self.app.now()
            )
        except Refused as error:
            wrong = steps.stopped_position(view, error.refusals)
            await self._show(replace(self.work, stopped_at=wrong.code if wrong else ""))
            if wrong is None:
                raise
            raise Refused([*error.refusals, steps.after_a_stop(wrong)]) from error
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

    async def _settle(self, view: AircraftView) -> None:
        number, _, text = view.findings[0].partition(": ")

        async def record(answer: Settlement) -> Done:
            who = await self.app.confirm(answer.by, what=f"that finding {number} is settled")
            return await self.app.ask(
                findings.settle_finding, finding=int(number), text=answer.text, by=who.code, at=self.app.now()
            )

        said = await forms.ask_settled(self, number, text, record)
        if said is not None:
            await self._show(self._at(self.work.position), said)

    async def _close(self, view: AircraftView) -> None:
        said = await self.app.ask(jobs.close_job, job=view.job, by=self.app.me, at=self.app.now())
        await self._show(Work(found_by=view.job), said)

    # ---- where the work is -----------------------------------------------------------------------

    def _at(self, position: str) -> Work:
        return Work(found_by=self.work.found_by, position=position)

    @property
    def _has_job(self) -> bool:
        return self.view is not None and bool(self.view.job)

    @property
    def _job(self) -> str:
        if self.view is None or not self.view.job:
            raise BadInput("No job is open for this airframe; F9 opens one.")
        return self.view.job

    @property
    def _here(self) -> PositionView | None:
        return steps.here(self.view, self.work)

    def _ready(self) -> Verdict:
        return steps.ready(self.view, self.work)

    async def _is_walk_of_another(self) -> bool:
        raise NotImplementedError

    async def _show(self, work: Work, said: Done | None = None) -> None:
        raise NotImplementedError
