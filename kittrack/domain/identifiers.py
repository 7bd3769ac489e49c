"""Data identifiers (ANSI MH10.8.2), text element identifiers (MIL-STD-130) and their ISO/IEC 15434 envelope.

A lone bar code such as S1234 may be serial 1234 or part S1234; only a person who sees the label can tell,
so it becomes a question. Inside an envelope, or with several identifiers apart, there is no doubt.

Source: MIL-STD-130N with change 1, 6.7 and table A-II; ANSI MH10.8.2 (14D to 17D and 25D from its public
list; P, Q, K from memory); design C14.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from kittrack.domain.gs1 import GS, read_elements
from kittrack.domain.scan_result import Choice, Draft, FieldValue, Question, Standard
from kittrack.domain.text import clean_label

RS: Final = "\x1e"
EOT: Final = "\x04"
ENVELOPE: Final = "[)>"
_SHOWN: Final = 40

Element = tuple[str, str]  # identifier and value
Found = tuple[str, FieldValue, str]  # field, value, words

_TEXT_FIELDS: Final = {
    "1P": ("part_number", "the part number"),
    "P": ("customer_part", "our part number"),
    "S": ("serial", "the serial"),
    "1T": ("lot", "the lot"),
    "K": ("order_number", "the order number"),
    "12V": ("maker_code", "the maker's code"),
    "3V": ("maker_code", "the maker's code"),
    "7L": ("maker_code", "the maker's code"),
    "18V": ("maker_code", "the maker's code"),
    "CAG": ("maker_code", "the maker's code"),
    "MFR": ("maker_code", "the maker's code"),
    "SPL": ("maker_code", "the maker's code"),
    "DUN": ("maker_code", "the maker's code"),
    "EUC": ("maker_code", "the maker's code"),
    "SER": ("serial", "the serial"),
    "UCN": ("serial", "the serial"),
    "SEQ": ("serial", "the serial"),
    "PNO": ("part_number", "the part number"),
    "LOT": ("lot", "the lot"),
    "LTN": ("lot", "the lot"),
}
_DATE_FIELDS: Final = {  # field, words, year first
    "14D": ("expiry", "the expiry", True),
    "15D": ("expiry", "the expiry", False),
    "16D": ("made_on", "the production date", True),
    "17D": ("made_on", "the production date", False),
    "25D": ("best_before", "the best-before date", True),
}
_CURRENT_PART: Final = frozenset(
    {"30P", "PNR"}
)  # the part number of today; the original one identifies the item
_TEXT_ELEMENTS: Final = frozenset(name for name in _TEXT_FIELDS if name.isalpha() and len(name) == 3) | {
    "PNR",
    "BII",
}
_LONE: Final = re.compile(r"1P|1T|30P|1[4-7]D|25D|17V|12V|18S|25S|[SPQ](?=[0-9])")

_IDENTIFIER: Final = re.compile(r"([0-9]{0,3}[A-Z])(.+)", re.DOTALL)
_TEXT_ELEMENT: Final = re.compile(r"([A-Z]{3}) +(\S.*)", re.DOTALL)
_CAGE: Final = re.compile(r"[0-9A-Z]{5}")
_VALUE: Final = re.compile(r"[ -~]+")  # printable ASCII

# MIL-STD-130N table A-II: the issuing agency's code in front of each enterprise identifier.
_AGENCY: Final = {
    "17V": "D",
    "CAG": "D",
    "MFR": "D",
    "SPL": "D",
    "12V": "UN",
    "DUN": "UN",
    "7L": "LD",
    "3V": "",
    "EUC": "",
    "18V": "",
}


def read_envelope(draft: Draft, text: str) -> None:
    """Read an ISO/IEC 15434 message: [)> RS format GS data GS data RS EOT.

    Args:
        draft: what is found goes here.
        text: begins with [)>; separators are RS, GS and EOT themselves.
    """
    draft.standard = Standard.DATA_IDENTIFIERS
    body = text[len(ENVELOPE) :]
    if GS not in body and RS not in body:
        draft.fault(
            "The scanner left out this label's separators; set it to send control characters, then scan."
        )
        return
    if not body.endswith((EOT, RS)):
        draft.notes.append(
            "The end mark of this label did not arrive; compare the last field with the label."
        )
    for message in filter(None, body.rstrip(EOT).split(RS)):
        kind, data = message[:2], message[2:]
        if kind == "05":
            read_elements(draft, data)
        elif kind in {"06", "12", "DD"}:
            _read_message(draft, [part for part in data.split(GS) if part], text_elements=kind != "06")
        else:
            shown = clean_label(kind)
            draft.fault(
                f"This label uses ISO/IEC 15434 format {shown}, which is not read here; type its fields."
            )


def _read_message(draft: Draft, parts: Sequence[str], *, text_elements: bool) -> None:
    """Read the data of one format."""
    draft.standard = Standard.TEXT_ELEMENTS if text_elements else Standard.DATA_IDENTIFIERS
    form = _TEXT_ELEMENT if text_elements else _IDENTIFIER
    elements = []
    for part in parts:
        match = form.fullmatch(part)
        if match is None or _VALUE.fullmatch(match[2]) is None:
            shown = clean_label(part, max_length=_SHOWN)
            draft.fault(
                f"{shown} does not begin with an identifier of this standard; type it from the label."
            )
        else:
            elements.append((match[1], match[2].rstrip(" ")))
    _judge(draft, elements)


def is_text_elements(text: str) -> bool:
    """Whether a text without an envelope consists of known text element identifiers, such as SER 786950."""
    matches = [_TEXT_ELEMENT.fullmatch(part) for part in text.split(GS) if part]
    return bool(matches) and all(match is not None and match[1] in _TEXT_ELEMENTS for match in matches)


def read_text_elements(draft: Draft, text: str) -> None:
    """Read text element identifiers without an envelope."""
    _read_message(draft, [part for part in text.split(GS) if part], text_elements=True)


def is_identifiers(text: str) -> bool:
    """Whether a text without an envelope holds several parts, each with an identifier that the stores use."""
    parts = [part for part in text.split(GS) if part]
    return len(parts) > 1 and all(
        (m := _IDENTIFIER.fullmatch(part)) is not None and _is_used(m[1]) for part in parts
    )


def _is_used(name: str) -> bool:
    return name in _TEXT_FIELDS or name in _DATE_FIELDS or name in {"Q", "17V", "18S", "25S", "30P"}


def read_identifiers(draft: Draft, text: str) -> None:
    """Read several data identifiers without an envelope."""
    _read_message(draft, [part for part in text.split(GS) if part], text_elements=False)


def ask_identifier(draft: Draft, text: str) -> None:
    """Ask whether a lone text that may begin with a data identifier does so; do nothing where it can't."""
    lone = _LONE.match(text)
    if lone is None or _VALUE.fullmatch(value := text[lone.end() :]) is None:
        return
    inner = Draft(draft.today)
    _judge(inner, [(lone[0], value)])
    if inner.problems or not inner.values:
        return
    shown = clean_label(text, max_length=_SHOWN)
    said = ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in inner.values.items())
    draft.questions.append(
        Question(
            f"{shown} may begin with the data identifier {lone[0]}; look at the label and choose.",
            (Choice(said, tuple(inner.values.items())), Choice(f"{shown} as it stands", ())),
        )
    )


def _judge(draft: Draft, elements: Sequence[Element]) -> None:
    """Put the elements into the fields, and derive the unique item identifier where they suffice."""
    original = any(name in {"1P", "PNO"} for name, _ in elements)
    for name, value in elements:
        if name in _CURRENT_PART and not original:
            draft.put("part_number", value, words="the part number")
        else:
            _keep(draft, name, value)
    uii = unique_item_identifier(dict(elements))
    if uii and not draft.problems:
        draft.put("uii", uii, words="the unique item identifier")


def _keep(draft: Draft, name: str, value: str) -> None:
    """Put one element where it belongs."""
    if name in _TEXT_FIELDS:
        field, words = _TEXT_FIELDS[name]
        draft.put(field, value, words=words)
    elif name in _DATE_FIELDS:
        _keep_day(draft, name, value)
    elif name == "Q":
        _keep_count(draft, value)
    elif name in {"17V", "18S"}:
        _keep_cage(draft, name, value)
    elif name == "25S":
        draft.put("serial", value, words="the serial")
    else:
        draft.others.append((name, value))


def _keep_day(draft: Draft, name: str, value: str) -> None:
    field, words, year_first = _DATE_FIELDS[name]
    day = _read_day(value if year_first else value[4:] + value[2:4] + value[:2])
    if day is None:
        shown = clean_label(value, max_length=_SHOWN)
        draft.fault(f"There is no day {shown} for {words}; type it from the label.", field)
    else:
        draft.put(field, day, words=words)


def _read_day(digits: str) -> date | None:
    """A day written YYYYMMDD, None if there is none."""
    if re.fullmatch(r"[0-9]{8}", digits) is None:
        return None
    try:
        return date(int(digits[:4]), int(digits[4:6]), int(digits[6:]))
    except ValueError:
        return None


def _keep_count(draft: Draft, value: str) -> None:
    if re.fullmatch(r"[0-9]{1,9}", value) is None or int(value) == 0:
        shown = clean_label(value, max_length=_SHOWN)
        draft.fault(f"{shown} is no number of pieces; count them and type the number.", "quantity")
    else:
        draft.put("quantity", int(value), words="the quantity")


def _keep_cage(draft: Draft, name: str, value: str) -> None:
    """A CAGE code of five characters, alone (17V) or with the serial after it (18S)."""
    if _CAGE.fullmatch(value[:5]) is None or (name == "17V") != (len(value) == 5):
        shown = clean_label(value, max_length=_SHOWN)
        draft.fault(
            f"{shown} is no CAGE code of five characters; type the maker's code from the label.", "maker_code"
        )
        return
    draft.put("maker_code", value[:5], words="the maker's code")
    if name == "18S":
        draft.put("serial", value[5:], words="the serial")


def unique_item_identifier(elements: Mapping[str, str]) -> str:
    """The unique item identifier that the elements of one label make up, empty if they do not suffice.

    Args:
        elements: values by data identifier or text element identifier.

    Source: MIL-STD-130N with change 1, table A-II; MFR 0CVA5 with SER 786950 gives D0CVA5786950.
    """
    if "18S" in elements:
        return f"D{elements['18S']}"
    if "25S" in elements:
        return elements["25S"]
    enterprise = next((f"{_AGENCY[name]}{value}" for name, value in elements.items() if name in _AGENCY), "")
    alone = elements.get("SER") or elements.get("UCN")
    within = elements.get("S") or elements.get("SEQ")
    if enterprise and alone:
        return enterprise + alone
    group = next((elements[name] for name in ("1P", "PNO", "1T", "LOT", "LTN") if name in elements), "")
    return enterprise + group + within if enterprise and group and within else ""
