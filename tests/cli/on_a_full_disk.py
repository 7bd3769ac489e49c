"""Works on a store until the disk is full, and prints as JSON what was said and what was there afterwards.

As a script, in a name space of its own: `unshare --mount python on_a_full_disk.py FOLDER STORE` puts a real small
file system onto FOLDER, which is gone with the process. With `--pages` the store alone is held to its size, by
SQLite's own limit, for a machine on which nobody may mount anything.
"""

import io
import json
import shutil
import subprocess
import sys
from contextlib import closing, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

from kittrack.__main__ import main
from kittrack.errors import StoreError
from kittrack.queries.chain import chain_head
from kittrack.queries.verify import verify
from kittrack.store.database import Store, open_store
from tests import factories as world

LEFT = 512 * 1024
"""Bytes that are left when the acts begin: room for a few of them."""


def acts_until_full(store: Store, told: dict[str, Any]) -> None:
    for minute in range(400):
        try:
            world.put_in_stock(store, world.SCREW, 3, at=world.after(minute), lot_code=f"L{minute}")
        except StoreError as error:
            told["said"] = str(error)
            return
        told["confirmed"] = chain_head(store).text


def fill(folder: Path) -> None:
    with (folder / "film").open("ab", buffering=0) as film:
        while shutil.disk_usage(folder).free:
            film.write(bytes(4096))


def lines_on_the_full_disk(folder: Path, url: str) -> dict[str, Any]:
    """The exit code and the sentence of each, and the files that it left."""
    told = {}
    for name, *words in (
        ("found", "found", "--store", f"sqlite:///{folder / 'new.kittrack'}", "--site", "S", "--time-zone", "Europe/Oslo",
         "--manager", "Manager Fennel"),
        ("backup", "backup", "make", str(folder / "b.kittrack"), "--store", url),
        ("archive", "archive", "make", str(folder / "a.zip"), "--store", url),
        ("document", "print", "stock-review", "--into", str(folder / "review.xlsx"), "--store", url),
        ("question", "shelf", "--store", url),
    ):  # fmt: skip
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = main(words)
        left = sorted(p.name for p in folder.iterdir() if not p.name.startswith(("film", "store.kittrack")))
        told[name] = {"code": code, "said": err.getvalue(), "left": left}
    return told


def work(folder: Path, template: Path, *, by_pages: bool) -> dict[str, Any]:
    if not by_pages:
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", folder], check=True)
    path = Path(shutil.copyfile(template, folder / "store.kittrack"))
    path.chmod(0o600)
    url = f"sqlite:///{path}"
    told: dict[str, Any] = {}
    with closing(open_store(url)) as store:
        told["confirmed"] = chain_head(store).text
        if by_pages:
            pages = store._database.execute_sql("PRAGMA page_count").fetchone()[0]
            store._database.execute_sql(f"PRAGMA max_page_count = {pages}")
        else:
            (folder / "film").write_bytes(bytes(shutil.disk_usage(folder).free - LEFT))
        acts_until_full(store, told)
    if not by_pages:
        fill(folder)
        told["begun"] = lines_on_the_full_disk(folder, url)
        (folder / "film").unlink()
        open_store(url).close()  # with room again, SQLite takes away the files that it keeps beside the store
        fill(folder)
        told["closed"] = lines_on_the_full_disk(folder, url)
        (folder / "film").unlink()
    with closing(open_store(url)) as store:
        found = verify(store)
        told |= {"head": chain_head(store).text, "faults": [f.message for f in found.faults]}
        world.put_in_stock(store, world.SCREW, 3, at=world.after(500), lot_code="with room again")
        told["goes_on"] = chain_head(store).event == int(told["head"].partition(":")[0]) + 1
    return told


if __name__ == "__main__":
    print(json.dumps(work(Path(sys.argv[1]), Path(sys.argv[2]), by_pages="--pages" in sys.argv)))  # noqa: T201
