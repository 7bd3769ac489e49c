"""Forms of verbs whose line can't be a form: PINs, which are never shown, and boxes, each with its scans."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, Final

from kittrack.cli.deeds_of_verbs import shown_by, suggesting, title_of
from kittrack.cli.reading import RecordReader
from kittrack.cli.verb import Values, Verb
from kittrack.cli.verbs_scan import READ_TYPED
from kittrack.domain.codes import Kind
from kittrack.errors import BadInput
from kittrack.services import scanning, signing_on, terminals
from kittrack.services.desk import Done
from kittrack.services.scanning import ScannedBox
from kittrack.services.signing_on import SignedOn
from kittrack.store.database import Store
from kittrack.tui.deeds import Ask, Deed, Rows
from kittrack.tui.hints import RAW

_PERSON: Final = (Kind.PERSON,)


def _same(values: Values) -> Values:
    again = values.pop("again")
    if values["pin"] != again:
        raise BadInput("The two PINs are not the same; type them again.")
    return values


def _set_pin(store: Store, *, person: str, pin: str, by: str, at: datetime) -> Done:
    return signing_on.set_pin(store, person=person, pin=pin, by=by, at=at)


def _person_pin(verb: Verb) -> Deed:
    asks = (
        Ask("person", "person", help="badge or name", scans=_PERSON),
        Ask("pin", "new PIN", help="or a passphrase; it is not shown", is_secret=True),
        Ask("again", "the same once more", is_secret=True),
    )
    return Deed(verb.words, title_of(verb), _set_pin, asks, build=_same)


def _try_sign_on(store: Store, *, who: str, at: datetime, pin: str = "") -> SignedOn:
    return signing_on.sign_on(store, who=who, pin=pin, at=at)


def _sign_on(verb: Verb) -> Deed:
    asks = (
        Ask("who", "person", help="badge or name", scans=_PERSON),
        Ask("pin", "PIN", help="where the person has one; it is not shown", needed=False, is_secret=True),
    )
    return Deed(verb.words, title_of(verb), _try_sign_on, asks, by=False, shows=shown_by(verb))


def _box(*, scans: tuple[str, ...], **typed: Any) -> ScannedBox:
    return ScannedBox(scans, READ_TYPED.make(**typed))


def _with_settings(values: Values) -> Values:
    return values | {"settings": terminals.settings_of("")}


def _delivery_scan(verb: Verb) -> Deed:
    reader: RecordReader[Any] = READ_TYPED
    head = tuple(
        Ask(a.name, a.name, help=a.help) for a in verb.arguments if a.name in ("supplier", "reference")
    )
    box = (
        Ask(
            RAW,
            "its codes",
            lambda text: tuple(text.split("\n")),
            "scan each code of the box",
            is_raw=True,
            rows="boxes",
        ),
        *(
            Ask(key.field, name, key.read, key.help, needed=False, rows="boxes", is_raw=key.is_raw)
            for name, key in reader.keys.items()
        ),
    )
    return Deed(
        verb.words, title_of(verb), scanning.receive_scanned, tuple(suggesting((*head, *box), verb)), (Rows("boxes", "box", _box),),
        build=_with_settings, notes=("Scan the codes of a box; type only what no code says. F8 begins the next box.",),
    )  # fmt: skip


OWN: Final[Mapping[str, Callable[[Verb], Deed]]] = {
    "delivery scan": _delivery_scan,
    "person pin": _person_pin,
    "sign-on": _sign_on,
}
"""The forms, by the words of their verbs."""
