"""Why nothing more can be written beside a store's file: the disk is full, or a quota is used up.

SQLite tells a write that failed for want of quota, and often one that failed for want of room, as a "disk I/O error",
as it tells a broken disk; only the operating system's own number says which it is, and a small file asks for that.
"""

import errno
import os
import shutil
import tempfile
from pathlib import Path
from typing import Final

FULL: Final = "full"
QUOTA: Final = "quota exceeded"
_NEEDED: Final = 64 * 1024
"""Bytes that SQLite needs beside a file to open it; less than that is no room."""
_CAUSES: Final = {errno.ENOSPC: FULL, errno.EDQUOT: QUOTA}


def want_of_room(folder: Path) -> str:
    """What keeps a folder from taking 64 kB more: `FULL`, `QUOTA`, or nothing of the two ("")."""
    try:
        if shutil.disk_usage(folder).free < _NEEDED:
            return FULL
        with tempfile.TemporaryFile(dir=folder) as tried:
            tried.write(bytes(_NEEDED))
            tried.flush()
            os.fsync(tried.fileno())
    except OSError as error:
        return _CAUSES.get(error.errno or 0, "")
    return ""
