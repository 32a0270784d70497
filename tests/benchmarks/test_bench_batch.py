"""Speed of a batch: one image of 1.5 megapixels with its record, and saving that record, each beside a bare peer.

Figures of whole batches (cores, a cluster, memory) are measured by ``python tests/benchmarks/page.py --batch``.
"""

from __future__ import annotations

import hashlib
import json
import os
import time

import pytest
import tifffile
from helpers.batches import tree

from radlength.batch.task import Task
from radlength.batch.work import work
from radlength.record import dump_record, load_record, record_path, save_record

PER_SECOND = 40
"""Images that one core must do in a second."""


@pytest.fixture(scope="module")
def image(tmp_path_factory):
    root = tree(tmp_path_factory.mktemp("batch"), 1, rows=1300, columns=1154)
    return next(root.rglob("*.tif"))


@pytest.mark.benchmark(
    group="estimate of a 1.5-Mpx 16-bit TIFF with its record (target 40 a second and core)"
)
class TestEstimate:
    def test_ours(self, benchmark, image):
        task = Task("estimate", str(image.parent), image.name)
        assert "problem" not in benchmark(lambda: work(task)).rows[0]

    def test_tifffile_sha256_and_json(self, benchmark, image):
        """Peer: pixels decoded and hashed, file and record hashed, record parsed; nothing measured."""

        def peer():
            pixels, data = tifffile.imread(image), record_path(image).read_bytes()
            hashlib.sha256(pixels).hexdigest()
            hashlib.sha256(image.read_bytes()).hexdigest()
            hashlib.sha256(data).hexdigest()
            return json.loads(data)["canals"]

        assert benchmark(peer)

    def test_images_a_second_and_core(self, benchmark, image):
        """Processor time, least of five turns of twenty: other work on the machine counts not."""
        task = Task("estimate", str(image.parent), image.name)

        def turn():
            begun = time.process_time()
            for _ in range(20):
                work(task)
            return 20 / (time.process_time() - begun)

        turn()
        benchmark.pedantic(turn, rounds=1)
        best = max(turn() for _ in range(5))
        benchmark.extra_info["images_a_second"] = best
        print(f"{best:.0f} images a second and core (target {PER_SECOND})")
        assert best > 0


@pytest.mark.benchmark(group="save a record (target 1.3 times a bare write, flush and rename)")
class TestSave:
    def test_ours(self, benchmark, image):
        record = load_record(image)
        benchmark(lambda: save_record(record))

    @pytest.mark.parametrize("folder", [False, True], ids=["file-only", "file-and-folder"])
    def test_write_flush_and_rename_the_same_bytes(self, benchmark, image, folder):
        """Peer; with the folder flushed too, without which the new name may be lost with the power."""
        data, place = dump_record(load_record(image)), image.with_name("bare.json")

        def bare():
            temporary = place.with_suffix(".part")
            with temporary.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(place)
            if folder:
                descriptor = os.open(place.parent, os.O_RDONLY)
                os.fsync(descriptor)
                os.close(descriptor)

        benchmark(bare)
        assert place.read_bytes() == data
