"""A Qt binding that gives away references to None must not end the window."""

import subprocess
import sys

import pytest

LOOP = """
import sys
from qtpy.QtWidgets import QApplication, QPushButton
from napari_radlength._none_guard import guard, needed
app = QApplication([])
button = QPushButton("x")
guard()
for _ in range(200_000):
    button.setToolTip("x")
print(needed(), sys.getrefcount(None) > 1000)
"""


@pytest.mark.gui
def test_many_calls_that_return_nothing_do_not_end_the_process():
    done = subprocess.run([sys.executable, "-c", LOOP], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "False True\n"), done.stderr
