"""GS1 element strings and Digital Link addresses.

biip knows the application identifiers and their forms. What it lets through is checked here: a lost
separator that swallowed what follows, a wrong check digit, a day that does not exist, pairs that the GS1
dictionary forbids, and the century, which it takes from the machine's clock.

Source: GS1 General Specifications; GS1 Syntax Dictionary (pairs); design C14.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final
from urllib.parse import parse_qsl, unquote, urlsplit

from kittrack.domain.gs1_values import EXCLUDES, REQUIRES, has_check_digit, read_day
from kittrack.domain.scan_result import Choice, Draft, FieldValue, Question, Standard
from kittrack.domain.text import clean_label

GS: Final = "\x1d"
_SHOWN: Final = 40

Element = tuple[str, str]  # application identifier and value

# Field and words of the identifiers that the stores use; dates apart.
_TEXT_FIELDS: Final = {
    "10": ("lot", "the lot"),
    "21": ("serial", "the serial"),
    "240": ("part_number", "the part number"),
    "241": ("customer_part", "our part number"),
    "400": ("order_number", "the order number"),
}
_DATE_FIELDS: Final = {
    "11": ("made_on", "the production date"),
    "15": ("best_before", "the best-before date"),
    "17": ("expiry", "the expiry"),
}
_COUNTS: Final = frozenset({"30", "37"})
_CHECKED: Final = {"00": ("sscc", "the SSCC"), "01": ("gtin", "the GTIN"), "02": ("gtin", "the GTIN")}

_BRACKET: Final = re.compile(r"[(\[]([0-9]{2,4})[)\]]")
_SHORT_NAMES: Final = {  # GS1 Digital Link 1.0 and 1.1
    "gtin": "01",
    "sscc": "00",
    "lot": "10",
    "ser": "21",
    "cpv": "22",
    "exp": "17",
}
# GS1 Syntax Dictionary, "dlpkey", and the short names of the two that the stores use.
_LINK_KEYS: Final = frozenset(
    {"00", "01", "253", "255", "401", "402", "414", "415", "417", "gtin", "sscc"}
    | {"8003", "8004", "8006", "8010", "8013", "8017", "8018"}
)
_LINK: Final = re.compile(rf"https?://[^/?#]+/(?:[^?#]*/)?(?:{'|'.join(_LINK_KEYS)})/[^/?#]", re.IGNORECASE)
_PLAIN_START: Final = re.compile(r"(0[12][0-9]{14}|00[0-9]{18})(.*)", re.DOTALL)


def is_link(text: str) -> bool:
    """Whether a text is a web address that carries a GS1 key."""
    return _LINK.match(text) is not None


def is_bracketed(text: str) -> bool:
    """Whether a text starts with an identifier in brackets, as people type it."""
    return _BRACKET.match(text) is not None


def is_element_string(text: str) -> bool:
    """Whether a text without a scanner's prefix can only be a GS1 element string.

    It opens with a separator and an element, or holds a separator and can be split throughout, or opens
    with a trade item or shipping number whose check digit holds or after which more can be split.
    """
    if text.startswith(GS):
        return bool(_split(text.strip(GS))[0])
    start = _PLAIN_START.fullmatch(text)
    if start is None:
        return GS in text and not _split(text)[2]
    return has_check_digit(start[1][2:]) or bool(start[2] and not _split(text)[2])


def read_elements(draft: Draft, text: str) -> None:
    """Read an element string as a scanner sends it, GS where the label has FNC1."""
    body = text.strip(GS)
    elements, open_end, fault = _split(body)
    draft.standard = Standard.GS1
    if fault:
        draft.fault(fault)
    if open_end and not fault and GS not in body:
        elements = _ask_swallowed(draft, elements)
    _judge(draft, elements)


def read_bracketed(draft: Draft, text: str) -> None:
    """Read an element string as it is printed under the bars and typed: (01)...(10)..."""
    parts = _BRACKET.split(text)
    draft.standard = Standard.GS1
    elements = []
    for ai, value in zip(parts[1::2], parts[2::2], strict=True):
        if _is_element(ai, value.strip(f" {GS}")):
            elements.append((ai, value.strip(f" {GS}")))
        else:
            draft.fault(_misfit(ai))
    _judge(draft, elements)


def read_link(draft: Draft, text: str) -> None:
    """Read a GS1 Digital Link address; parameters that are no identifiers belong to the web."""
    draft.standard = Standard.GS1_LINK
    try:
        address = urlsplit(text)
    except ValueError:
        draft.fault("This web address can't be read; scan the label again.")
        return
    steps = address.path.split("/")
    first = next((at for at, step in enumerate(steps) if step.lower() in _LINK_KEYS), len(steps))
    path = [unquote(step) for step in steps[first:] if step]
    if len(path) % 2:
        draft.fault("This web address breaks off in the middle of a GS1 number; scan the label again.")
    query = [
        (name, value) for name, value in parse_qsl(address.query, keep_blank_values=True) if _is_named(name)
    ]
    elements = []
    for name, value in [*zip(path[::2], path[1::2], strict=False), *query]:
        ai = _SHORT_NAMES.get(name.lower(), name)
        filled = value.zfill(14) if ai in {"01", "02"} else value
        if _is_element(ai, filled):
            elements.append((ai, filled))
        else:
            draft.fault(_misfit(ai))
    _judge(draft, elements)


def _is_named(name: str) -> bool:
    """Whether a parameter of an address is a GS1 identifier: a number, or a short name of the first editions."""
    return name.lower() in _SHORT_NAMES or re.fullmatch(r"[0-9]+", name) is not None


def _config() -> Any:
    """The judgement of days is left to `read_day`."""
    from biip import ParseConfig

    return ParseConfig(gs1_element_strings_verify_date=False)


def _is_element(ai: str, value: str) -> bool:
    """Whether an identifier is known and a value has the form that it wants."""
    from biip import ParseError
    from biip.gs1_element_strings import GS1ElementString

    if not value.isascii():
        return False
    try:
        element = GS1ElementString.parse(ai + value, config=_config())
    except ParseError:
        return False
    return bool(element.ai.ai == ai and value)


def _misfit(ai: str) -> str:
    shown = clean_label(ai, max_length=8)
    if ai in _DATE_FIELDS:
        return f"What stands after ({shown}) is no day (two digits each of year, month, day); type it from the label."
    return f"What stands after ({shown}) is not what GS1 wants there; look at the label and type it by hand."


def _split(text: str) -> tuple[list[Element], bool, str]:
    """Take an element string apart.

    Returns:
        The elements; whether the last one is of variable length, so that nothing but the end of the
        scan ended it; and a sentence if the rest could not be read.
    """
    from biip import ParseError
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier
    from biip.gs1_element_strings import GS1ElementString

    elements: list[Element] = []
    rest, open_end = text, False
    while rest:
        if not rest.isascii():
            return elements, False, "This GS1 label holds characters outside its standard; scan it again."
        try:
            known = GS1ApplicationIdentifier.extract(rest)
        except ParseError:
            return elements, False, _no_identifier(elements)
        try:
            element = GS1ElementString.extract(rest, config=_config())
        except ParseError:
            return elements, False, _misfit(known.ai)
        rest = rest[len(element) :]
        open_end = element.ai.separator_required
        if not element.value or (open_end and rest and not rest.startswith(GS)):
            return elements, False, _misfit(known.ai)
        elements.append((element.ai.ai, element.value))
        rest = rest.lstrip(GS)
    return elements, open_end, ""


def _no_identifier(elements: Sequence[Element]) -> str:
    after = f" after ({elements[-1][0]})" if elements else ""
    return f"No GS1 identifier is known for what stands{after}; scan the label again, or type it by hand."


def _ask_swallowed(draft: Draft, elements: list[Element]) -> list[Element]:
    """Ask where the last element may have swallowed others because the scanner drops the separator."""
    ai, value = elements[-1]
    if ai not in _TEXT_FIELDS and ai not in _COUNTS:
        return elements
    before = {known for known, _ in elements}
    readings = [
        [(ai, value[:at]), *inner]
        for at in range(1, len(value))
        if _is_element(ai, value[:at])
        and not (ai in _COUNTS and int(value[:at]) == 0)
        and (inner := _inner(value[at:], before=before, today=draft.today))
    ]
    if not readings:
        return elements
    readings.sort(key=lambda reading: reading[1][0] not in _DATE_FIELDS)
    choices = [_choice(reading, today=draft.today) for reading in [elements[-1:], *readings[:3]]]
    shown = clean_label(value, max_length=_SHOWN)
    draft.questions.append(
        Question(
            f"No separator came with this label, so {shown} after ({ai}) may be more than one thing; "
            f"look at the label and choose.",
            tuple(choices),
        )
    )
    return elements[:-1]


def _inner(text: str, *, before: set[str], today: date) -> list[Element]:
    """The elements that a swallowed text may be: dates, lots and serials that the label has not yet."""
    if text[:2] not in {"11", "15", "17", "10", "21"} or text[:2] in before:
        return []
    elements, _, fault = _split(text)
    names = [ai for ai, _ in elements]
    known = set(names) <= _TEXT_FIELDS.keys() | _DATE_FIELDS.keys()
    fits = not fault and known and len(set(names)) == len(names) and not set(names) & before
    days = [value for ai, value in elements if ai in _DATE_FIELDS]
    return elements if fits and all(read_day(value, today=today) for value in days) else []


def _choice(elements: Iterable[Element], *, today: date) -> Choice:
    """One reading in words and as fields."""
    fields: list[tuple[str, FieldValue]] = []
    words = []
    for ai, value in elements:
        if ai in _DATE_FIELDS and (day := read_day(value, today=today)) is not None:
            fields.append((_DATE_FIELDS[ai][0], day))
            words.append(f"{_DATE_FIELDS[ai][1]} is {day.isoformat()}")
        elif ai in _TEXT_FIELDS:
            fields.append((_TEXT_FIELDS[ai][0], value))
            words.append(f"{_TEXT_FIELDS[ai][1]} is {clean_label(value)}")
        else:
            fields.append(("quantity", int(value)))
            words.append(f"the quantity is {int(value)}")
    return Choice(", ".join(words), tuple(fields))


def _judge(draft: Draft, elements: Sequence[Element]) -> None:
    """Put the elements into the fields, and check what GS1 wants of them together."""
    for ai, value in elements:
        _keep(draft, ai, value)
    present = {ai for ai, _ in elements}
    for ai in sorted(present):
        for other in EXCLUDES.get(ai, ()):
            if other in present:
                draft.fault(
                    f"GS1 forbids ({ai}) together with ({other}); ask the supplier what this label means."
                )
        for group in REQUIRES.get(ai, ()):
            if not present & set(group):
                wanted = " or ".join(f"({other})" for other in group)
                draft.notes.append(f"({ai}) goes with {wanted}; scan the other bar code of this label too.")


def _keep(draft: Draft, ai: str, value: str) -> None:
    """Put one element where it belongs."""
    if ai in _CHECKED:
        name, words = _CHECKED[ai]
        if has_check_digit(value) and int(value):
            draft.put(name, value, words=words)
        else:
            draft.fault(f"The check digit of {words} {value} is wrong; scan the label again.", name)
    elif ai in _DATE_FIELDS or ai == "7003":
        name, words = _DATE_FIELDS.get(ai, _DATE_FIELDS["17"])
        day = read_day(value[:6], today=draft.today)
        if day is None:
            draft.fault(
                f"There is no day {value[:6]} (year, month, day) for {words}; type it from the label.", name
            )
        else:
            draft.put(name, day, words=words)
    elif ai in _COUNTS:
        _keep_count(draft, value)
    elif ai in _TEXT_FIELDS:
        name, words = _TEXT_FIELDS[ai]
        draft.put(name, value, words=words)
    else:
        draft.others.append((f"({ai})", value))


def _keep_count(draft: Draft, value: str) -> None:
    if int(value) == 0:
        draft.fault("The label says a quantity of 0; count the pieces and type the number.", "quantity")
    else:
        draft.put("quantity", int(value), words="the quantity")
