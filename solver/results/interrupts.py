"""Ctrl-C and the wish to end (SIGTERM) while something is written that must not be left half done."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType
from typing import Any

SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Interrupts:
    """Context manager that holds interruptions back, but where it is told to let them through.

    An interruption is raised as `KeyboardInterrupt`, once: what is done on its way out is not interrupted in turn.
    One that is held back is raised at the next place that lets them through, or at the end.  Signals that the process
    ignores, or that end it without a word, stay what they are; so do all outside of the main thread.
    """

    def __init__(self) -> None:
        #: whether one is held back
        self.pending = False
        self._open = False
        self._before: dict[int, Any] = {}

    def __enter__(self) -> Interrupts:
        if threading.current_thread() is threading.main_thread():
            for number in SIGNALS:
                if callable(handler := signal.getsignal(number)) and not isinstance(handler, signal.Handlers):
                    self._before[number] = signal.signal(number, self._heard)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)
        if self.pending and kind is None:
            raise KeyboardInterrupt

    @contextmanager
    def let_through(self) -> Iterator[None]:
        """Let interruptions through in this block."""
        self.look()
        self._open = True
        try:
            self.look()
            yield
        finally:
            self._open = False

    @contextmanager
    def held_back(self) -> Iterator[None]:
        """Hold interruptions back in this block, inside of one that lets them through or not."""
        before, self._open = self._open, False
        try:
            yield
        finally:
            self._open = before
        if before:
            self.look()

    def look(self) -> None:
        """Raise an interruption that was held back."""
        if self.pending:
            self._open = self.pending = False
            raise KeyboardInterrupt

    def _heard(self, number: int, frame: FrameType | None) -> None:
        if self._open:
            self._open = False
            raise KeyboardInterrupt
        self.pending = True
