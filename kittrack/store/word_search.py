"""The SQL by which words that somebody typed are looked for in texts, capitals or not, on both engines alike."""

from string import ascii_lowercase, ascii_uppercase
from typing import Final

_SMALL: Final = str.maketrans(ascii_uppercase, ascii_lowercase)


def words_held(looked_at: str, text: str) -> tuple[list[str], list[str]]:
    """A condition for each word of a text, that `looked_at` holds it, and what to bind to them.

    Args:
        looked_at: an SQL expression of the program's own, never text from outside.
        text: words as they were typed; every letter of them stands for itself.
    """
    conditions, bound = [], []
    for word in text.split():
        ways = _written_ways(_literal(word))
        held = " OR ".join([f"lower({looked_at}) LIKE ? ESCAPE '!'"] * len(ways))
        conditions.append(f"({held})")
        bound += [f"%{way}%" for way in ways]
    return conditions, bound


def _literal(word: str) -> str:
    return "".join(f"!{letter}" if letter in "!%_" else letter for letter in word)


def _written_ways(word: str) -> tuple[str, ...]:
    """A word as the engines' `lower` may leave it, which turns A to Z alone: "ä" is looked for as "Ä" too."""
    if word.isascii():
        return (word.lower(),)
    ways = (word, word.upper(), word.lower(), word.capitalize())
    return tuple(dict.fromkeys(way.translate(_SMALL) for way in ways))
