"""How a verb is told which positions it is about: all of them, one arm, a named group, or a list."""

from typing import Final

from kittrack.cli.reading import listed
from kittrack.cli.verb import Values, option
from kittrack.errors import BadInput
from kittrack.services.coverage import Coverage

POSITIONS: Final = (
    option("arm", "only the positions of one arm"),
    option("group", "only the positions of a named group"),
    option("named", "only these positions: NAME,NAME", read=listed, flag="--positions"),
)


def with_coverage(values: Values) -> Values:
    """Put the choice of positions in place of the options that say it; without any, all are meant."""
    given = {how: values.pop(how) for how in ("arm", "group", "named") if how in values}
    if len(given) > 1:
        raise BadInput(
            "Positions are one arm, one group or a list of names; give one of these.", field="--arm"
        )
    for how, names in given.items():
        values["positions"] = Coverage(how, names if isinstance(names, tuple) else (names,))
    return values
