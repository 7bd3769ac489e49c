"""Where `kittrack` and `python -m kittrack` begin."""

import sys
from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run one line of the command line.

    Args:
        argv: the words after the program's name; by default those it was started with.

    Returns:
        The exit code, as kittrack/cli/exits.py explains it.
    """
    given = sys.argv[1:] if argv is None else list(argv)
    if given == ["--version"]:  # answered here, so that nothing else is loaded for it
        from kittrack import __version__

        sys.stdout.write(f"kittrack {__version__}\n")
        return 0
    if not given or (given[0] == "--store" and len(given) == 2 and not given[1].startswith("-")):
        from kittrack.cli.stations import run_stations_line  # draws before any verb is loaded

        return run_stations_line(given[1] if given else None)
    from kittrack.cli.run import run

    return run(given)


if __name__ == "__main__":
    sys.exit(main())
