"""Interruptions are let through where they are told to be, once, and are never lost."""

from __future__ import annotations

import signal
import threading

import pytest

from stemwall.solver.results.interrupts import Interrupts


def test_one_that_is_held_back_is_raised_at_the_end() -> None:
    done = []

    def work() -> None:
        with Interrupts():
            signal.raise_signal(signal.SIGINT)
            done.append("done")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["done"]


def test_one_is_raised_at_once_where_it_is_let_through_and_the_next_is_held_back() -> None:
    done = []

    def work() -> None:
        with Interrupts() as interrupts:
            try:
                with interrupts.let_through():
                    signal.raise_signal(signal.SIGINT)
                    done.append("not reached")
            finally:
                signal.raise_signal(signal.SIGINT)
                done.append("saved")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["saved"]


def test_within_a_block_that_lets_them_through_one_can_be_held_back() -> None:
    done = []

    def work() -> None:
        with Interrupts() as interrupts, interrupts.let_through():
            with interrupts.held_back():
                signal.raise_signal(signal.SIGINT)
                done.append("written")
            done.append("not reached")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["written"]


def test_handlers_are_what_they_were() -> None:
    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)]
    with Interrupts():
        # ends the process without a word, and shall go on doing so
        assert signal.getsignal(signal.SIGTERM) == before[1]
        assert signal.getsignal(signal.SIGINT) != before[0]
    assert [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)] == before


def test_other_threads_hear_nothing() -> None:
    seen = []

    def work() -> None:
        with Interrupts() as interrupts, interrupts.let_through():
            seen.append(signal.getsignal(signal.SIGINT))

    before = signal.getsignal(signal.SIGINT)
    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [before]
