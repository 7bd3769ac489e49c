"""What no event carries."""

from kittrack.store.records.declaring import Record, one_of, table

SECRETS = ("credential",)
"""Tables whose rows no event carries: an event names each by a fingerprint that gives nothing away."""


@table(
    "credential",
    unique=(("person_id",),),
    checks={
        "credential_method": one_of("method", "scrypt"),
        "credential_cost": "cost_n BETWEEN 2 AND 1048576 AND block_r BETWEEN 1 AND 32 AND parallel_p BETWEEN 1 AND 16",
        "credential_failures": "failures >= 0",
    },
)
class Credential(Record):
    """What a person's PIN is checked against: its slow hash, with the salt and the cost it was made with."""

    id: int = 0
    person_id: int
    method: str = "scrypt"
    cost_n: int
    block_r: int
    parallel_p: int
    salt: str
    digest: str
    failures: int = 0
    locked_until_at: str | None = None
