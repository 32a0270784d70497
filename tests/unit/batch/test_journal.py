from radlength.batch import Outcome
from radlength.batch.journal import Journal

ONE = Outcome("a/1.png", "key1", ({"image": "a/1.png", "canal_length_mm": 21.5},), {".pdf": b"x"})
TWO = Outcome("a/2.png", "key2", ({"image": "a/2.png", "problem": "Ψ"},))


def kept(path):
    with Journal(path) as journal:
        return journal.done


def test_what_was_added_is_there_again_without_the_bytes_of_files(tmp_path):
    with Journal(tmp_path / "j") as journal:
        journal.add(ONE)
        journal.add(TWO)
    found = kept(tmp_path / "j")
    assert found["a/2.png"] == TWO
    assert (found["a/1.png"].rows, found["a/1.png"].files) == (ONE.rows, {".pdf": b""})


def test_a_half_written_line_counts_as_none_and_harms_no_other(tmp_path):
    with Journal(tmp_path / "j") as journal:
        journal.add(ONE)
        journal.add(TWO)
    whole = (tmp_path / "j").read_bytes()
    for cut in range(len(whole)):
        (tmp_path / "j").write_bytes(whole[:cut])
        with Journal(tmp_path / "j") as journal:
            assert set(journal.done) <= {"a/1.png", "a/2.png"}
            journal.add(TWO)
        assert kept(tmp_path / "j")["a/2.png"] == TWO


def test_strange_lines_are_passed_over(tmp_path):
    (tmp_path / "j").write_text('[]\n{"place": 1}\nnull\n{"place":"a","key":"k","rows":[1],"files":[]}\n')
    assert kept(tmp_path / "j") == {}
