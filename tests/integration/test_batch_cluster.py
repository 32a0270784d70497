"""A batch on a real Dask scheduler gives the bytes that local processes give, also when a worker is killed."""

import subprocess
import sys
import threading
import time
from concurrent.futures import CancelledError, Future
from functools import partial
from queue import SimpleQueue
from types import SimpleNamespace

import pytest
import trustme
from helpers.batches import tree
from helpers.dask_processes import add_worker, dask_cluster, make_deadly

from radlength.batch import Task, on_processes, on_scheduler, run_batch
from radlength.batch.cluster import A_WORKER, NO_WORKERS, _next, _outcomes, preflight, worker_facts
from radlength.errors import BatchError

COUNT = 16


@pytest.fixture(scope="module")
def root(tmp_path_factory):
    return tree(tmp_path_factory.mktemp("images"), COUNT)


@pytest.fixture(scope="module")
def local(root, tmp_path_factory):
    out = tmp_path_factory.mktemp("local")
    run_batch(root, "estimate", out, runner=partial(on_processes, workers=1))
    return tables(out)


def tables(out):
    return [(out / f"radlength-batch-estimate.{kind}").read_bytes() for kind in ("csv", "json")]


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    with dask_cluster(tmp_path_factory.mktemp("dask")) as running:
        yield running


@pytest.mark.parametrize("send", [False, True], ids=["workers see the folder", "bytes are sent"])
def test_a_scheduler_gives_the_same_bytes(root, local, cluster, tmp_path, send):
    runner = partial(on_scheduler, address=cluster.address)
    done = run_batch(root, "estimate", tmp_path, runner=runner, send_images=send)
    assert (done.images, done.failed) == (COUNT, 0)
    assert tables(tmp_path) == local


def test_a_scheduler_is_found_by_its_file(root, local, cluster, tmp_path):
    run_batch(root, "estimate", tmp_path, runner=partial(on_scheduler, scheduler_file=cluster.file))
    assert tables(tmp_path) == local


def test_a_worker_killed_in_the_middle_changes_nothing(root, local, tmp_path):
    with dask_cluster(tmp_path) as running:

        def killing(tasks):
            for number, outcome in enumerate(on_scheduler(tasks, running.address)):
                if number == 2:
                    running.workers[0].kill()
                yield outcome

        done = run_batch(root, "estimate", tmp_path / "out", runner=killing)
        assert running.workers[0].wait() < 0
        assert running.workers[1].poll() is None
    assert done.failed == 0
    assert tables(tmp_path / "out") == local


def test_an_image_that_kills_its_workers_is_one_row_and_its_neighbours_are_done(root, tmp_path, monkeypatch):
    import distributed

    monkeypatch.setenv("DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES", "0")
    place = "a/tooth013.tif"
    with dask_cluster(tmp_path, workers=3) as running:
        with distributed.Client(running.address, set_as_default=False) as client:
            client.wait_for_workers(3)
            client.run(make_deadly, place)
        done = run_batch(
            root, "estimate", tmp_path / "out", runner=partial(on_scheduler, address=running.address)
        )
    bad = [(row["image"], row["problem_code"]) for row in done.rows if "problem" in row]
    assert bad == [(place, "worker-died")]
    assert len(done.rows) == COUNT


def test_a_scheduler_that_goes_away_is_told_and_what_was_done_is_kept(root, local, tmp_path, capfd):
    """Its connection may be lost while results are fetched, or while nothing is said: neither waits for ever."""
    with dask_cluster(tmp_path) as running:

        def losing(tasks):
            for number, outcome in enumerate(on_scheduler(tasks, running.address)):
                if number == 2:
                    running.scheduler.kill()
                yield outcome

        with pytest.raises(BatchError, match="the scheduler went away while it worked; see that it runs"):
            run_batch(root, "estimate", tmp_path / "out", runner=losing)
    assert capfd.readouterr().err == ""
    again = run_batch(root, "estimate", tmp_path / "out")
    assert again.resumed >= 3
    assert tables(tmp_path / "out") == local


@pytest.mark.parametrize("lost", ["all at once", "in silence"])
def test_a_connection_that_is_lost_ends_the_waiting(monkeypatch, lost):
    """As Dask tells it: futures that are cancelled, or a client that closed and says nothing more."""
    monkeypatch.setattr("radlength.batch.cluster.LOOK_S", 0.01)
    done = SimpleQueue()
    if lost == "all at once":
        done.put(SimpleNamespace(status="cancelled"))
    client = SimpleNamespace(status="running" if lost == "all at once" else "closed")
    with pytest.raises(CancelledError):
        _next(client, done)


def test_a_batch_whose_last_worker_died_says_what_it_waits_for_and_goes_on_with_the_next(
    root, local, tmp_path, monkeypatch, caplog
):
    monkeypatch.setattr("radlength.batch.cluster.SILENT_S", 0.5)
    with dask_cluster(tmp_path, workers=1) as running, caplog.at_level("WARNING", "radlength.batch.cluster"):

        def losing(tasks):
            for number, outcome in enumerate(on_scheduler(tasks, running.address)):
                if number == 2:
                    running.workers[0].kill()
                    threading.Thread(target=help_when_told).start()
                yield outcome

        def help_when_told():
            until = time.monotonic() + 30
            while not caplog.messages and time.monotonic() < until:
                time.sleep(0.1)
            add_worker(running, tmp_path)

        done = run_batch(root, "estimate", tmp_path / "out", runner=losing)
    assert done.failed == 0
    assert tables(tmp_path / "out") == local
    assert caplog.messages[0].startswith(
        "The scheduler has no workers left, so the batch waits for one. Start a"
    )
    assert caplog.messages.count(caplog.messages[0]) == 1


def test_where_nobody_listens_the_waiting_is_told_on_the_terminal():
    """Python writes a warning that no handler takes to the error stream."""
    code = """
from types import SimpleNamespace
from radlength.batch.cluster import _tell_of_workers
client = SimpleNamespace(nthreads=dict)
_tell_of_workers(client, told=_tell_of_workers(client, told=False))
client.nthreads = lambda: {"tcp://one": 1}
_tell_of_workers(client, told=True)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", f"{NO_WORKERS}\n{A_WORKER}\n")


@pytest.mark.parametrize("facts", [(), ({"radlength": "0.0"},)], ids=["older program", "other versions"])
def test_a_worker_of_another_version_that_comes_later_is_refused(facts):
    """Who was there at the start was looked at then; results shall not hang on who came after."""
    future = Future()
    future.status, future.release = "finished", lambda: None
    future.set_result(((), 0.1, *facts))
    client = SimpleNamespace(submit=lambda *_words, **_more: future)
    with pytest.raises(
        BatchError, match=r"a worker that came later: a worker differs: radlength (None|0\.0), here"
    ):
        list(_outcomes(client, [Task("estimate", "", "a.tif")], 1))


def test_tls_with_a_certificate_and_a_stranger_refused(root, local, tmp_path, monkeypatch):
    authority, stranger = trustme.CA(), trustme.CA()
    env = tls(authority, tmp_path / "own")
    with dask_cluster(tmp_path, workers=1, env=env) as running:
        assert running.address.startswith("tls://")
        configure(monkeypatch, env)
        run_batch(root, "estimate", tmp_path / "out", runner=partial(on_scheduler, address=running.address))
        assert tables(tmp_path / "out") == local
        configure(monkeypatch, tls(stranger, tmp_path / "stranger"))
        monkeypatch.setattr("radlength.batch.cluster.SECONDS", 2)
        with pytest.raises(BatchError, match="no scheduler answers there"):
            list(on_scheduler([], running.address))


def tls(authority, folder):
    """Write a certificate and return the settings that make Dask demand and show one."""
    folder.mkdir()
    authority.cert_pem.write_to_path(folder / "ca.pem")
    authority.issue_cert("127.0.0.1", "localhost").private_key_and_cert_chain_pem.write_to_path(
        folder / "own.pem"
    )
    where = "DASK_DISTRIBUTED__COMM__"
    roles = {
        f"{where}TLS__{role}__CERT": str(folder / "own.pem") for role in ("CLIENT", "SCHEDULER", "WORKER")
    }
    return {f"{where}REQUIRE_ENCRYPTION": "True", f"{where}TLS__CA_FILE": str(folder / "ca.pem"), **roles}


def configure(monkeypatch, env):
    import dask

    for name, value in env.items():
        monkeypatch.setenv(name, value)
    dask.config.refresh()


@pytest.fixture(autouse=True)
def _settings_back(monkeypatch):
    import dask

    yield
    monkeypatch.undo()
    dask.config.refresh()


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("tcp://198.51.100.7:8786", "begins with tcp://"),
        ("198.51.100.7:8786", "has no scheme"),
        ("tcp://127.0.0.1:1", "no scheduler answers there"),
    ],
    ids=["not encrypted", "no scheme", "nobody there"],
)
def test_addresses_that_are_refused(address, words, monkeypatch):
    monkeypatch.setattr("radlength.batch.cluster.SECONDS", 1)
    with pytest.raises(BatchError, match=words):
        list(on_scheduler([], address))


def test_a_scheduler_file_that_is_not_there(tmp_path):
    with pytest.raises(BatchError, match="no such scheduler file"):
        list(on_scheduler([], scheduler_file=tmp_path / "gone.json"))


def test_a_scheduler_without_workers(tmp_path, monkeypatch):
    monkeypatch.setattr("radlength.batch.cluster.SECONDS", 3)
    with dask_cluster(tmp_path, workers=0) as running, pytest.raises(BatchError, match="has no workers"):
        list(on_scheduler([], running.address))


def test_a_worker_of_another_version_is_refused():
    preflight({"tcp://one": worker_facts()})
    with pytest.raises(BatchError, match=r"numpy 1\.0, here"):
        preflight({"tcp://one": worker_facts(), "tcp://two": worker_facts() | {"numpy": "1.0"}})


def test_without_dask_a_sentence(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BatchError, match=r"radlength\[cluster\]"):
        list(on_scheduler([], "tls://127.0.0.1:1"))
