"""Which answers have a paper of their own, and which are written as they stand."""

from typing import Final

from kittrack.cli.verb import Verb

PAPERS: Final = {
    "buildable": "print ship-sets",
    "count due": "print counts-due",
    "count show": "print count-result",
    "expiring": "print expiry",
    "fit-record": "print fit-record",
    "oversight page": "print oversight",
    "recall": "print recall",
    "recall-case show": "print notices",
    "reorder proposal": "print reorder",
    "sets": "print matched-sets",
    "shift show": "print hand-over",
    "ship-sets places": "print ship-sets",
    "ship-sets plan": "print ship-sets",
    "stock-review": "print stock-review",
    "unserviceable": "print unserviceable",
    "voucher show": "print voucher",
}
"""The questions whose answer has a paper of its own, each with the verb that writes it."""


def is_writable(verb: Verb) -> bool:
    """Whether the answer of a verb is written by `--into`: it has tables, and neither a paper nor a file of its own."""
    has_file = any(argument.name in ("into", "paper", "force") for argument in verb.arguments)
    return verb.show is not None and verb.opens_store and not has_file and verb.words not in PAPERS
