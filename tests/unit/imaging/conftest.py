import pytest

from radlength.imaging import read_radiograph


@pytest.fixture
def read_bytes(tmp_path):
    def read(data, name="tooth.png"):
        path = tmp_path / name
        path.write_bytes(data)
        return read_radiograph(path)

    return read
