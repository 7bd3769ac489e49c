"""The Counter: a whole kit for a job, handed over against a badge and its seal; and what comes back.

The station holds what was scanned; whether it may go out the queries and services say. Source: design 7.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from textual.widget import Widget

from kittrack.domain.codes import Code, Kind, read_code
from kittrack.queries.kits import IssueView, JobView, KitView, issue_view, job_view, kit_view
from kittrack.queries.kits_for_job import KitForJob, kits_for_job
from kittrack.queries.people import Who
from kittrack.queries.proofs import SetProof, set_proofs
from kittrack.services import issuing
from kittrack.services.desk import Done
from kittrack.services.issuing import Waiver
from kittrack.store.database import Store
from kittrack.tui import doing, layout
from kittrack.tui.entries import Entry, that_is
from kittrack.tui.frame import bindings
from kittrack.tui.keys import PAGES
from kittrack.tui.kit_text import kit_lines, kits_to_fetch
from kittrack.tui.station import Station
from kittrack.tui.stations.counter_returns import Return, ask_leftover, ask_return, offer_return, ways_back
from kittrack.tui.stations.counter_waiver import ask_waiver
from kittrack.tui.verdicts import Tone, Verdict, done, reasons_in_words, verdict
from kittrack.tui.widgets.text_body import TextBody

_LEFTOVERS = (Kind.ROTOR_SET, Kind.RECEIPT_LINE, Kind.PIECE)


@dataclass(frozen=True)
class Scanned:
    """What was scanned so far; None for what is still to come."""

    job: str | None = None
    airframe: str | None = None
    kit: str | None = None
    receiver: Who | None = None
    seal: str | None = None


@dataclass(frozen=True)
class Shown:
    """What the store said of it."""

    job: JobView | None = None
    kit: KitView | None = None
    issue: IssueView | None = None
    proofs: tuple[SetProof, ...] = ()
    to_fetch: tuple[KitForJob, ...] = ()


def look_up(store: Store, scanned: Scanned, *, giver: str, at: datetime) -> Shown:
    """All that the store says of what was scanned, in one go: a scan waits for the store's thread once."""
    job = job_view(store, job=scanned.job) if scanned.job else None
    if not scanned.kit:
        return Shown(job=job, to_fetch=kits_for_job(store, job=scanned.job, at=at) if scanned.job else ())
    issue = None
    if scanned.job:
        receiver = scanned.receiver.code if scanned.receiver else ""
        issue = issue_view(
            store, kit=scanned.kit, job=scanned.job, at=at, airframe=scanned.airframe or "", seal=scanned.seal,
            giver=giver, receiver=receiver,
        )  # fmt: skip
    kit = issue.kit if issue else kit_view(store, kit=scanned.kit, at=at)
    sets = [code for line in kit.lines if line.kind == "rotor set" for code in line.things]
    return Shown(job, kit, issue, set_proofs(store, rotor_sets=sets))


class Counter(Station):
    """Issues whole kits and takes returns."""

    mode = "counter"
    wants = "a job, or a kit that comes back"
    about = (
        "Scan the job, the kit, the receiver's badge, and the seal as it is read on the kit, in any order.",
        "The verdict line says READY, or every reason against. F9 then hands the whole kit over.",
        "A kit that comes back: scan it alone. What a job has left: scan the job, then the thing.",
    )
    own_keys = PAGES
    CSS_PATH = "counter.tcss"
    BINDINGS: ClassVar = bindings(PAGES)

    def __init__(self) -> None:
        super().__init__()
        self.scanned = Scanned()
        self.shown = Shown()

    def body(self) -> Iterable[Widget]:
        """One text."""
        yield TextBody(symbols=self.symbols)

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """Job, airframe and kit, as far as they are scanned; the receiver's badge confirms this one issue only."""
        scanned = (self.scanned.job, self.scanned.airframe, self.scanned.kit)
        return tuple(read_code(text) for text in scanned if text is not None)

    # ---- entries ---------------------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """A job, an airframe, a kit, a badge; anything else is the seal, once a kit is there."""
        if entry.text in self._ways_back:
            await self._take_back(Return(entry.text))
            return
        if entry.code is None and self.scanned.kit is not None and not entry.scan.problems:
            await self._set(replace(self.scanned, seal=entry.text))
            return
        code = entry.require_code(self._next_wanted())
        if code.kind in _LEFTOVERS and self.scanned.job is not None and self.scanned.kit is None:
            await self._take_leftover(self.scanned.job, code)
            return
        await self._set(await self._with(code))

    async def _with(self, code: Code) -> Scanned:
        match code.kind:
            case Kind.JOB:
                return replace(self.scanned, job=code.text)
            case Kind.AIRFRAME:
                return replace(self.scanned, airframe=code.text)
            case Kind.KIT:
                return replace(self.scanned, kit=code.text, seal=None)
            case Kind.PERSON:
                return replace(
                    self.scanned, receiver=await self.app.confirm(code.text, what="to receive the kit")
                )
        raise that_is(code, wanted=self._next_wanted())

    async def _set(self, scanned: Scanned) -> None:
        """Ask the store of what is scanned; only what it knows is kept."""
        giver = self.app.signed_on.code if self.app.signed_on else ""
        shown = await self.app.ask(look_up, scanned, giver=giver, at=self.app.now())
        self.scanned, self.shown = scanned, shown
        self._show()
        self.say(self._verdict())

    async def ask_for_second(self) -> None:
        """The receiver's badge, which confirms by itself."""
        self.say(verdict(Tone.NEXT, "scan the receiver's badge; it confirms that the kit was received."))

    async def reload(self) -> None:
        """Look at the same things again."""
        await self._set(self.scanned)

    async def took(self, answer: Done) -> None:
        """Look at the same things after an act of the menu, and say what it did and what is scanned here."""
        new = await doing.given_out(self.app, answer)
        await self.reload()
        self.say(doing.what_was_done(answer, f"Here: {self._next_step()}", new=new))

    async def start_again(self) -> None:
        """Forget what was scanned."""
        await self._set(Scanned())

    # ---- acts ------------------------------------------------------------------------------------

    async def go_ahead(self) -> None:
        """Issue the kit where everything is there; say what is missing where it isn't."""
        issue, scanned = self.shown.issue, self.scanned
        if issue is None or scanned.receiver is None or scanned.seal is None:
            self.say(self._verdict())
            return
        giver, receiver, seal = self.app.me, scanned.receiver.code, scanned.seal

        async def hand_over(waiver: Waiver | None) -> Done:
            return await self.app.ask(
                issuing.issue_kit, kit=issue.kit.code, job=issue.job, airframe=scanned.airframe or "",
                seal=seal, receiver=receiver, by=giver, at=self.app.now(), waiver=waiver,
            )  # fmt: skip

        said = await (ask_waiver(self, issue.kit, hand_over) if issue.needs_override else hand_over(None))
        if said is None:
            return
        await self._set(Scanned())
        self.say(done((*said.said, f"Here: {self._next_step()}")))

    @property
    def _ways_back(self) -> tuple[Return, ...]:
        """How the kit that was scanned alone can come back; none where it isn't out."""
        kit = self.shown.kit
        return ways_back(kit) if kit is not None and self.scanned.job is None else ()

    async def _take_back(self, how: Return) -> None:
        if self.shown.kit is None:
            return
        said = await ask_return(self, self.shown.kit, how)
        if said is not None:
            await self._set(Scanned())
            self.say(done((*said.said, f"Here: {self._next_step()}")))

    async def _take_leftover(self, job: str, code: Code) -> None:
        left_over = self.shown.job.left_over if self.shown.job is not None else ()
        said = await ask_leftover(self, job, code, left_over=left_over)
        if said is not None:
            await self._set(self.scanned)
            self.say(done((*said.said, f"Here: {self._next_step()}")))

    # ---- what is shown ---------------------------------------------------------------------------

    def _missing(self) -> list[str]:
        """What is still to be scanned, in the order in which it is asked for."""
        scanned, kit, job = self.scanned, self.shown.kit, self.shown.job
        asked = [
            (scanned.job, "a job"),
            (scanned.kit, "the kit, or what comes back from the job" if job and job.left_over else "the kit"),
            (scanned.receiver, "the receiver's badge"),
            (scanned.seal, f"the seal as you read it on {kit.code}" if kit else "the seal"),
        ]
        return [words for value, words in asked if value is None]

    def _next_wanted(self) -> str:
        return next(iter(self._missing()), "nothing more")

    def _next_step(self) -> str:
        missing = self._missing()
        if not missing:
            return "F9 issues the kit."
        if self.app.signed_on is None and self.scanned == Scanned():
            return "scan your badge to sign on, or press F12 and type your name; then scan a job."
        verb = "read and enter" if missing[0].startswith("the seal") else "scan"
        return f"{verb} {missing[0]}."

    def _verdict(self) -> Verdict:
        if self._ways_back and self.shown.kit is not None:
            return offer_return(self.shown.kit)
        issue = self.shown.issue
        if issue is not None and issue.against:
            against = reasons_in_words((r.rule, r.message) for r in issue.against)
            return verdict(Tone.NOT_YET, *against)
        if issue is None and self.shown.kit is not None and self.shown.kit.against:
            against = reasons_in_words((r.rule, r.message) for r in self.shown.kit.against)
            return verdict(Tone.NOT_YET, *against, f"Next: {self._next_step()}")
        if self._missing() or issue is None:
            return verdict(Tone.NEXT, self._next_step())
        to = f"issue the whole kit to {issue.airframe}"
        if issue.needs_override:
            return verdict(
                Tone.READY, f"{to}; it was built for {issue.kit.airframe}, so F9 asks why and who else."
            )
        return verdict(Tone.READY, f"{to}: F9.")

    def keys_in_words(self) -> Sequence[str]:
        """F9 issues."""
        ways = " ".join(self._ways_back)
        act = f"{ways} Enter how it comes back" if ways else "F9 issue"
        return (act, "Esc start again")

    body_goes_on_by = "PgDn more"

    @property
    def body_goes_on(self) -> bool:
        """Whether more is in hand than fits."""
        return self.query_one(TextBody).goes_on

    def prompt(self) -> str:
        """What is scanned next."""
        if ways := self._ways_back:
            return f"{', '.join(ways[:-1])} or {ways[-1]}"
        missing = self._missing()
        return self._to_replace() or (missing[0] if missing else "F9 issues")

    def _to_replace(self) -> str:
        """What stands against the issue, to be scanned again or in another one's place; "" where nothing does."""
        issue, receiver = self.shown.issue, self.scanned.receiver
        subjects = {reason.subject for reason in issue.against} if issue else set()
        if not subjects:
            return ""
        if receiver is not None and subjects <= {receiver.code}:
            return "another receiver's badge"
        return "another kit"

    def _show(self) -> None:
        scanned, shown = self.scanned, self.shown
        self.query_one(TextBody).show(lambda width: counter_lines(scanned, shown, width=width))

    def action_page(self, pages: int) -> None:
        """Show what of the kit is above or below."""
        self.query_one(TextBody).scroll_relative(y=pages * 10, animate=False)


def counter_lines(scanned: Scanned, shown: Shown, *, width: int) -> list[str]:
    """The Counter's body."""
    job, kit, issue = shown.job, shown.kit, shown.issue
    facts: list[tuple[str, str]] = []
    if job is not None:
        airframe = issue.airframe if issue else job.airframe
        how = "scanned" if scanned.airframe else "by the job"
        facts.append(("Job", f"{job.code}, {job.state}: {job.purpose}"))
        facts.append(("Airframe", f"{airframe}, {how}"))
    if kit is not None:
        where = f"with {kit.where}" if kit.state == "issued" else f"in {kit.where}"
        whom = f"{kit.revision}, built for {kit.airframe}" if kit.airframe else kit.revision
        facts.append(("Kit", f"{kit.code} for {whom}, {kit.state}, {where}"))
    if scanned.seal is not None:
        facts.append(("Seal read", scanned.seal))
    if scanned.receiver is not None:
        facts.append(("Receiver", f"{scanned.receiver.name} ({', '.join(scanned.receiver.roles)})"))
    if not facts:
        return ["", *layout.wrapped(" Nothing is scanned yet. Scan a job to issue a kit; scan a kit alone to take it back.", width=width, indent=" ")]  # fmt: skip
    if job is not None and kit is None:
        facts += [("Job holds", thing) for thing in job.left_over]
        facts += kits_to_fetch(job, shown.to_fetch)
    lines = layout.table(facts, width=width)
    if kit is None:
        return lines
    proofs = {proof.code: proof for proof in shown.proofs}
    return [*lines, "", *kit_lines(kit, proofs=proofs, width=width)]
