"""Sites, places, people and roles of a store: what is added once, what has to be one of a few, and what is declared."""

from datetime import date

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.oversight import worked_alone
from kittrack.queries.people import who_is
from kittrack.services import counting, founding
from kittrack.store.database import Store
from kittrack.store.records import Place
from tests.factories import BIN, CLERK, MANAGER, SITE, TECHNICIAN, after


def test_a_place_is_of_a_kind_of_the_stores_at_a_site_there_is_and_has_a_name_of_its_own(
    store: Store,
) -> None:
    for kind, name, site, told in (
        ("lost", "Z-1", SITE, "'lost' is no kind of place; one of: bin, bench, van"),
        ("bin", "Z-1", "Nowhere", "no site 'Nowhere'"),
        ("bin", BIN, SITE, f"a bin '{BIN}' already"),
    ):
        with pytest.raises(BadInput, match=told):
            founding.add_place(store, kind=kind, name=name, site=site, by=CLERK, at=after(1))
    code = founding.add_place(store, kind="bin", name="Z-1", site=SITE, by=CLERK, at=after(2)).codes[0]
    with store.reading() as read:
        assert [p.code for p in read.select(Place, "name = ?", "Z-1")] == [code]


def test_a_site_and_a_person_are_added_once(store: Store) -> None:
    with pytest.raises(BadInput, match=f"a site '{SITE}' already"):
        founding.add_site(store, name=SITE, time_zone="Europe/Oslo", by=MANAGER, at=after(1))
    with pytest.raises(BadInput, match=f"a person '{CLERK}' already"):
        founding.add_person(store, name=CLERK, roles=("clerk",), by=MANAGER, at=after(1))


@pytest.mark.parametrize(
    ("roles", "told"), [((), "no role is not known"), (("clerk", "pilot"), "pilot is not known")]
)
def test_roles_are_some_of_those_there_are(store: Store, roles: tuple[str, ...], told: str) -> None:
    with pytest.raises(BadInput, match=f"{told}; roles are: "):
        founding.set_roles(store, person=CLERK, roles=roles, by=MANAGER, at=after(1))
    with pytest.raises(BadInput, match=told):
        founding.add_person(store, name="Clerk Nine", roles=roles, by=MANAGER, at=after(1))
    assert who_is(store, who=CLERK).roles == ("clerk",)


def test_a_person_has_exactly_the_roles_that_were_set_last_and_the_only_manager_may_have_more(
    store: Store,
) -> None:
    founding.set_roles(store, person=MANAGER, roles=("manager", "clerk"), by=MANAGER, at=after(1))
    counting.open_count(store, place=BIN, by=MANAGER, at=after(2))
    founding.set_roles(store, person=CLERK, roles=("technician",), by=MANAGER, at=after(3))
    assert who_is(store, who=CLERK).roles == ("technician",)
    with pytest.raises(Refused) as refused:
        founding.add_place(store, kind="bin", name="Z-1", site=SITE, by=CLERK, at=after(4))
    assert refused.value.rules == {"role"}
    founding.set_roles(store, person=CLERK, roles=("clerk", "auditor"), by=MANAGER, at=after(5))
    assert set(who_is(store, who=CLERK).roles) == {"clerk", "auditor"}
    founding.add_place(store, kind="bin", name="Z-1", site=SITE, by=CLERK, at=after(6))


def test_a_period_alone_ends_after_it_begins(store: Store) -> None:
    with pytest.raises(BadInput, match="ends \\(2026-03-01\\) before it begins \\(2026-03-02\\)"):
        founding.declare_alone(
            store, person=TECHNICIAN, from_on=date(2026, 3, 2), until_on=date(2026, 3, 1), reason="field camp",
            by=MANAGER, at=after(1),
        )  # fmt: skip
    assert worked_alone(store, at=after(2)) == ()
    founding.declare_alone(
        store, person=TECHNICIAN, from_on=date(2026, 3, 2), until_on=date(2026, 3, 2), reason="field camp", by=MANAGER,
        at=after(3),
    )  # fmt: skip


def test_who_reads_the_cautions_again_is_kept_once(store: Store) -> None:
    assert who_is(store, who=CLERK).acknowledged == ()
    for minute in (1, 2):
        founding.acknowledge_cautions(store, by=CLERK, at=after(minute))
        assert who_is(store, who=CLERK).acknowledged == (founding.CAUTIONS,)
