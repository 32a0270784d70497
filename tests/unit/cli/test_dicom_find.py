"""``radlength dicom find``: a day is one, or is refused; an archive would find nothing and say no more."""

from __future__ import annotations

import pytest
from helpers.archive_servers import free_port


@pytest.mark.parametrize("day", ["29.11.2026", "2026-11-29", "20261340", "-", "20260101-20260201-20260301"])
def test_a_day_that_no_archive_understands_is_refused(invoke, day):
    done = invoke("dicom", "find", "--archive", f"dicom://A@127.0.0.1:{free_port()}", f"--date={day}")
    assert done.code == 2
    assert "a day as 20260102" in " ".join(done.err.split())


@pytest.mark.parametrize("day", ["20260102", "20260101-20260131", "20260101-", "-20260131"])
def test_a_day_or_a_range_is_asked_for(invoke, day):
    done = invoke("dicom", "find", "--archive", f"dicom://A@127.0.0.1:{free_port()}", f"--date={day}")
    assert (done.code, "the archive did not answer" in done.err) == (1, True)
