"""The clock of the bench: medians of runs in turn, so that a busy machine hits both alike."""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Timed:
    """Median and spread of one thing measured, in CPU milliseconds of this process."""

    median_ms: float
    best_ms: float

    def __str__(self) -> str:
        return f"{self.median_ms:.2f} ms (best {self.best_ms:.2f})"


def in_turn(*things: Callable[[], Any], runs: int) -> list[Timed]:
    """Each of ``things`` timed ``runs`` times, one after the other in every round."""
    spent: list[list[float]] = [[] for _ in things]
    for thing in things:
        thing()
    gc.collect()
    for _ in range(runs):
        for thing, times in zip(things, spent, strict=True):
            start = time.process_time()
            thing()
            times.append((time.process_time() - start) * 1_000)
    return [Timed(statistics.median(times), min(times)) for times in spent]


def wall_ms(thing: Callable[[], object], *, runs: int) -> float:
    """Median wall time of ``thing``: for what waits on the disk or on another process."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        thing()
        times.append((time.perf_counter() - start) * 1_000)
    return statistics.median(times)


def noting(asked: list[str]) -> Callable[..., object]:
    """A wrapper for a database connection that notes each query it passes on."""

    def wrapper(execute: Callable[..., object], sql: str, *args: object) -> object:
        asked.append(sql)
        return execute(sql, *args)

    return wrapper
