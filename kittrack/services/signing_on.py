"""Signing on with a PIN or a passphrase, setting one, and whether the stores ask everybody for one.

The slow hash is computed outside every transaction, so that nobody waits for a person who signs on. A wrong
PIN is an event without the secret; an attempt counts only if no other attempt came in between, so guesses
side by side are worth no more than guesses in a row. Source: design R8, R12, section 3 (roles).
"""

import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final
from zoneinfo import ZoneInfo

from kittrack.domain.rules import require
from kittrack.domain.text import is_unseen
from kittrack.errors import BadInput, Conflict, Refusal, Refused
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store import credentials
from kittrack.store.act import Act, Reading, instant_text, read_instant_text
from kittrack.store.database import Store
from kittrack.store.records import Credential, Person, PersonRole, SettingChange

ATTEMPTS: Final = 5
LOCKED: Final = timedelta(minutes=15)
"""How often a PIN may be wrong, and how long its person is locked out then: common practice, no source."""
LEAST_DIGITS: Final = 4
LEAST_LETTERS: Final = (
    8  # NIST SP 800-63B, 5.1.1.1: a secret that its person chooses has 8 characters or more
)
MOST_LETTERS: Final = 200

_RULE: Final = "sign-on"
_SUBJECT: Final = "stores"
_SETTING: Final = "everybody signs on with a PIN"


@dataclass(frozen=True)
class SignedOn:
    """A person who signed on. `said` holds what the person is to know, such as that no PIN is set."""

    code: str
    name: str
    roles: tuple[str, ...]
    is_script: bool
    has_pin: bool
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Asked:
    person: Person
    roles: tuple[str, ...]
    kept: Credential | None
    zone: str
    last_at: datetime


def needs_pin(store: Store, *, who: str) -> bool:
    """Whether a person signs on with a PIN: where one is set, or where the stores ask everybody for one.

    Raises:
        NotFound: nobody is known so.
    """
    with store.reading() as read:
        person = desk.find_person(read, who)
        return credentials.credential_of(read, person) is not None or _everybody_needs_one(read)


def sign_on(store: Store, *, who: str, pin: str = "", at: datetime) -> SignedOn:
    """Sign a person on by badge or exact name and, where one is set, the PIN.

    Args:
        pin: what was typed; empty where nothing was asked for.
        at: now. Where the clock lies before the last record, the last record's time counts.

    Raises:
        NotFound: nobody is known so.
        Refused: the person has left, is locked out, gave no PIN or a wrong one, or has none and needs one.
        Conflict: another attempt as the same person came in between.
    """
    asked = _ask(store, who)
    now = max(at, asked.last_at)
    if asked.kept is None:
        return _signed_on(asked, ())
    _require_not_locked(asked, asked.kept, now)
    if not pin:
        raise _refused(asked.person, f"{asked.person.name} signs on with a PIN; type it.")
    if not credentials.matches(asked.kept, pin):
        _fail(store, asked, now)
    _confirm(store, asked, now)
    return _signed_on(asked, ())


def _ask(store: Store, who: str) -> _Asked:
    with store.reading() as read:
        person = desk.find_person(read, who)
        if not person.active:
            message = f"{person.name} has left and can't sign on; let somebody who is here do it."
            raise _refused(person, message)
        kept = credentials.credential_of(read, person)
        if kept is None and _everybody_needs_one(read):
            message = (
                f"{person.name} has no PIN, and everybody here signs on with one; "
                "let a manager set it: kittrack person pin"
            )
            raise _refused(person, message)
        roles = read.select(PersonRole, "person_id = ? AND active = 1", person.id)
        last = read.value("SELECT at FROM event ORDER BY id DESC LIMIT 1")
        return _Asked(
            person, tuple(r.role for r in roles), kept, desk.zone(read), read_instant_text(str(last))
        )


def _signed_on(asked: _Asked, said: tuple[str, ...]) -> SignedOn:
    person = asked.person
    if person.is_script:
        said = (*said, f"{person.name} is a script's account.")
    if asked.kept is None:
        said = (
            *said,
            f"{person.name} has no PIN; set one, so that nobody else acts under this name: kittrack person pin",
        )
    return SignedOn(
        person.code, person.name, asked.roles, bool(person.is_script), asked.kept is not None, said
    )


def _refused(person: Person, message: str) -> Refused:
    return Refused([Refusal(_RULE, person.code, message)])


def _require_not_locked(asked: _Asked, kept: Credential, now: datetime) -> None:
    if kept.locked_until_at and now < read_instant_text(kept.locked_until_at):
        until = read_instant_text(kept.locked_until_at).astimezone(ZoneInfo(asked.zone))
        message = (
            f"{asked.person.name} is locked out until {until:%H:%M} after {ATTEMPTS} wrong PINs; "
            "wait until then, or let a manager set a new PIN: kittrack person pin"
        )
        raise _refused(asked.person, message)


def _fail(store: Store, asked: _Asked, now: datetime) -> None:
    """Record that a PIN was wrong, and say how many attempts are left."""
    with _act_now(store, "failed sign-on", asked.person, now) as act:
        kept = credentials.credential_of(act, act.by)
        if kept is None:  # pragma: no cover - rows are never deleted
            raise AssertionError(asked.person.code)
        over = kept.locked_until_at is not None and kept.locked_until_at <= act.at
        failures = 1 if over else kept.failures + 1
        locked = instant_text(act.moment + LOCKED) if failures >= ATTEMPTS else None
        credentials.write_failures(act, kept, failures=failures, locked_until_at=locked)
    name, left = asked.person.name, ATTEMPTS - failures
    if left > 0:
        what = "attempt is" if left == 1 else "attempts are"
        raise _refused(asked.person, f"That is not the PIN of {name}; {left} {what} left, type it again.")
    minutes = int(LOCKED.total_seconds() // 60)
    message = f"That is not the PIN of {name}, who is locked out for {minutes} minutes now; wait, or let a manager set a new one."
    raise _refused(asked.person, message)


def _confirm(store: Store, asked: _Asked, now: datetime) -> None:
    """Make sure that no other attempt came in between, and forgive the failures before this success."""
    with store.reading() as read:
        kept = credentials.credential_of(read, asked.person)
    if kept != asked.kept:
        raise Conflict(f"somebody else tried to sign on as {asked.person.name} at this moment; sign on again")
    if not kept or not kept.failures:
        return
    with _act_now(store, "sign on after wrong PINs", asked.person, now) as act:
        if credentials.credential_of(act, act.by) != kept:
            raise Conflict(
                f"somebody else tried to sign on as {asked.person.name} at this moment; sign on again"
            )
        credentials.write_failures(act, kept, failures=0, locked_until_at=None)
        act.note("wrong PINs before it", person=asked.person.code, attempts=kept.failures)


@contextmanager
def _act_now(store: Store, name: str, person: Person, now: datetime) -> Iterator[Act]:
    """An act now, or at the last record's time where that is later: no clock keeps a wrong PIN from the log."""
    with store.all_or_nothing():  # nobody writes between the look at the last record and the act
        with store.reading() as read:
            last = read.value("SELECT at FROM event ORDER BY id DESC LIMIT 1")
        with store.act(name, by=person.code, at=max(now, read_instant_text(str(last)))) as act:
            yield act


# ---- setting a PIN -----------------------------------------------------------------------------


def set_pin(store: Store, *, person: str, pin: str, by: str, at: datetime, key: str = "") -> Done:
    """Set a person's PIN or passphrase: one's own, or by a manager anybody's. It ends a lock-out too.

    Args:
        pin: 4 digits or more, or a passphrase of 8 characters or more.

    Raises:
        BadInput: it is too short, too easy, or holds what can't be typed again.
        Refused: the person is neither oneself nor, for a manager, somebody who is here.
    """
    _check_pin(pin)
    hashed = credentials.hash_pin(pin)
    with store.act("set a PIN", by=by, at=at, key=key) as act:
        who = desk.find_person(act, person)
        require(
            [] if who.id == act.by_id else desk.check_role(act, "manager"),
            [] if who.active else [Refusal(_RULE, who.code, f"{who.name} has left and needs no PIN.")],
        )
        credentials.write_credential(act, who, hashed)
    return Done(act.event_id, (who.code,), (f"{who.name} signs on with the new PIN from now on.",))


def _check_pin(pin: str) -> None:
    """Raise BadInput for a PIN that is no good; the sentence never repeats it."""
    text = unicodedata.normalize("NFC", pin)
    if any(is_unseen(c) for c in text) or text != text.strip():
        raise BadInput("The PIN holds characters that can't be typed again; choose another.", field="PIN")
    if len(text) > MOST_LETTERS:
        raise BadInput(
            f"The PIN is longer than {MOST_LETTERS} characters; choose a shorter one.", field="PIN"
        )
    if re.fullmatch(r"[0-9]*", text):
        if len(text) < LEAST_DIGITS:
            raise BadInput(f"A PIN has at least {LEAST_DIGITS} digits; choose a longer one.", field="PIN")
    elif len(text) < LEAST_LETTERS:
        raise BadInput(
            f"A passphrase has at least {LEAST_LETTERS} characters; choose a longer one, or a PIN of "
            f"{LEAST_DIGITS} digits or more.",
            field="PIN",
        )
    if _is_easy(text):
        raise BadInput(
            "The PIN is one character repeated or a plain run such as 1234; choose another.", field="PIN"
        )


def _is_easy(text: str) -> bool:
    """Whether a text is repetitive or sequential. Source: NIST SP 800-63B, 5.1.1.2."""
    steps = {ord(b) - ord(a) for a, b in pairwise(text)}
    return steps in ({0}, {1}, {-1})


# ---- whether everybody needs one ---------------------------------------------------------------


@desk.done_by("manager")
def require_pins(
    store: Store, *, needed: bool, reason: str, second: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Say whether everybody signs on with a PIN, or only who has one set (as it is at first).

    Raises:
        Refused: no manager, no second person, or a manager who would be locked out.
    """
    desk.require_text(reason=reason)
    with store.act("say who signs on with a PIN", by=by, at=at, second=second, reason=reason, key=key) as act:
        own = credentials.credential_of(act, act.by)
        message = f"{act.by.name} has no PIN and would be locked out; set it first: kittrack person pin"
        require(
            desk.check_done_by(act, require_pins),
            desk.check_second(first=act.by, second=act.second, what="changing who needs a PIN"),
            [Refusal(_RULE, act.by.code, message)] if needed and own is None else [],
        )
        words = {True: "yes", False: "no"}
        act.insert(
            SettingChange(
                subject=_SUBJECT, name=_SETTING, old=words[_everybody_needs_one(act)], new=words[needed],
                source=reason.strip(), event_id=act.event_id,
            )
        )  # fmt: skip
        without = act.rows(
            "SELECT name FROM person WHERE active = 1 AND id NOT IN (SELECT person_id FROM credential) ORDER BY name"
        )
    if not needed:
        return Done(act.event_id, said=("Who has a PIN signs on with it; the others sign on without.",))
    said = ["Everybody signs on with a PIN now."]
    if without:
        said.append(
            f"No PIN yet, and locked out until a manager sets one: {', '.join(r[0] for r in without)}."
        )
    return Done(act.event_id, said=tuple(said))


def _everybody_needs_one(read: Reading) -> bool:
    last = read.value(
        "SELECT new FROM setting_change WHERE subject = ? AND name = ? ORDER BY id DESC LIMIT 1",
        _SUBJECT, _SETTING,
    )  # fmt: skip
    return bool(last == "yes")
