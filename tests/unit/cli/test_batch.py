import csv
import json

import pytest
from helpers.batches import tree

from radlength.trade import CAUTION


@pytest.fixture
def root(tmp_path):
    return tree(tmp_path / "images", 2)


def test_a_batch_says_what_it_did_and_where_the_table_is(invoke, root, tmp_path):
    (root / "broken.png").write_bytes(b"no picture")
    words = ("batch", root, "--job", "quality", "--out", tmp_path / "out", "--workers", "1")
    done = invoke(*words)
    assert done.code == 0
    assert "broken.png: " in done.out
    assert "3 images, 1 with a problem" in done.out
    assert "3 images, 3 of them done before" in invoke(*words).out
    assert invoke(*words, "--strict").code == 3


def test_rows_for_programs_and_parquet(invoke, root, tmp_path):
    document = invoke(
        "batch", root, "--job", "estimate", "--out", tmp_path / "out", "--workers", "1", "--parquet", "--json"
    ).json
    assert document["caution"] == CAUTION
    assert (document["images"], document["failed"], document["resumed"]) == (2, 0, 0)
    assert [row["canal"] for row in document["rows"]] == ["MB", "MB"]
    assert (tmp_path / "out" / "radlength-batch-estimate.parquet").read_bytes()[:4] == b"PAR1"
    kept = json.loads((tmp_path / "out" / "radlength-batch-estimate.json").read_bytes())
    assert kept["rows"] == document["rows"]


def test_the_validation_study_keeps_every_estimate(invoke, tmp_path):
    done = invoke("batch", "--validation", "1", "--seed", "3", "--out", tmp_path, "--workers", "1")
    assert done.code == 0
    assert "seed 3, 1 simulated scenes a stratum" in " ".join(done.out.split())
    rows = list(csv.DictReader((tmp_path / "radlength-validation-3.csv").read_text("utf-8-sig").splitlines()))
    assert len(rows) == 30
    again = invoke("batch", "--validation", "1", "--seed", "3", "--out", tmp_path, "--workers", "1", "--json")
    assert again.json["table"][0].startswith("placement")


def test_neither_folder_nor_study_is_wrong_usage(invoke, root, tmp_path):
    assert invoke("batch", root, "--out", tmp_path).code == 2
    assert invoke("batch", "--job", "check", "--out", tmp_path).code == 2


def test_a_scheduler_without_encryption_is_refused(invoke, root, tmp_path):
    done = invoke(
        "batch", root, "--job", "check", "--out", tmp_path, "--scheduler", "tcp://198.51.100.7:1", "--json"
    )
    assert (done.code, done.json["error"]["code"]) == (1, "batch-not-encrypted")


def test_a_folder_that_is_not_there(invoke, tmp_path):
    done = invoke("batch", tmp_path / "gone", "--job", "check", "--out", tmp_path / "out", "--json")
    assert (done.code, done.json["error"]["code"]) == (1, "batch-folder")
