"""The two engines: what a store's address names, as the database library's own object, not connected yet.

Source: design A4.
"""

import os
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import peewee

from kittrack.errors import BadInput, NoStore, StoreError
from kittrack.store.addresses import no_store, parts_of
from kittrack.store.private import is_there, make_folder, secret_in

NETWORK_FILESYSTEMS = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "ncpfs", "afs", "9p", "fuse.sshfs", "fuse.rclone", "fuse.gvfsd-fuse",
     "davfs", "ceph", "glusterfs", "fuse.glusterfs", "lustre", "beegfs", "drvfs", "vboxsf", "prl_fs"}
)  # fmt: skip


def engine_of(url: str, *, create: bool, file: Path | None = None) -> tuple[str, Any]:
    """The name of the engine and its database.

    Args:
        url: `sqlite:///path` or `postgresql://...`.
        create: make an empty SQLite file where there is none.
        file: where a SQLite file lies until it is put in its place (making.py).

    Raises:
        StoreError: the file isn't there, lies on a network share or was cut off, or the driver is missing.
        BadInput: the URL can't be read.
    """
    scheme = parts_of(url).scheme
    if scheme == "sqlite":
        return "sqlite", _sqlite(url, create=create, file=file)
    if scheme in {"postgresql", "postgres"}:
        return "postgresql", _postgresql(url)
    raise no_store(url)


def _sqlite(url: str, *, create: bool, file: Path | None = None) -> Any:
    path = sqlite_path(url)
    mounts = Path("/proc/mounts")
    kind = network_filesystem(
        str(path.absolute()), mounts.read_text(encoding="utf-8") if mounts.exists() else ""
    )
    if kind:
        raise StoreError(
            f"{path} lies on a network share ({kind}), where SQLite loses data; "
            "keep the store on a local disk, or use PostgreSQL for several machines"
        )
    path = file or path
    if not is_there(path):
        if not create:
            raise NoStore(f"there is no store at {path}; make one with: kittrack found --store {url}")
        make_folder(path.parent)
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    _refuse_cut_off(path)
    pragmas = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 10_000}
    # The lock type stands here because peewee takes it in the constructor only. A deferred transaction that
    # reads first and writes later fails at once when another writer was in between; an immediate one waits.
    return peewee.SqliteDatabase(str(path), pragmas=pragmas, lock_type="IMMEDIATE")


def _refuse_cut_off(path: Path) -> None:
    """Refuse a file that is shorter than its own header says, while no companion file holds the rest.

    Source: the SQLite file format: page size at 16, size in pages at 28, valid where 24 and 92 agree.
    """
    try:
        with path.open("rb") as file:
            header = file.read(100)
            size = os.fstat(file.fileno()).st_size
        beside = path.with_name(path.name + "-wal")
        holds_more = beside.exists() and beside.stat().st_size > 0
    except OSError as error:
        raise StoreError(f"{path} can't be read ({error.strerror}); check its folder and rights") from error
    if len(header) < 100 or holds_more or header[24:28] != header[92:96]:
        return
    page, pages = int.from_bytes(header[16:18]), int.from_bytes(header[28:32])
    whole = (65536 if page == 1 else page) * pages
    if size < whole:
        raise StoreError(
            f"{path} was cut off: it holds {size} bytes of {whole} and is damaged; keep it as it is, and restore the "
            "last backup: kittrack backup restore"
        )


def sqlite_path(url: str) -> Path:
    """The file that a `sqlite:///` URL names."""
    rest = url.removeprefix("sqlite:///")
    if rest == url or not rest:
        raise BadInput(f"{url!r} names no file; write sqlite:///path", field="store")
    return Path(unquote(rest)).expanduser()


def network_filesystem(path: str, mounts: str) -> str:
    """The kind of network file system that a path lies on, or "" for a local one.

    Args:
        path: an absolute path.
        mounts: the text of /proc/mounts; empty where the system has none.
    """
    if path.startswith(("\\\\", "//")):
        return "network path"
    best = ("", "")
    for line in mounts.splitlines():
        point, kind = line.split(" ")[1:3]
        point = point.replace("\\040", " ")
        if (path == point or path.startswith(point.rstrip("/") + "/")) and len(point) >= len(best[0]):
            best = (point, kind)
    return best[1] if best[1] in NETWORK_FILESYSTEMS else ""


def _postgresql(url: str) -> Any:
    try:
        import psycopg  # noqa: F401 - only to say plainly that it is missing
    except ImportError:
        raise StoreError(
            "a PostgreSQL store needs the driver; install it with: pip install 'kittrack[pg]'"
        ) from None
    parts = parts_of(url)
    password = _password() or (unquote(parts.password) if parts.password else None)
    options: dict[str, Any] = {
        "user": parts.username,
        "password": password,
        "host": parts.hostname,
        "port": parts.port,
    }
    return peewee.PostgresqlDatabase(
        parts.path.lstrip("/"), **{name: value for name, value in options.items() if value is not None}
    )


def _password() -> str:
    """The password of the database: in a private file or the environment, which no list of processes shows."""
    named = os.environ.get("KITTRACK_STORE_PASSWORD_FILE")
    if named:
        return secret_in(Path(named).expanduser(), what="store password file")
    return os.environ.get("KITTRACK_STORE_PASSWORD", "")
