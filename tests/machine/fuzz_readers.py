"""Fuzz one reader guided by coverage: `python tests/machine/fuzz_readers.py scan -max_total_time=60`.

What follows the reader's name goes to libFuzzer as it is. Needs atheris: `pip install -e '.[fuzz]'`. An input that
ends in a fault is written to the current folder and named.
"""

import sys

import atheris

with atheris.instrument_imports(include=["kittrack"]):
    from tests.machine.reading_bytes import READERS, corpus


def main(arguments: list[str]) -> None:
    """Fuzz until the options say that it is enough."""
    if not arguments or arguments[0] not in READERS:
        raise SystemExit(f"usage: fuzz_readers.py {'|'.join(READERS)} [libFuzzer options]")
    name, *options = arguments
    with corpus(name) as seeds:
        atheris.Setup([sys.argv[0], str(seeds), *options], READERS[name].one_input)
        atheris.Fuzz()


if __name__ == "__main__":
    main(sys.argv[1:])
