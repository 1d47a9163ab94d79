"""Long work that a worker does beside the pages."""

from packs.terms.term import Term


class TaskKind(Term):
    """What is done."""

    MATCHING = "matching", "search for better groups"
    TESTER_FILES = "tester_files", "reading of tester files"


class TaskState(Term):
    """Where it stands."""

    WAITING = "waiting", "waits for its turn"
    RUNNING = "running", "running"
    DONE = "done", "done"
    STOPPED = "stopped", "stopped, the best so far is kept"
    FAILED = "failed", "failed"
