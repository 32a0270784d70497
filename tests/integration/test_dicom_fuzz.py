"""Whatever a DICOM file holds, the answer is a value or a sentence: files of pydicom, and broken ones of our own.

``RADLENGTH_FUZZ`` sets how many broken files are tried (150 without it).
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import tracemalloc
import warnings
from pathlib import Path

import pydicom
import pytest
from helpers.archive_images import DISTAL, INSTRUMENT, MB, NOON, SHAPE, marked_image, write_image
from pydicom.data.data_manager import DATA_ROOT

from radlength.dicom import list_measurements, marked, read_report, read_source, record_of, write_documents
from radlength.dicom.archive_model import read_items
from radlength.dicom.copies import deidentified
from radlength.dicom.foreign_length import elsewhere
from radlength.dicom.stamp import encoded
from radlength.dicom.write import build
from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph
from radlength.length import Canal, Terminus
from radlength.record import Record
from radlength.scale import Reference

COUNT = int(os.environ.get("RADLENGTH_FUZZ", "150"))
SEED = int(os.environ.get("RADLENGTH_FUZZ_SEED", "20260102"))
FILES = sorted(
    path
    for path in (Path(DATA_ROOT) / "test_files").rglob("*")
    if path.is_file() and path.stat().st_size < 2_000_000
)


def _everything(path: Path) -> list[str]:
    """Do all that can be done with a file; return what refused, nothing but our own refusals may come."""
    refused = []
    for name, act in (
        ("source", read_source),
        ("items", lambda one: read_items([one])),
        ("listing", list_measurements),
        ("report", read_report),
        ("copy", lambda one: encoded(deidentified(one, read_radiograph(one)))),
        ("documents", _documents),
    ):
        try:
            act(path)
        except RadlengthError:
            refused.append(name)
    return refused


def _documents(path: Path) -> None:
    radiograph = read_radiograph(path)
    record = Record.new(
        radiograph,
        canals=[Canal("46", "MB", MB), Canal("46", "D", DISTAL)],
        references=[Reference(INSTRUMENT, 21.0, 0.25, "in_canal", "file", "MB")],
        terminus=Terminus(offset_mm=1.0),
        when=NOON,
    )
    what = marked(read_source(path), record, radiograph)
    elsewhere(what)
    for kind in ("sr", "pr", "derived"):
        build(kind, what)


@pytest.fixture(autouse=True)
def _quiet():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def test_pydicoms_own_files():
    assert len(FILES) > 100
    refused = {path: _everything(path) for path in FILES}
    read = [path for path, names in refused.items() if "source" not in names]
    assert len(read) > 40
    listed = [path.name for path, names in refused.items() if "listing" not in names]
    assert {"reportsi.dcm", "test-SR.dcm"} <= set(listed)


def _broken(data: bytes, rng: random.Random) -> bytes:
    """Return a file with bits turned, bytes cut out or put in, or its end gone; mostly in the header."""
    out = bytearray(data)
    header = max(data.find(b"\xe0\x7f\x10\x00"), 400)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        at = rng.randrange(132, header if rng.random() < 0.9 else len(out))
        act = rng.random()
        if act < 0.5:
            out[at] ^= 1 << rng.randrange(8)
        elif act < 0.7:
            out[at] = rng.choice((0, 0xFF, 0x5C, 0x20, rng.randrange(256)))
        elif act < 0.8:
            del out[at : at + rng.randrange(1, 9)]
        elif act < 0.9:
            out[at:at] = rng.randbytes(rng.randrange(1, 9))
        else:
            size = rng.choice((2, 4))
            out[at : at + size] = rng.choice((b"\xff" * size, b"\x00" * size, rng.randbytes(size)))
    return bytes(out[: rng.randrange(200, len(out))] if rng.random() < 0.05 else out)


def _originals(folder: Path) -> list[bytes]:
    plain = write_image(folder / "plain.dcm")
    packed = write_image(folder / "packed.dcm", inverted=True)
    ds = pydicom.dcmread(packed)
    ds.compress(pydicom.uid.RLELossless)
    ds.save_as(packed)
    small = io.BytesIO()
    ds = pydicom.dcmread(plain)
    ds.file_meta.TransferSyntaxUID = pydicom.uid.ImplicitVRLittleEndian
    ds.save_as(small, implicit_vr=True, little_endian=True)
    return [plain.read_bytes(), packed.read_bytes(), small.getvalue()]


def test_broken_images_give_values_or_sentences(tmp_path):
    rng = random.Random(SEED)
    originals = _originals(tmp_path)
    path, outcomes = tmp_path / "broken.dcm", []
    for number in range(COUNT):
        path.write_bytes(_broken(originals[number % len(originals)], rng))
        outcomes.append(_everything(path))
    assert sum("documents" in one for one in outcomes) > COUNT // 50
    assert sum("documents" not in one for one in outcomes) > COUNT // 50


def test_broken_reports_give_values_or_sentences(tmp_path):
    rng = random.Random(SEED + 1)
    made = marked_image(tmp_path)
    data = write_documents(made.path, ["sr"])[0].path.read_bytes()
    image = read_radiograph(made.path)
    path, read = tmp_path / "broken.dcm", 0
    for _ in range(COUNT):
        path.write_bytes(_broken(data, rng))
        for act in (list_measurements, lambda one: record_of(read_report(one), image)):
            with contextlib.suppress(RadlengthError):
                act(path)
                read += 1
    assert 0 < read < 2 * COUNT


def test_memory_stays_in_proportion_to_the_image(tmp_path):
    """At most four times the decoded image and 50 MB above what was there before."""
    rng = random.Random(SEED + 2)
    originals = _originals(tmp_path)
    path = tmp_path / "broken.dcm"
    _everything(tmp_path / "plain.dcm")
    tracemalloc.start()
    try:
        for number in range(min(COUNT, 12)):
            path.write_bytes(_broken(originals[number % len(originals)], rng))
            tracemalloc.reset_peak()
            idle = tracemalloc.get_traced_memory()[0]
            _everything(path)
            assert tracemalloc.get_traced_memory()[1] - idle <= 4 * 2 * SHAPE[0] * SHAPE[1] + 50_000_000
    finally:
        tracemalloc.stop()
