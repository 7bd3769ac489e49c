"""Where the data files are that come with the program: label stocks and the invented scenario.

Source: design A6 (they work from a checkout and from an installed wheel alike).
"""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path


def data_folder(name: str) -> Traversable:
    """The folder `labels` or `demo_db`: the wheel's own copy, else the checkout's."""
    packed = files("kittrack") / "_data" / name
    return packed if packed.is_dir() else Path(__file__).resolve().parents[1] / name
