"""Doing a deed from a station: its form where it asks for something, the act or the question, what was said."""

from collections.abc import Awaitable, Callable, Sequence
from typing import TYPE_CHECKING, Any

from kittrack.domain.codes import Code, looks_like_code
from kittrack.queries.log import event_log
from kittrack.services.desk import Done, roles_for
from kittrack.services.issuing import Waiver
from kittrack.tui.deeds import Answered, Ask, Deed, Texts, Values, filled, read_texts
from kittrack.tui.verdicts import Verdict, done
from kittrack.tui.writing import with_file, write_answer

if TYPE_CHECKING:
    from kittrack.tui.station import Station
    from kittrack.tui.station_form import ScanInto
    from kittrack.tui.stations_app import StationsApp


async def carry_out(app: "StationsApp", deed: Deed, values: Values) -> Any:
    """Call what a deed stands for, in the name of who is signed on where it takes a person.

    Raises:
        Refused: nobody is signed on, a rule forbids it, or the second person is not here.
        BadInput: the second person did not type the PIN.
    """
    by = {"by": app.me} if deed.by else {}
    if isinstance(values.get("second"), str):
        second = await app.confirm(values["second"], what=deed.title)
        values = {**values, "second": second.code}
    if isinstance(values.get("waiver"), Waiver):
        waiver = values["waiver"]
        third = await app.confirm(waiver.second, what="that a rule is overridden")
        values = {**values, "waiver": Waiver(waiver.reason, third.code)}
    at = {"at": app.now()} if deed.at else {}
    return await app.ask(deed.calls, **values, **by, **at)


async def do(
    station: "Station", deed: Deed, *, codes: Sequence[Code] = (), given: Texts | None = None, rows: Sequence[Texts] = (),
    at_once: bool = False,
) -> None:  # fmt: skip
    """Ask for what a deed takes, do it, and show at the station what came of it.

    A question that what is in hand answers is asked at once; `at_once` says that it is, where nothing that it needs is missing.
    `rows` are rows of the form that are filled already.

    Raises:
        Refused: nobody is signed on, which is told before a form is filled.
    """
    from kittrack.tui.deed_form import DeedForm
    from kittrack.tui.hints import BLIND, known_of, named_of

    app = station.app
    if deed.by:
        _ = app.me
    given = with_file(deed, given or {}, on=app.now().date())
    texts = filled(deed.asks, codes, given=given)
    if not deed.is_act and _is_told(deed, texts, at_once=at_once):
        values = read_texts(deed.asks, texts)
        values = deed.build(values) if deed.build else values
        await station.show_answer(deed, Answered(await carry_out(app, deed, values), values, texts))
        return
    hint = named_of if deed.key in BLIND else known_of
    answer = await app.push_screen_wait(DeedForm(deed, codes=codes, given=given, rows=rows, hint=hint))
    if isinstance(answer, Done):
        await station.took(answer)
    elif isinstance(answer, Answered):
        await station.show_answer(deed, answer)


def _is_told(deed: Deed, texts: Texts, *, at_once: bool) -> bool:
    """Whether a question asks for nothing more, or for the one thing that is in hand."""
    if at_once and not deed.writes:
        return all(texts[ask.name] for ask in deed.asks if ask.needed)
    return not deed.asks or (len(deed.asks) == 1 and deed.asks[0].needed and bool(texts[deed.asks[0].name]))


async def ask_for(
    station: "Station", title: str, *, asks: Sequence[Ask], act: Callable[[Values], Awaitable[Done]],
    notes: Sequence[str] = (), scan_into: "ScanInto | None" = None, service: Callable[..., Done] | None = None,
) -> Done | None:  # fmt: skip
    """Ask by a form of the station's own and do its act; what it said, None where the person leaves the form.

    `service` is the act that whoever is signed on does, whose roles the form tells.
    """
    from kittrack.tui.station_form import StationForm

    roles = roles_for(service) if service else ()
    deed = Deed(title, title, act, asks=tuple(asks), notes=tuple(notes), done_by=roles)
    said: Done | None = await station.app.push_screen_wait(StationForm(deed, act=act, scan_into=scan_into))
    return said


async def show_answer(station: "Station", deed: Deed, answered: Answered) -> None:
    """Lay the answer of a question over the station; from there it is printed. Of a file that was written, say where it is."""
    from kittrack.tui.answer_page import AnswerPage

    if deed.writes:
        station.say(done(answered.answer.said))
    elif deed.shows is not None:
        page = AnswerPage(
            deed.title, draw=deed.shows(answered.answer), prints=bool(deed.paper or deed.prints)
        )
        if await station.app.push_screen_wait(page):
            await write_answer(station, deed, answered)


async def choose(station: "Station", *, everywhere: bool = False) -> None:
    """Let a person choose among the deeds of a station, or of all of them, and do the chosen one."""
    from kittrack.tui.deed_menu import DeedMenu

    deeds = await station.app.deeds_of_menu()
    menu = DeedMenu(deeds, here=station.mode, codes=station.in_hand, everywhere=everywhere)
    chosen = await station.app.push_screen_wait(menu)
    if chosen is not None and not await station.do_own(chosen.key):
        await do(station, chosen, codes=station.in_hand)


async def given_out(app: "StationsApp", answer: Done) -> tuple[str, ...]:
    """The numbers that an act gave out and the files that it wrote; what it only worked on had its number before."""
    entries = await app.ask(event_log, before=answer.event + 1, limit=1) if answer.codes else ()
    given = entries[0].codes if entries and entries[0].event == answer.event else ()
    return tuple(code for code in answer.codes if code in given or not looks_like_code(code))


def what_was_done(answer: Done, *more: str, new: Sequence[str]) -> Verdict:
    """A verdict of what an act said, with the numbers that it gave out where it does not name them.

    Args:
        answer: what the act answered.
        more: sentences after it.
        new: the numbers that it gave out.
    """
    said = " ".join(answer.said)
    new = [code for code in new if code not in said]
    return done((*answer.said, *([f"New: {', '.join(new)}."] if new else []), *filter(None, more)))
