"""How two processes share the tests: a file stays whole; windows are one process's, and so are archives."""

from __future__ import annotations

import pytest
from xdist.remote import Producer
from xdist.scheduler import LoadFileScheduling
from xdist.workermanage import WorkerController

ONE_PROCESS = ("tests/plugin/", "tests/integration/test_dicom_")
"""Beginnings of the files whose tests compete for keys and mouse, or for ports."""

LONG = (
    "tests/plugin/",
    "tests/integration/test_dicom_",
    "tests/reference/test_validation.py",
    "tests/reference/test_two_views_study.py",
    "tests/integration/test_cli_pipe.py",
    "tests/reference/test_objects_scenes.py",
    "tests/reference/test_tracing_scenes.py",
    "tests/integration/test_tour.py",
    "tests/integration/test_record_faults.py",
    "tests/integration/test_batch_cluster.py",
    "tests/reference/test_two_views_accuracy.py",
    "tests/integration/test_hostile_fuzz.py",
    "tests/integration/test_hostile_paths.py",
)
"""What takes long for its number of tests, the longest first: begun last, one process would wait for the other."""


class Together(LoadFileScheduling):
    """Tests of one file, or of files that compete, go to one process; what is long begins first."""

    def _split_scope(self, nodeid: str) -> str:
        file = super()._split_scope(nodeid)
        return next((start for start in ONE_PROCESS if file.startswith(start)), file)

    def _assign_work_unit(self, node: WorkerController) -> None:
        """Give what is long before what is many."""
        first = next((scope for scope in LONG if scope in self.workqueue), None)
        if first is not None:
            self.workqueue.move_to_end(first, last=False)
        super()._assign_work_unit(node)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> Together:
    """Share tests out so."""
    return Together(config, log)
