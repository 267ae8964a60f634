"""How many threads of this machine a calculation shares."""

from __future__ import annotations

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import whole

MOST_THREADS = 4096


@by_name
def thread_count() -> int:
    """How many threads share a calculation in this process.

    In this order: what `set_thread_count` was given, the environment variables
    ``HANGARC_NUM_THREADS`` and ``RAYON_NUM_THREADS`` as they were at the first calculation, the
    number of cores.

    Returns
    -------
    int

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.thread_count() >= 1
    True
    """
    count: int = _core.thread_count()
    return count


@by_name
def set_thread_count(threads: int | None) -> None:
    """Share calculations among so many threads from now on.

    A process started by fork inherits the number; one started by spawn reads the environment. The
    answers are the same for any number.

    Parameters
    ----------
    threads : int or None
        1 to 4096; None leaves it to the environment and the number of cores.

    Raises
    ------
    InputError
        Not a whole number from 1 to 4096.

    Examples
    --------
    >>> import hangarc as ha
    >>> before = ha.thread_count()
    >>> ha.set_thread_count(1)
    >>> ha.thread_count()
    1
    >>> ha.set_thread_count(before)
    """
    if threads is None:
        _core.set_thread_count(0)
        return
    count = whole("threads", threads, MOST_THREADS)
    if count == 0:
        raise InputError("threads", threads, f"a whole number from 1 to {MOST_THREADS}, or None")
    _core.set_thread_count(count)
