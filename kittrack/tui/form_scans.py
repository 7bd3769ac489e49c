"""What a form does with scans: a number of ours goes into the field that takes it, a supplier's label into several."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from textual.worker import Worker

from kittrack.domain.codes import Code, Kind, read_code
from kittrack.domain.scan_result import Scan
from kittrack.domain.text import clean_label
from kittrack.errors import KittrackError
from kittrack.queries.lookup import what_is
from kittrack.tui.deeds import Ask, Texts
from kittrack.tui.label_fields import texts_of
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.form_row import FormInput

if TYPE_CHECKING:
    from kittrack.tui.deed_form import DeedForm


def take_scan(form: "DeedForm", text: str) -> None:
    """Put the scan into the field that takes it, or tell why none does."""
    scan = form.app.read_scan(text)
    if scan.code is not None:
        _take_code(form, scan.code)
    elif not _gather(form, text) and not _refuse(form, scan) and not _take_label(form, scan):
        _take_text(form, scan)


def take_into(form: "DeedForm", ask: Ask, text: str) -> None:
    """Put a scan into a field that is known to take it, in place of what stands there."""
    scan = form.app.read_scan(text)
    if scan.code is not None:
        form.scanned.add(scan.code.text)
    form.put(ask, scan.code.text if scan.code is not None else text.strip())
    form.tell([])
    form.focus_empty()
    form.look()


# ---- numbers of ours -------------------------------------------------------------------------


def _take_code(form: "DeedForm", code: Code) -> None:
    takers = [ask for ask in form.deed.asks if code.kind in ask.scans]
    if not takers and code.kind is Kind.TAG and form.deed.takes(Kind.ROTOR_SET):
        _: Worker[None] = form.run_worker(partial(_take_tagged, form, code), group="tag", exit_on_error=False)
    elif not takers:
        form.tell([f"{code} is {code.kind.with_article}; this form has no use for it."], tone=Tone.NOT_READ)
    else:
        _put_code(form, code, takers)


async def _take_tagged(form: "DeedForm", tag: Code) -> None:
    """Of the tag that a set got when it came off, the set itself."""
    try:
        found = await form.app.ask(what_is, code=tag.text)
    except KittrackError as error:
        form.tell_error(error)
    else:
        _take_code(form, read_code(dict(found.facts)["rotor set"]))


def _put_code(form: "DeedForm", code: Code, takers: Sequence[Ask]) -> None:
    form.scanned.add(code.text)
    ask = _taker(form, takers)
    if ask.rows and form.input_of(ask).value.strip() and not ask.many:
        if not _begin_next(form, ask, code):
            return
    else:
        _join(form, ask, code.text)
    if ask.many:
        form.input_of(ask).focus()
    else:
        form.focus_empty()
    form.look()


def _taker(form: "DeedForm", takers: Sequence[Ask]) -> Ask:
    """The field of the focus where it takes the number, else the first free one, a needed one before others."""
    here = [ask for ask in takers if form.input_of(ask).has_focus]
    free = [ask for ask in takers if ask.many or not form.input_of(ask).value.strip()]
    free.sort(key=lambda ask: not ask.needed)
    return (here or free or list(takers))[0]


def _begin_next(form: "DeedForm", ask: Ask, code: Code) -> bool:
    """A number for a row whose field is filled begins the next row; the row before has to be whole."""
    if form.input_of(ask).value.strip() == code.text:
        return True
    form.input_of(ask).focus()
    if not form.add_row():
        return False
    _join(form, ask, code.text)
    return True


def _join(form: "DeedForm", ask: Ask, text: str) -> None:
    field = form.input_of(ask)
    before = field.value.strip().rstrip(",")
    if ask.many and text in before:
        form.tell([f"{text} stands there already."])
    else:
        form.tell([])
        field.put(f"{before}, {text}" if ask.many and before else text)


# ---- other labels ----------------------------------------------------------------------------


def _gather(form: "DeedForm", text: str) -> bool:
    """Whether a field of this form gathers scans as they are sent."""
    asks = [ask for ask in form.deed.asks if ask.is_raw and ask.needed]
    if not asks:
        return False
    ask = asks[0]
    form.put(ask, "\n".join((*form.raw.get(ask.name, ()), text)))
    form.tell([])
    form.look()
    return True


def _refuse(form: "DeedForm", scan: Scan) -> bool:
    if scan.problems:
        form.tell(verdict(Tone.NOT_READ, *(p.message for p in scan.problems)).lines, tone=Tone.NOT_READ)
    return bool(scan.problems)


def _take_label(form: "DeedForm", scan: Scan) -> bool:
    texts = texts_of(scan)
    found = {ask.name: texts[ask.keyword] for ask in form.deed.asks if ask.keyword in texts}
    if not found or all(ask.is_raw for ask in form.deed.asks if ask.name in found):
        return False
    if _is_of_another(form, found) and not form.add_row():
        return True
    for ask in form.deed.asks:
        if ask.name in found:
            before = "\n".join(form.raw.get(ask.name, ()))
            form.put(ask, f"{before}\n{found[ask.name]}" if ask.is_raw and before else found[ask.name])
    said = ", ".join(
        f"{ask.words} {found[ask.name]}" for ask in form.deed.asks if ask.name in found and not ask.is_raw
    )
    form.tell([f"From the label: {said}.", *(q.message for q in scan.questions), *scan.notes])
    form.focus_empty()
    form.look()
    return True


def _is_of_another(form: "DeedForm", found: Texts) -> bool:
    """Whether a field of a row holds something else already: then the label is that of another row."""
    now = form.now
    return any(
        ask.rows and not ask.is_raw and now[ask.name] not in ("", ask.value, found[ask.name])
        for ask in form.deed.asks
        if ask.name in found
    )


def _take_text(form: "DeedForm", scan: Scan) -> None:
    field = form.focused
    if not isinstance(field, FormInput):
        shown = clean_label(scan.text, max_length=40)
        form.tell([f"{shown} was scanned and no field is chosen; go to its field and scan it again."])
        return
    field.put(form.app.symbols.show(scan.text))
    form.tell([])
    form.focus_next()
