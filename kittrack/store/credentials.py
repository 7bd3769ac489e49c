"""PINs and passphrases: hashed slowly, kept apart from the history, named in it by a fingerprint.

No event, statement or log carries a secret or its hash. An event that sets a PIN carries a fingerprint of
what was stored, salt included; without the salt, which never leaves the table, it tells nothing, and it
shows a PIN that was changed or taken away past every act.
"""

import hashlib
import hmac
import json
import secrets
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from kittrack.errors import StoreError
from kittrack.store.act import Act, Reading, canonical
from kittrack.store.records import Credential, Person
from kittrack.store.tables import columns, insert_sql, values

COST_N: Final = 2**16
BLOCK_R: Final = 8
PARALLEL_P: Final = 1
"""scrypt at 64 MiB: about a fifth of a second for each guess (measured on the machine of the tests).

Source: RFC 7914 for the function and its memory, 128 N r bytes; N is chosen for a person's patience.
"""
MOST_MEMORY: Final = 256 * 2**20  # a stored cost beyond this is not from here and would stop the machine
SALT_BYTES: Final = 16  # NIST SP 800-132, 5.1: at least 128 bits
SET: Final = "credential set"
"""The name of the note by which an event tells that a PIN was set, and its fingerprint."""
WRONG: Final = "wrong PIN"
"""The name of the note by which an event tells how often a PIN was wrong in a row, and until when it is locked."""


@dataclass(frozen=True)
class Hashed:
    """The slow hash of a PIN with everything that it was made with; binary values as hexadecimal text."""

    cost_n: int
    block_r: int
    parallel_p: int
    salt: str
    digest: str


def hash_pin(pin: str) -> Hashed:
    """Hash a PIN with a new salt. It takes a fifth of a second: call it outside any transaction."""
    salt = secrets.token_bytes(SALT_BYTES)
    made = Hashed(COST_N, BLOCK_R, PARALLEL_P, salt.hex(), "")
    return replace(made, digest=_scrypt(pin, made).hex())


def matches(kept: Credential, pin: str) -> bool:
    """Whether a PIN is the one that is kept, compared in constant time. As slow as `hash_pin`."""
    made = Hashed(kept.cost_n, kept.block_r, kept.parallel_p, kept.salt, kept.digest)
    return hmac.compare_digest(
        _scrypt(pin, made).hex().encode(), kept.digest.encode("utf-8", "surrogatepass")
    )


def _scrypt(pin: str, made: Hashed) -> bytes:
    text = unicodedata.normalize("NFC", pin).encode("utf-8", "surrogatepass")
    memory = 128 * made.block_r * (made.cost_n + made.parallel_p + 2)
    if memory > MOST_MEMORY:
        raise StoreError(
            "a PIN in the store was hashed at a cost that is not ours; let a manager set it anew"
        )
    try:
        return hashlib.scrypt(
            text, salt=bytes.fromhex(made.salt), n=made.cost_n, r=made.block_r, p=made.parallel_p,
            maxmem=MOST_MEMORY, dklen=32,
        )  # fmt: skip
    except (ValueError, TypeError, OverflowError) as error:
        raise StoreError("a PIN in the store can't be read; let a manager set it anew") from error


# ---- rows --------------------------------------------------------------------------------------


def credential_of(read: Reading, person: Person) -> Credential | None:
    """What is kept of a person's PIN, or None where none was ever set."""
    return read.find(Credential, person_id=person.id)


def write_credential(act: Act, person: Person, hashed: Hashed) -> None:
    """Keep a person's new PIN; the event tells whose, and the fingerprint. Failures before it are forgiven."""
    kept = credential_of(act, person)
    made = Credential(
        id=kept.id if kept else 1 + (act.value("SELECT max(id) FROM credential") or 0), person_id=person.id,
        cost_n=hashed.cost_n, block_r=hashed.block_r, parallel_p=hashed.parallel_p, salt=hashed.salt,
        digest=hashed.digest,
    )  # fmt: skip
    if kept is None:
        _run(act, insert_sql(Credential), values(made))
    else:
        names = [c for c in columns(Credential) if c not in ("id", "person_id")]
        sets = ", ".join(f'"{c}" = ?' for c in names)
        _run(act, f"UPDATE credential SET {sets} WHERE id = ?", (*(getattr(made, c) for c in names), kept.id))
    act.note(SET, person=person.code, fingerprint=fingerprint(made))


def write_failures(act: Act, kept: Credential, *, failures: int, locked_until_at: str | None) -> None:
    """Keep how often a PIN was given wrong, and until when its person is locked out; the event tells both."""
    _run(
        act,
        "UPDATE credential SET failures = ?, locked_until_at = ? WHERE id = ?",
        (failures, locked_until_at, kept.id),
    )
    person = act.get(Person, kept.person_id)
    act.note(WRONG, person=person.code, attempt=failures, locked_until_at=locked_until_at)


def _run(act: Act, sql: str, params: tuple[Any, ...]) -> None:
    act._run(sql, params)  # noqa: SLF001 - a secret's row must not become a statement of the event


# ---- what verify asks --------------------------------------------------------------------------


def fingerprint(kept: Credential) -> str:
    """The SHA-256 of what is kept of a PIN, its salt included, in hexadecimal."""
    content = [
        kept.person_id,
        kept.method,
        kept.cost_n,
        kept.block_r,
        kept.parallel_p,
        kept.salt,
        kept.digest,
    ]
    return hashlib.sha256(canonical(content).encode()).hexdigest()


def wrong_credentials(read: Reading) -> Iterator[tuple[str, str]]:
    """Each person whose PIN is not the one that an act set last: (badge code, a sentence), by badge code."""
    told = _told(read)
    names = {p.id: p.code for p in read.select(Person)}
    kept = {names.get(c.person_id, f"person {c.person_id}"): c for c in read.select(Credential)}
    for code in sorted(told.keys() | kept.keys()):
        if code not in kept:
            yield code, f"credential of {code} was taken out without an act"
        elif code not in told:
            yield code, f"credential of {code} was put in without an act"
        elif told[code].fingerprint != fingerprint(kept[code]):
            yield code, f"credential of {code} was changed without an act"
        elif told[code].attempts not in (None, (kept[code].failures, kept[code].locked_until_at)):
            yield code, f"credential of {code} was changed without an act: failures, locked_until_at"


@dataclass(frozen=True)
class _Told:
    """What the events tell of a person's PIN: its fingerprint, how often it was wrong and until when it is locked.

    `attempts` is None where an event of an older kittrack tells only a part of it.
    """

    fingerprint: str
    attempts: tuple[int, str | None] | None = (0, None)


def _told(read: Reading) -> dict[str, _Told]:
    """What was told last, by badge code."""
    found: dict[str, _Told] = {}
    for (text,) in read.rows(
        "SELECT statements FROM event WHERE statements LIKE ? OR statements LIKE ? ORDER BY id",
        f'%"{SET}"%',
        f'%"{WRONG}"%',
    ):
        try:
            for kind, name, *rest in json.loads(text):
                if kind == "note":
                    _tell(found, name, rest[0])
        except (ValueError, LookupError, TypeError, RecursionError):
            continue  # the chain's own check names an event that can't be read
    return found


def _tell(found: dict[str, _Told], name: str, facts: dict[str, Any]) -> None:
    if name == SET:
        found[str(facts["person"])] = _Told(str(facts["fingerprint"]))
    elif name == WRONG:
        whole = "locked_until_at" in facts
        attempts = (facts["attempt"], facts["locked_until_at"]) if whole else None
        found[str(facts["person"])] = replace(found[str(facts["person"])], attempts=attempts)
