"""Addresses of stores: `sqlite:///path` or `postgresql://role@host:port/name`, and how they may be shown."""

import re
from typing import Final
from urllib.parse import SplitResult, urlsplit

from kittrack.errors import BadInput

_PASSWORD: Final = re.compile(r"(://[^/@:]*):[^/]*@")


def without_password(url: str) -> str:
    """A store's address as it may be shown or logged."""
    return _PASSWORD.sub(r"\1:***@", url)


def parts_of(url: str) -> SplitResult:
    """The parts of a store's address.

    Raises:
        BadInput: it can't be read as one.
    """
    try:
        parts = urlsplit(url)
        _ = parts.port  # a port that is no number is found only here
    except ValueError:
        raise no_store(url) from None
    return parts


def no_store(url: str) -> BadInput:
    """The error for an address that names no store."""
    shown = without_password(url)
    return BadInput(
        f"{shown!r} names no store; write sqlite:///path or postgresql://host/name", field="store"
    )
