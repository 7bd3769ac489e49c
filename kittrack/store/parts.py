"""Finding a part by what stands in a catalogue or on a label."""

from kittrack.errors import BadInput, NotFound
from kittrack.store.act import Reading
from kittrack.store.records import Part


def part_numbered(read: Reading, number: str) -> Part:
    """The part of a part number that only one maker uses, or of "maker: number".

    Raises:
        NotFound: no part has it. BadInput: several makers use it.
    """
    text = number.strip()
    same = read.select(Part, "number = ?", text)
    if not same and ": " in text:
        maker, _, rest = text.partition(": ")
        same = read.select(
            Part,
            "number = ? AND maker_id IN (SELECT id FROM company WHERE name = ?)",
            rest.strip(),
            maker.strip(),
        )
    if len(same) == 1:
        return same[0]
    if not same:
        raise NotFound(f"no part has the number {text!r}; add it to the catalogue first")
    raise BadInput(f"{len(same)} makers use the part number {text!r}; write it as maker: number")
