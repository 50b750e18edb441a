"""More hands for a large round: its territories searched side by side, each in a process of its own.

The processes start when the first territories come, take no Ctrl-C, and end with the one that started them.
"""

import multiprocessing
import os
import signal
import threading
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor, wait
from multiprocessing.synchronize import Event
from types import TracebackType
from typing import Self

from coatround.core.rounds.territories import Found, OnBest, Stop, Task, one_by_one

AT_MOST = 4
"""So many processes at most, since each holds a territory: our own default."""
POLL_SECONDS = 0.1

Told = tuple[Found, tuple[int, int] | None]
"""What a process found, and the first and the last best cost that it told of, in cents."""


class Together:
    """Hands for `solve`: as many processes as there are cores; with one core the tasks are done here, one by one."""

    def __init__(self, count: int | None = None) -> None:
        self.count = min(AT_MOST, os.cpu_count() or 1) if count is None else count
        self._pool: ProcessPoolExecutor | None = None
        self._over: Event | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._over is not None:
            self._over.set()
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    def __call__(self, tasks: Sequence[Task], stop: Stop, listen: Callable[[int], OnBest]) -> Iterator[Found]:
        """Does the tasks side by side; each gets the iterations that it would have got one after the other."""
        if self.count < 2 or len(tasks) < 2:
            yield from one_by_one(tasks, stop, listen)
            return
        pool, over = self._started()
        budgets = list(_budgets(tasks, stop))
        try:
            futures = [pool.submit(_search, task, most) for task, most in zip(tasks, budgets, strict=True)]
        except BrokenExecutor:
            self.count = 1
            yield from one_by_one(tasks, stop, listen)
            return
        _wait(futures, stop, over)
        done = 0
        for n, future in enumerate(futures):
            try:
                found, told = future.result()
            except BrokenExecutor:  # a process was killed, perhaps for want of memory: go on here, by oneself
                self.count = 1
                yield from one_by_one(tasks[n:], _from(stop, done), _from(listen, done))
                return
            hears = listen(done)
            for iterations, cents in zip((0, found.iterations), told or (), strict=False):
                hears(iterations, cents)
            done += found.iterations
            yield found

    def _started(self) -> tuple[ProcessPoolExecutor, Event]:
        if self._pool is None or self._over is None:
            context = multiprocessing.get_context("spawn")
            self._over = context.Event()
            self._pool = ProcessPoolExecutor(self.count, context, _begin, (self._over,))
        return self._pool, self._over


def _from[T](asked: Callable[[int], T], done: int) -> Callable[[int], T]:
    return lambda now: asked(done + now)


def _budgets(tasks: Sequence[Task], stop: Stop) -> Iterator[int]:
    """The iterations that each task may take before `stop` says yes, as one after the other would give them."""
    done = 0
    for task in tasks:
        most = task.most
        if most and stop(done + most - 1):
            most = bisect_left(range(most), True, key=lambda now, done=done: stop(done + now))  # type: ignore[misc]
        yield most
        done += most


def _wait(futures: Sequence[Future[Told]], stop: Stop, over: Event) -> None:
    """Waits for all; once `stop` says yes the processes are told to end their searches."""
    left = set(futures)
    while left:
        _, left = wait(left, timeout=POLL_SECONDS)
        if stop(0):
            over.set()


_is_over: Event | None = None


def _begin(over: Event) -> None:
    """In each process: no Ctrl-C, and an end when the process that started it ends."""
    global _is_over
    _is_over = over
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.join,), daemon=True).start()


def _end_with(join: Callable[[], None]) -> None:
    join()
    os._exit(1)


def _search(task: Task, most: int) -> Told:
    over, told = _is_over, list[int]()
    assert over is not None
    found = task.search(lambda now: now >= most or over.is_set(), lambda _iterations, cents: told.append(cents))
    return found, (told[0], told[-1]) if told else None
