"""Ctrl-C while processes work: they say nothing, and the program ends soon."""

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor

import pytest

from radlength.batch.interrupts import starting_deaf

posix = pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="no signal can be held back here")
DEAF = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ()))"

UP = "import radlength.exercise.learner; from radlength.cli import main; print('up', flush=True); main()"
"""What takes seconds to load is loaded first: there a library may pass over an interrupt (one run in a hundred)."""


@pytest.fixture(autouse=True)
def heard():
    """Let Ctrl-C be heard also where the tests run in the background of a shell, which has it passed over."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def _is_deaf():
    return subprocess.run(
        [sys.executable, "-c", DEAF], capture_output=True, text=True, check=True
    ).stdout.strip()


@posix
def test_a_process_started_in_the_block_is_deaf_and_one_started_after_it_is_not():
    with starting_deaf():
        inside = _is_deaf()
    assert (inside, _is_deaf()) == ("True", "False")


@posix
def test_a_process_of_a_pool_is_deaf_even_where_the_pool_is_made_in_the_block():
    """The first pool starts a process that looks after it, and the library then lets the interrupt through."""
    with starting_deaf(), ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        blocked = pool.submit(signal.pthread_sigmask, signal.SIG_BLOCK, ()).result()
    assert signal.SIGINT in blocked


@posix
def test_an_interrupt_in_the_block_is_heard_after_it():
    reached = False
    with pytest.raises(KeyboardInterrupt), starting_deaf():  # noqa: PT012 - the block goes on to its end
        signal.raise_signal(signal.SIGINT)
        reached = True
    assert reached


@posix
@pytest.mark.parametrize("after_s", [1.5, 4.0])
def test_an_interrupted_exercise_ends_without_a_traceback_and_leaves_nothing(tmp_path, after_s):
    """As a terminal sends it, to every process of the group; counted from where the program answers an interrupt."""
    with subprocess.Popen(
        [sys.executable, "-c", UP, "exercise", "new", "course"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline().strip() == b"up"
        time.sleep(after_s)
        os.killpg(running.pid, signal.SIGINT)
        told, said = running.communicate(timeout=60)
    assert (running.returncode, told, said) == (130, b"", b"")
    assert list(tmp_path.iterdir()) == []
