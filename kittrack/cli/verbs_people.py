"""Verbs of people, sites and places."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts
from kittrack.cli.verb import Station, Verb, option, switch, word, words
from kittrack.queries import people
from kittrack.queries.people import Who
from kittrack.services import founding
from kittrack.store.records import ROLES


def _who(person: Who) -> list[Table]:
    return [
        facts(
            ("person", person.code), ("name", person.name), ("state", "here" if person.is_here else "has left"),
            ("roles", person.roles), ("has read", person.acknowledged),
        )
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "person show", Station.OFFICE, "The person of a badge or a name, with the roles.", '"Clerk One"',
        people.who_is,
        (word("who", "badge or name"),),
        show=_who,
    ),
    Verb(
        "person add", Station.OFFICE, "Add a person with roles; answers with the badge code.",
        '"Clerk Two" clerk --by "Manager One"',
        founding.add_person,
        (
            word("name", "the person's name"),
            words("roles", "the person's roles", choices=ROLES),
            switch("is_script", "an account that a program uses"),
            option("same_human_as", "the other badge of the same human, so that no one is their own second person"),
        ),
    ),
    Verb(
        "person roles", Station.OFFICE, "Give a person exactly these roles.",
        'P000003-C technician inspector --by "Manager One"',
        founding.set_roles,
        (word("person", "badge or name"), words("roles", "the roles, all of them", choices=ROLES)),
    ),
    Verb(
        "person leave", Station.OFFICE, "Mark a leaver; the name stays in the history.",
        '"Clerk Two" --by "Manager One"',
        founding.let_person_go,
        (word("person", "badge or name"),),
    ),
    Verb(
        "person alone", Station.OFFICE, "Declare that nobody else is there for a person, on a job or for a period (R8).",
        '"Technician One" --from 2026-03-02 --until 2026-03-04 --reason "field camp" --by "Manager One"',
        founding.declare_alone,
        (
            word("person", "badge or name"),
            option("from_on", "the first day", read=reading.day, flag="--from", needed=True),
            option("until_on", "the last day", read=reading.day, flag="--until", needed=True),
            option("job", "for this job only"),
        ),
    ),
    Verb(
        "cautions read", Station.OFFICE, "Record that a person has read the cautions.",
        '--by "Technician One"',
        founding.acknowledge_cautions,
    ),
    Verb(
        "site add", Station.OFFICE, "Add a site with its time zone.",
        'North Europe/Oslo --by "Manager One"',
        founding.add_site,
        (word("name", "the site's name"), word("time_zone", "an IANA name such as Europe/Oslo")),
    ),
    Verb(
        "place add", Station.OFFICE, "Add a bin, bench, van, cage or apron; answers with its code.",
        'bin A-03 --site Home --by "Clerk One"',
        founding.add_place,
        (
            word("kind", "what it is", choices=founding.SHELF_KINDS),
            word("name", "its name"),
            option("site", "the site where it stands", needed=True),
        ),
    ),
)  # fmt: skip
