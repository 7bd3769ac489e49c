"""The rows that a form has taken so far, and everything that was typed as the keywords of its deed."""

from collections.abc import Sequence
from typing import Any

from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Problem
from kittrack.tui.deeds import Ask, Deed, Rows, Texts, Values, read_texts


class FormRows:
    """What of a form is not in its fields any more: rows that were added, by the name of their rows."""

    def __init__(self, deed: Deed) -> None:
        self._deed = deed
        self._added: dict[str, list[dict[str, str]]] = {rows.name: [] for rows in deed.rows}

    def __bool__(self) -> bool:
        """Whether any row was added."""
        return any(self._added.values())

    def added(self, rows: str) -> Sequence[Texts]:
        """The rows that were added, in order."""
        return self._added.get(rows, [])

    def clear(self) -> None:
        """Forget every row."""
        for rows in self._added.values():
            rows.clear()

    def add(self, rows: Rows, now: Texts) -> None:
        """Keep the row that stands in the fields.

        Raises:
            BadInput: it can't be read; it is not kept then.
        """
        self._made(rows, now)
        self._added[rows.name].append({ask.name: now[ask.name] for ask in self._deed.of_rows(rows.name)})

    def take_back(self, rows: str) -> Texts | None:
        """The last row, which is none of the rows any more."""
        added = self._added.get(rows)
        return added.pop() if added else None

    def put_back(self, rows: str, texts: Sequence[Texts]) -> None:
        """Rows that were kept before, in place of those of now; of each, the fields that the form still has."""
        asks = self._deed.of_rows(rows)
        self._added[rows] = [
            {a.name: row.get(a.name, "") if a.is_raw else clean_label(row.get(a.name, "")) for a in asks}
            for row in texts
        ]

    def is_begun(self, rows: str, now: Texts) -> bool:
        """Whether something was typed into the fields of a row, besides what stays from the row before."""
        return any(now[ask.name] not in ("", ask.value) for ask in self._deed.of_rows(rows) if not ask.keeps)

    def values(self, now: Texts) -> Values:
        """Everything that was typed, as the keywords of the deed.

        Raises:
            BadInput: every field that can't be read, with the row that it is in.
        """
        problems: list[Problem] = []
        values: Values = {}
        try:
            values = read_texts(self._deed.heads, now)
        except BadInput as error:
            problems += error.problems
        for rows in self._deed.rows:
            made, faults = self._all_made(rows, now)
            problems += faults
            values |= {rows.name: made} if made or rows.needed else {}
        if problems:
            raise BadInput(problems)
        return self._deed.build(values) if self._deed.build else values

    def _all_made(self, rows: Rows, now: Texts) -> tuple[tuple[Any, ...], list[Problem]]:
        added = self._added[rows.name]
        is_last = self.is_begun(rows.name, now) or (rows.needed and not added)
        made, problems = [], []
        asks = self._deed.of_rows(rows.name)
        if is_last and not self.is_begun(rows.name, now) and not any(ask.needed for ask in asks):
            # Such a row could be read, as a thing of which nothing is known; one key alone must not record that.
            return (), [Problem(f"Nothing is typed for {rows.words}; begin with {asks[0].words}.")]
        for number, texts in enumerate([*added, *([now] if is_last else [])], start=1):
            try:
                made.append(self._made(rows, texts))
            except BadInput as error:
                several = len(added) + is_last > 1
                problems += [
                    Problem(p.message, p.field, row=number if several else None) for p in error.problems
                ]
        return tuple(made), problems

    def _made(self, rows: Rows, texts: Texts) -> Any:
        return rows.make(**read_texts(self._deed.of_rows(rows.name), texts))

    def unread(self, now: Texts) -> Ask | None:
        """The first field of those on the screen that can't be read, or is empty and needed."""
        begun = [
            rows for rows in self._deed.rows
            if self.is_begun(rows.name, now) or (rows.needed and not self._added[rows.name])
        ]  # fmt: skip
        asks = (*self._deed.heads, *(ask for rows in begun for ask in self._deed.of_rows(rows.name)))
        return next((ask for ask in asks if not _is_read(ask, now)), None)

    def lines(self, *, most: int) -> list[str]:
        """The rows so far in words, the last of them."""
        lines: list[str] = []
        for rows in self._deed.rows:
            added = self._added[rows.name]
            if len(added) > most:
                lines.append(f"{rows.words}: {len(added)} so far, the last {most}:")
            shown = list(enumerate(added, start=1))[-most:]
            lines += [
                f"{rows.words} {number}: {_told(self._deed.of_rows(rows.name), row)}" for number, row in shown
            ]
        return lines


def _told(asks: Sequence[Ask], row: Texts) -> str:
    return ", ".join(f"{ask.words} {row[ask.name]}" for ask in asks if row[ask.name] and not ask.is_raw)


def _is_read(ask: Ask, now: Texts) -> bool:
    try:
        read_texts((ask,), now)
    except BadInput:
        return False
    return True
