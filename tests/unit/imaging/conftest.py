import pytest
from helpers.bounded import bounded

from radlength.imaging import read_radiograph


@pytest.fixture
def read_bytes(tmp_path):
    def read(data, name="tooth.png"):
        path = tmp_path / name
        path.write_bytes(data)
        return read_radiograph(path)

    return read


@pytest.fixture(scope="module")
def bounded_reader(tmp_path_factory):
    with bounded(tmp_path_factory.mktemp("bounded")) as running:
        yield running
