"""The movements, and what is kept of their fold."""

from kittrack.store.records.declaring import Record, table


@table(
    "movement",
    once=True,
    refers={
        "container_id": "place",
        "from_place_id": "place",
        "to_place_id": "place",
        "from_piece_id": "piece",
        "to_piece_id": "piece",
    },
    indexed=(("event_id",), ("receipt_line_id",), ("container_id",), ("to_piece_id",), ("to_place_id",)),
    checks={
        "movement_is_one_thing": "(receipt_line_id IS NULL) <> (container_id IS NULL)",
        "movement_quantity": "quantity > 0 AND (container_id IS NULL OR quantity = 1)",
        "movement_of_stock_has_conditions": "(receipt_line_id IS NULL) = (from_condition = '') AND "
        "(receipt_line_id IS NULL) = (to_condition = '')",
        "movement_goes_somewhere": "from_place_id IS NULL OR from_place_id <> to_place_id OR from_condition <> to_condition "
        "OR coalesce(from_piece_id, 0) <> coalesce(to_piece_id, 0)",
        "movement_of_stock_has_source": "from_place_id IS NOT NULL OR container_id IS NOT NULL",
    },
)
class Movement(Record):
    """What was moved: a quantity of a receipt line from slot to slot, or a container from place to place.

    A slot is (place, condition, piece or none). A container's first movement has no `from_place_id`.
    """

    id: int = 0
    event_id: int
    receipt_line_id: int | None = None
    container_id: int | None = None
    quantity: int
    from_place_id: int | None
    from_condition: str = ""
    from_piece_id: int | None = None
    to_place_id: int
    to_condition: str = ""
    to_piece_id: int | None = None


CACHES = ("holding", "containment")
"""Tables that the movements' own trigger keeps; no act writes them, `verify` folds them again."""


@table(
    "holding",
    unique_where=(
        (("receipt_line_id", "place_id", "condition"), "piece_id IS NULL"),
        (("piece_id",), "piece_id IS NOT NULL"),
    ),
    indexed=(("place_id",), ("receipt_line_id", "place_id")),
)
class Holding(Record):
    """How much of a receipt line (or which piece of it) is in a place, in a condition. A cache."""

    id: int = 0
    receipt_line_id: int
    piece_id: int | None = None
    place_id: int
    condition: str
    quantity: int


@table(
    "containment",
    unique=(("container_id",),),
    refers={"container_id": "place", "inside_id": "place"},
    indexed=(("inside_id",),),
)
class Containment(Record):
    """Where a container is. A cache."""

    id: int = 0
    container_id: int
    inside_id: int
