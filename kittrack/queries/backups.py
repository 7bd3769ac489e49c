"""Which backups there are in a folder, and what is asked of them: how old the newest may be, how many are kept."""

from pathlib import Path

from kittrack.errors import NotFound
from kittrack.store.backup_rules import BackupFile, BackupRule, files_in, rule_of
from kittrack.store.database import Store


def backup_rule(store: Store) -> BackupRule:
    """How many days old the newest backup may be before managers are told, and how many files are kept."""
    with store.reading() as read:
        return rule_of(read)


def backup_files(store: Store, *, folder: str) -> tuple[BackupFile, ...]:
    """The backups and archives of a folder that have a note beside them, the newest first.

    Raises:
        NotFound: there is no such folder.
    """
    path = Path(folder).expanduser()
    if not path.is_dir():
        raise NotFound(f"there is no folder {path}; name the one that holds the backups")
    with store.reading() as read:
        return files_in(read, path)
