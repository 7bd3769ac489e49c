"""Facts of counts that services and queries judge by."""

from collections.abc import Sequence

from kittrack.store.records import CountLine


def is_counted_twice(lines: Sequence[CountLine]) -> bool:
    """Whether all that differed was counted again: from then on nobody counts that count blind any more."""
    differing = [line for line in lines if line.counted != line.booked or line.recounted is not None]
    return bool(differing) and all(line.recounted is not None for line in differing)
