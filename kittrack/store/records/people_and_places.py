"""Who acts, where things are, and the event that each act is."""

from kittrack.store.records.declaring import ROLES, Record, one_of, table


@table(
    "event",
    unique=(("key",),),
    indexed=(("at",), ("act",)),
    once=True,
    refers={"by_id": "person", "second_id": "person"},
    checks={"event_hash_is_sha256": "length(hash) = 64 AND length(previous_hash) = 64"},
)
class Event(Record):
    """One act of a person: who, when, why, and every statement it made, chained by SHA-256."""

    id: int = 0
    act: str
    at: str
    offset_minutes: int
    by_id: int
    second_id: int | None = None
    reason: str = ""
    key: str
    statements: str
    previous_hash: str
    hash: str


@table("site", unique=(("name",),))
class Site(Record):
    """Where places stand; its time zone says when a day ends."""

    id: int = 0
    name: str
    time_zone: str


@table("person", unique=(("code",), ("name",)), refers={"same_human_as_id": "person"})
class Person(Record):
    """A person who acts; a leaver is inactive and stays in the history. A script's account says so."""

    id: int = 0
    code: str
    name: str
    active: int = 1
    is_script: int = 0
    same_human_as_id: int | None = None
    event_id: int


@table("person_role", unique=(("person_id", "role"),), checks={"role_is_known": one_of("role", *ROLES)})
class PersonRole(Record):
    """A role that a person has, or had (`active` 0)."""

    id: int = 0
    person_id: int
    role: str
    active: int = 1


@table(
    "place",
    unique=(("code",), ("kind", "name")),
    indexed=(("name",),),
    checks={
        "place_kind_is_known": one_of(
            "kind",
            "bin",
            "goods-in",
            "hold cage",
            "bench",
            "van",
            "hands",
            "job",
            "removed-parts cage",
            "rotor set",
            "kit",
            "position",
            "airframe",
            "apron",
            "supplier",
            "returned to supplier",
            "consumed",
            "scrapped",
            "sold",
            "lost",
            "unaccounted",
        ),
        "place_closed_is_flag": "closed IN (0, 1)",
    },
)
class Place(Record):
    """Anything that stock can be in. `closed` locks a container: nothing goes in or comes out."""

    id: int = 0
    code: str
    kind: str
    name: str
    site_id: int | None = None
    person_id: int | None = None
    closed: int = 0
    active: int = 1


@table("company", unique=(("name",),))
class Company(Record):
    """A maker, a supplier, a new owner of an airframe, or several of these."""

    id: int = 0
    name: str
    is_maker: int = 0
    is_supplier: int = 0
    lead_time_days: int | None = None
