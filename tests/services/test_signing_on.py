"""Signing on: PINs, lock-outs, what is logged of them and what never is, on both engines."""

import hashlib
import threading
from datetime import timedelta
from typing import Any

import pytest

from kittrack.errors import BadInput, Conflict, KittrackError, NotFound, Refused, StoreError
from kittrack.queries import people
from kittrack.queries.verify import verify
from kittrack.services import founding, signing_on
from kittrack.store import credentials
from kittrack.store.database import Store, open_store
from kittrack.store.records import Credential, Event, Person
from tests.factories import AUDITOR, BUILDER, CLERK, INSPECTOR, MANAGER, TECHNICIAN, after

PIN, OTHER = "482915", "correct horse battery"


IN_USE = credentials.COST_N
"""The cost as the program has it, read before any test lowers it."""


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hash that is as it is in use but for its cost; one test measures the real one."""
    monkeypatch.setattr(credentials, "COST_N", 2**4)


def test_a_pin_is_kept_as_scrypt_with_its_own_salt_and_cost() -> None:
    """Source: RFC 7914; the oracle is the standard library's function called by hand."""
    hashed = credentials.hash_pin(PIN)
    again = hashlib.scrypt(PIN.encode(), salt=bytes.fromhex(hashed.salt), n=2**4, r=8, p=1, dklen=32)
    assert hashed.digest == again.hex()
    assert credentials.hash_pin(PIN).salt != hashed.salt


def test_the_cost_in_use_is_64_mebibytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(credentials, "COST_N", IN_USE)
    hashed = credentials.hash_pin(PIN)
    assert 128 * hashed.cost_n * hashed.block_r == 64 * 2**20
    kept = Credential(
        person_id=1, cost_n=2**16, block_r=8, parallel_p=1, salt=hashed.salt, digest=hashed.digest
    )
    assert credentials.matches(kept, PIN)
    assert not credentials.matches(kept, PIN + "1")


def test_who_has_no_pin_signs_on_and_is_told_to_set_one(store: Store) -> None:
    on = signing_on.sign_on(store, who=CLERK, at=after(1))
    assert (on.name, on.roles, on.has_pin) == (CLERK, ("clerk",), False)
    assert any("set one" in s for s in on.said)
    assert not signing_on.needs_pin(store, who=CLERK)


def test_who_has_a_pin_signs_on_with_it_alone(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    assert signing_on.needs_pin(store, who=CLERK)
    on = signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(2))
    assert on.has_pin
    assert not on.said
    for wrong in ("", PIN + "0", PIN[:-1]):
        with pytest.raises(Refused) as refused:
            signing_on.sign_on(store, who=CLERK, pin=wrong, at=after(3))
        assert refused.value.rules == {"sign-on"}
    assert signing_on.sign_on(store, who=TECHNICIAN, at=after(4)).name == TECHNICIAN


def test_the_same_letters_from_another_keyboard_are_the_same_passphrase(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin="gr\u00fcne Wiese", by=CLERK, at=after(1))
    assert signing_on.sign_on(store, who=CLERK, pin="gru\u0308ne Wiese", at=after(2)).has_pin


@pytest.mark.parametrize(
    "poor",
    [
        "",
        "123",
        "1234",
        "9876",
        "0000",
        "short",
        "aaaaaaaa",
        "abcdefgh",
        "bad\x00 pass word",
        " 482915",
        "x" * 201,
    ],
)
def test_a_poor_pin_is_refused_and_never_repeated(store: Store, poor: str) -> None:
    with pytest.raises(BadInput) as bad:
        signing_on.set_pin(store, person=CLERK, pin=poor, by=CLERK, at=after(1))
    if len(poor) > 4:
        assert poor not in str(bad.value)
    assert not signing_on.needs_pin(store, who=CLERK)


def test_only_a_manager_sets_the_pin_of_another(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        signing_on.set_pin(store, person=TECHNICIAN, pin=PIN, by=CLERK, at=after(1))
    assert refused.value.rules == {"role"}
    signing_on.set_pin(store, person=TECHNICIAN, pin=PIN, by=MANAGER, at=after(2))
    assert signing_on.sign_on(store, who=TECHNICIAN, pin=PIN, at=after(3)).has_pin


def test_leavers_and_strangers_do_not_sign_on(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    founding.let_person_go(store, person=CLERK, by=MANAGER, at=after(2))
    with pytest.raises(Refused):
        signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(3))
    with pytest.raises(Refused):
        signing_on.set_pin(store, person=CLERK, pin=OTHER, by=MANAGER, at=after(3))
    with pytest.raises(NotFound):
        signing_on.sign_on(store, who="Nobody", pin=PIN, at=after(3))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (" cler ", f": {CLERK!r} or {BUILDER!r}"),
        ("insp", f": {INSPECTOR!r}"),
        ("lerk one", f": {CLERK!r}"),
        ("cl", ""),  # too little to guess by
        (" One", ""),  # too many
        ("xyz", ""),
    ],
)
def test_who_types_a_part_of_a_name_is_told_the_names_that_it_may_be(
    store: Store, typed: str, said: str
) -> None:
    with pytest.raises(NotFound) as told:
        people.who_is(store, who=typed)
    sentence = f"nobody is known as {typed.strip()!r}; scan your badge or type your exact name"
    assert str(told.value).rstrip(".") == f"{sentence}{said}"


def test_a_name_of_who_has_left_is_not_offered(store: Store) -> None:
    founding.let_person_go(store, person=CLERK, by=MANAGER, at=after(2))
    with pytest.raises(NotFound, match=f"exact name: {BUILDER!r}"):
        people.who_is(store, who="cler")


def test_a_scripts_account_is_named_as_one(store: Store) -> None:
    founding.add_person(store, name="Night Run", roles=("clerk",), by=MANAGER, at=after(1), is_script=True)
    on = signing_on.sign_on(store, who="Night Run", at=after(2))
    assert on.is_script
    assert any("script" in s for s in on.said)
    assert not signing_on.sign_on(store, who=CLERK, at=after(2)).is_script


# ---- attempts ----------------------------------------------------------------------------------


def fail(store: Store, minute: int, *, times: int) -> None:
    for _ in range(times):
        with pytest.raises(Refused):
            signing_on.sign_on(store, who=CLERK, pin="371905", at=after(minute))


def failed_events(store: Store) -> int:
    with store.reading() as read:
        return len(read.select(Event, "act = 'failed sign-on'"))


def test_the_fifth_wrong_pin_locks_for_a_quarter_of_an_hour(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    fail(store, 2, times=5)
    with pytest.raises(Refused, match="08:17"):  # of the stores' own zone
        signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(16))
    assert failed_events(store) == 5
    assert signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(17)).has_pin
    fail(store, 18, times=4)
    assert signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(18)).has_pin


def test_after_a_lock_out_the_count_starts_again(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    fail(store, 2, times=5)
    fail(store, 20, times=4)
    assert signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(20)).has_pin


def test_a_new_pin_by_a_manager_ends_the_lock_out(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    fail(store, 2, times=5)
    signing_on.set_pin(store, person=CLERK, pin=OTHER, by=MANAGER, at=after(3))
    assert signing_on.sign_on(store, who=CLERK, pin=OTHER, at=after(3)).has_pin


def test_a_clock_set_back_neither_hides_a_wrong_pin_nor_opens_a_lock(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(60))
    fail(store, 30, times=5)
    assert failed_events(store) == 5
    with pytest.raises(Refused):
        signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(30) - timedelta(days=1))


def test_guesses_side_by_side_are_worth_no_more_than_guesses_in_a_row(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    real = credentials.matches

    def slowly(kept: Credential, pin: str) -> bool:
        if pin == PIN:  # while the right one is being checked, a wrong one is checked and recorded
            with pytest.raises(Refused):
                signing_on.sign_on(store, who=CLERK, pin="371905", at=after(2))
        return real(kept, pin)

    monkeypatch.setattr(credentials, "matches", slowly)
    with pytest.raises(Conflict):
        signing_on.sign_on(store, who=CLERK, pin=PIN, at=after(2))


def test_others_write_while_a_pin_is_checked(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """The hash runs in no transaction: a second connection acts in the middle of it."""
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    real, failures = credentials.matches, list[BaseException]()

    def other_acts() -> None:
        try:
            other = open_store(store.url)
            founding.add_place(other, kind="bin", name="Z-01", site="Home", by=MANAGER, at=after(2))
            other.close()
        except BaseException as error:  # noqa: BLE001 - carried to the test's own thread
            failures.append(error)

    def checked(kept: Credential, pin: str) -> bool:
        thread = threading.Thread(target=other_acts)
        thread.start()
        thread.join(timeout=20)
        assert not thread.is_alive()
        return real(kept, pin)

    monkeypatch.setattr(credentials, "matches", checked)
    fail(store, 1, times=1)
    assert not failures
    assert failed_events(store) == 1


# ---- what is kept of it --------------------------------------------------------------------------


def test_no_event_holds_a_secret(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    fail(store, 2, times=1)
    with store.reading() as read:
        kept = read.select(Credential)[0]
        texts = " ".join(e.statements + e.reason + e.key for e in read.select(Event))
    assert PIN not in texts
    assert "371905" not in texts
    assert kept.salt not in texts
    assert kept.digest not in texts
    assert "wrong PIN" in texts


def test_an_act_refuses_to_carry_a_secret(store: Store) -> None:
    row = Credential(person_id=2, cost_n=16, block_r=8, parallel_p=1, salt="00", digest="00")
    with pytest.raises(AssertionError), store.act("x", by=CLERK, at=after(1)) as act:
        act.insert(row)
    with pytest.raises(AssertionError), store.act("x", by=CLERK, at=after(1)) as act:
        act.update(row, failures=0, salt="11")


@pytest.mark.parametrize(
    ("statement", "word"),
    [
        ("UPDATE credential SET digest = '00'", "changed"),
        ("UPDATE credential SET person_id = 3", "put in"),
        ("INSERT INTO credential VALUES (9, 3, 'scrypt', 16, 8, 1, '00', '00', 0, NULL)", "put in"),
    ],
)
def test_a_pin_changed_by_raw_sql_is_found_and_named(store: Store, statement: str, word: str) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    assert not verify(store).faults
    with store._writing():
        store._database.execute_sql(statement)
    assert any(f.check == "secrets" and word in f.message for f in verify(store).faults)


def test_a_cost_that_would_stop_the_machine_is_refused() -> None:
    kept = Credential(person_id=1, cost_n=2**20, block_r=32, parallel_p=1, salt="00", digest="00")
    with pytest.raises(KittrackError):
        credentials.matches(kept, PIN)


@pytest.mark.parametrize(
    "forged",
    [
        {"salt": "no hexadecimal"},
        {"cost_n": 3},
        {"cost_n": 0},
        {"block_r": -1},
        {"parallel_p": 0},
        {"cost_n": 2**62, "block_r": 2**62},
    ],
)
def test_a_kept_pin_that_can_not_be_read_is_a_fault_of_the_store(forged: dict[str, Any]) -> None:
    given = {"cost_n": 2**4, "block_r": 8, "parallel_p": 1, "salt": "00", "digest": "00", **forged}
    with pytest.raises(StoreError, match="let a manager set it anew"):
        credentials.matches(Credential(person_id=1, **given), PIN)


@pytest.mark.parametrize("digest", ["", "é", "\ud800", "00" * 10_000])
def test_a_digest_that_is_none_matches_no_pin(digest: str) -> None:
    kept = Credential(person_id=1, cost_n=2**4, block_r=8, parallel_p=1, salt="00", digest=digest)
    assert not credentials.matches(kept, PIN)


# ---- whether everybody needs one ------------------------------------------------------------------


def test_everybody_needs_a_pin_where_the_stores_say_so(store: Store) -> None:
    with pytest.raises(Refused) as refused:  # who has none would be locked out by it
        signing_on.require_pins(store, needed=True, reason="audit", second=INSPECTOR, by=MANAGER, at=after(1))
    assert refused.value.rules == {"sign-on"}
    signing_on.set_pin(store, person=MANAGER, pin=PIN, by=MANAGER, at=after(2))
    done = signing_on.require_pins(
        store, needed=True, reason="audit", second=INSPECTOR, by=MANAGER, at=after(3)
    )
    assert any(CLERK in s for s in done.said)
    assert signing_on.needs_pin(store, who=CLERK)
    with pytest.raises(Refused):
        signing_on.sign_on(store, who=CLERK, at=after(4))
    signing_on.set_pin(store, person=CLERK, pin=OTHER, by=MANAGER, at=after(5))
    assert signing_on.sign_on(store, who=CLERK, pin=OTHER, at=after(6)).has_pin
    signing_on.require_pins(
        store, needed=False, reason="field camp", second=INSPECTOR, by=MANAGER, at=after(7)
    )
    assert signing_on.sign_on(store, who=TECHNICIAN, at=after(8)).name == TECHNICIAN
    assert not verify(store).faults


def test_where_all_have_a_pin_nobody_is_locked_out_by_it(store: Store) -> None:
    with store.reading() as read:
        names = [person.name for person in read.select(Person, "active = 1")]
    for minute, name in enumerate(names, start=1):
        signing_on.set_pin(store, person=name, pin=PIN, by=MANAGER, at=after(minute))
    done = signing_on.require_pins(
        store, needed=True, reason="audit", second=INSPECTOR, by=MANAGER, at=after(60)
    )
    assert done.said == ("Everybody signs on with a PIN now.",)


@pytest.mark.parametrize(("by", "second", "rule"), [(AUDITOR, INSPECTOR, "role"), (MANAGER, MANAGER, "R8")])
def test_who_needs_a_pin_is_said_by_a_manager_with_a_second_person(
    store: Store, by: str, second: str, rule: str
) -> None:
    with pytest.raises(Refused) as refused:
        signing_on.require_pins(store, needed=False, reason="x", second=second, by=by, at=after(1))
    assert rule in refused.value.rules


def test_one_row_a_person(store: Store) -> None:
    signing_on.set_pin(store, person=CLERK, pin=PIN, by=CLERK, at=after(1))
    signing_on.set_pin(store, person=CLERK, pin=OTHER, by=CLERK, at=after(2))
    with store.reading() as read:
        person = read.find(Person, name=CLERK)
        assert person is not None
        assert [c.person_id for c in read.select(Credential)] == [person.id]
