"""Rows put aside on disk and handed back by car, however the sheet was sorted."""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from types import TracebackType
from typing import Self
from uuid import UUID


class Spool:
    """A private database in a temporary file, gone when it is closed.

    It keeps memory bounded: a sheet of any order is read once, and one car's rows are held at a
    time.
    """

    def __init__(self) -> None:
        # The empty name is a file of its own that SQLite itself removes, also after a crash.
        self._database = sqlite3.connect("", isolation_level=None)
        self._database.execute(
            "CREATE TABLE rows (car TEXT, row INTEGER, cells TEXT, goes_to TEXT)"
        )
        self._database.execute("BEGIN")
        self._waiting: list[tuple[str, int, str, str | None]] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._database.close()

    def add(self, car: UUID, row: int, cells: dict[str, str], goes_to: UUID | None = None) -> None:
        """Put a row of a car aside; `goes_to` is another car to which it takes a part."""
        other = None if goes_to is None else str(goes_to)
        self._waiting.append((str(car), row, json.dumps(cells), other))
        if len(self._waiting) >= 1000:
            self._flush()

    def cars(self) -> list[UUID]:
        """Return the cars that rows were put aside for, in an order of their own."""
        self._flush()
        self._database.execute("CREATE INDEX IF NOT EXISTS by_car ON rows (car, row)")
        found = self._database.execute("SELECT DISTINCT car FROM rows ORDER BY car")
        return [UUID(car) for (car,) in found]

    def moves(self) -> list[tuple[UUID, UUID]]:
        """Return from which cars to which parts go, each pair once."""
        self._flush()
        found = self._database.execute(
            "SELECT DISTINCT car, goes_to FROM rows WHERE goes_to IS NOT NULL"
        )
        return [(UUID(car), UUID(other)) for car, other in found]

    def rows_of(self, car: UUID) -> Iterator[tuple[int, dict[str, str]]]:
        """Yield the rows of a car in the order of the sheet."""
        found: Sequence[tuple[int, str]] = self._database.execute(
            "SELECT row, cells FROM rows WHERE car = ? ORDER BY row", (str(car),)
        ).fetchall()
        for row, cells in found:
            yield row, json.loads(cells)

    def _flush(self) -> None:
        self._database.executemany("INSERT INTO rows VALUES (?, ?, ?, ?)", self._waiting)
        self._waiting.clear()
