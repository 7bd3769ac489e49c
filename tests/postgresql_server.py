"""A throw-away PostgreSQL cluster for the tests, and empty databases in it.

As a script: `postgresql_server.py start FOLDER` prints the URL of a running server and leaves it running;
`postgresql_server.py stop FOLDER` ends it and removes the folder.

Nothing in it survives, so the server does not wait for the disk: it measures rules, not durability. Where
the server can, its texts sort by language and not by byte, as on an ordinary installation, so that a query
that relies on byte order shows here and not at the customer's.
"""

import os
import pwd
import secrets
import shlex
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg
from psycopg import sql

BINARIES = Path("/usr/lib/postgresql")
OWNER = "postgres"  # initdb refuses to run as root; this is the account that Debian's package makes
ICU_SINCE = 15  # initdb takes --locale-provider from this version on
SETTINGS = {
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "listen_addresses": "127.0.0.1",
    "max_connections": "200",
}


def binaries() -> Path | None:
    """The newest installed server's folder of programs, or None when there is no server."""
    found = [p for p in BINARIES.glob("*/bin") if (p / "initdb").exists() and p.parent.name.isdigit()]
    return max(found, key=lambda p: int(p.parent.name), default=None)


def start(folder: Path, *, durable: bool = False) -> str:
    """Make a cluster in `folder`, which must not exist, and start it.

    With `durable` it waits for the disk at each commit, as a production server does.

    Returns: the URL of its maintenance database.
    Raises: RuntimeError when no server is installed or it does not start, with its own words.
    """
    programs = binaries()
    if programs is None:
        raise RuntimeError(f"There is no PostgreSQL server under {BINARIES}.")
    folder.mkdir(mode=0o700)
    if os.geteuid() == 0:
        owner = pwd.getpwnam(OWNER)
        os.chown(folder, owner.pw_uid, owner.pw_gid)
    locale = ["--locale-provider=icu", "--icu-locale=en"] if int(programs.parent.name) >= ICU_SINCE else []
    cluster = str(folder / "cluster")
    options: list[str | Path] = ["-D", cluster, "-U", OWNER, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8"]
    _run([programs / "initdb", *options, *locale, "--no-sync"])
    settings = {} if durable else dict(SETTINGS)
    settings |= {"listen_addresses": "127.0.0.1", "unix_socket_directories": str(folder)}
    for attempt in range(5):
        port = _free_port()
        given = " ".join(f"-c {name}={value}" for name, value in {**settings, "port": str(port)}.items())
        try:
            _run([programs / "pg_ctl", "-D", cluster, "-l", folder / "log", "-o", given, "-w", "start"])
        except RuntimeError:
            # Between asking for a free port and taking it, another program may have taken it.
            if attempt == 4:
                raise
        else:
            return f"postgresql://{OWNER}@127.0.0.1:{port}/postgres"
    raise AssertionError


def stop(folder: Path) -> None:
    """End the server of `folder` and remove the folder; nothing happens where there is none."""
    programs = binaries()
    if programs is not None and (folder / "cluster" / "postmaster.pid").exists():
        _run([programs / "pg_ctl", "-D", folder / "cluster", "-m", "immediate", "-w", "stop"])
    shutil.rmtree(folder, ignore_errors=True)


def temporary_folder() -> Path:
    """A path for `start`, which does not exist yet, where the server's own account can reach it."""
    parent = Path(tempfile.gettempdir())
    return parent / f"kittrack-postgresql-{secrets.token_hex(6)}"


def create_database(server_url: str, *, template: str = "") -> str:
    """Make a new empty database on the server, or a copy of the one whose URL is given.

    Returns: its URL.
    """
    name = f"kittrack_{secrets.token_hex(8)}"
    with psycopg.connect(server_url, autocommit=True) as connection:
        source = urlsplit(template).path.lstrip("/") if template else "template0"
        statement = sql.SQL("CREATE DATABASE {} TEMPLATE {}")
        connection.execute(statement.format(sql.Identifier(name), sql.Identifier(source)))
    return urlunsplit(urlsplit(server_url)._replace(path=f"/{name}"))


def drop_database(server_url: str, database_url: str) -> None:
    """Remove a database that `create_database` made, also while somebody is still connected to it."""
    name = urlsplit(database_url).path.lstrip("/")
    with psycopg.connect(server_url, autocommit=True) as connection:
        connection.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name)))


def as_role(database_url: str, role: str) -> str:
    """The address of a database for another role."""
    parts = urlsplit(database_url)
    return urlunsplit(parts._replace(netloc=f"{role}@{parts.hostname}:{parts.port}"))


def drop_role(server_url: str, role: str) -> None:
    """Remove a role whose databases are gone."""
    with psycopg.connect(server_url, autocommit=True) as connection:
        connection.execute(sql.SQL("DROP ROLE IF EXISTS {}").format(sql.Identifier(role)))


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _run(command: list[str | Path]) -> None:
    words = [str(word) for word in command]
    if os.geteuid() == 0:
        words = ["su", OWNER, "-s", "/bin/sh", "-c", shlex.join(words)]
    # The server keeps its parent's files open: with pipes, run() would wait for its end.
    with tempfile.TemporaryFile("w+") as said:
        done = subprocess.run(words, cwd="/", stdin=subprocess.DEVNULL, stdout=said, stderr=said, check=False)
        said.seek(0)
        if done.returncode:
            raise RuntimeError(f"{words[-1]} failed: {said.read()}")


def main(arguments: list[str]) -> None:
    """Start or stop a server from the shell."""
    match arguments:
        case ["start", folder]:
            print(start(Path(folder)))  # noqa: T201 - the URL on stdout is the answer
        case ["stop", folder]:
            stop(Path(folder))
        case _:
            raise SystemExit("usage: postgresql_server.py start|stop FOLDER")


if __name__ == "__main__":
    main(sys.argv[1:])
