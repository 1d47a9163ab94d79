"""Django's SQLite, but transactions of one process begin in the order in which they were asked for.

SQLite lets a waiting writer look again after ever longer pauses, and gives the lock to whoever looks at the right
moment: with sixteen benches that write without a break one of them waited longer than its timeout. Here only the first
in line asks SQLite at all.
"""

import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager

from django.db.backends.sqlite3 import base

_LINE: deque[threading.Lock] = deque()
_GUARD = threading.Lock()


@contextmanager
def turn() -> Iterator[None]:
    """Wait until everybody who came before has had a turn."""
    mine = threading.Lock()
    mine.acquire()
    with _GUARD:
        _LINE.append(mine)
        if _LINE[0] is mine:
            mine.release()
    mine.acquire()
    try:
        yield
    finally:
        with _GUARD:
            _LINE.popleft()
            if _LINE:
                _LINE[0].release()


def waiting() -> int:
    """Return how many stand in line, with whoever has the turn."""
    return len(_LINE)


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection that queues for the write lock with the other threads of its process."""

    def _start_transaction_under_autocommit(self) -> None:
        with turn():
            super()._start_transaction_under_autocommit()  # type: ignore[misc]  # the stubs leave it out
