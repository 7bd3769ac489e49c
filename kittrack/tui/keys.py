"""The one table of keys. The stations bind it, and the help is read from it.

A scanner never sends a function key, and gloved hands find them. Source: design 7.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Key:
    """A key: its name to the terminal, what it is called, the action, what it does in words."""

    name: str
    shown: str
    action: str
    words: str


STATIONS: Final = (
    ("goods_in", "Goods-in"),
    ("matching", "Matching"),
    ("kitting", "Kitting"),
    ("counter", "Counter"),
    ("aircraft", "Aircraft"),
    ("office", "Office"),
)
"""The stations in the order in which material flows: mode and name."""

EVERYWHERE: Final = (
    Key("f1", "F1", "help", "show these keys and what this station takes"),
    *(
        Key(f"f{number}", f"F{number}", f"app.station('{mode}')", f"go to {name}")
        for number, (mode, name) in enumerate(STATIONS, start=2)
    ),
    Key("f9", "F9", "go_ahead", "go ahead: do what the verdict line says is ready"),
    Key("f10", "F10", "menu", "everything that can be done here; F10 again: at every station"),
    Key("ctrl+p", "Ctrl+P", "every_deed", "everything that can be done, at every station"),
    Key("escape", "Esc", "start_again", "start again with an empty station; in a form, leave it"),
    Key("f12", "F12", "app.sign", "sign on or off"),
    Key("ctrl+l", "Ctrl+L", "app.lock", "lock until you are back; it happens by itself when nobody is there"),
    Key(
        "ctrl+up", "Ctrl+Up", "scroll_verdict(-1)", "scroll the verdict up, or what is told of a list's line"
    ),
    Key(
        "ctrl+down",
        "Ctrl+Down",
        "scroll_verdict(1)",
        "scroll the verdict down, or what is told of a list's line",
    ),
    Key("ctrl+t", "Ctrl+T", "app.theme", "light or dark"),
    Key("ctrl+q", "Ctrl+Q", "app.leave", "leave kittrack"),
)
"""Keys that every station has."""

PAGES: Final = (
    Key("pageup", "PgUp", "page(-1)", "show what is above"),
    Key("pagedown", "PgDn", "page(1)", "show what is below"),
)
ARROWS: Final = (
    Key("up", "Up", "move(-1)", "the line above"),
    Key("down", "Down", "move(1)", "the line below"),
)
