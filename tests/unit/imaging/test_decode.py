"""What decoders write to the error stream is heard and not printed."""

import os
import threading

import pytest

from radlength.imaging.decode import overhear


def test_words_of_a_decoder_are_heard_and_not_printed(capfd):
    def work():
        os.write(2, b"Corrupt JPEG data: premature end of data segment\n")
        return 42

    assert overhear(work) == (42, "Corrupt JPEG data: premature end of data segment\n")
    assert capfd.readouterr().err == ""


def test_a_process_without_an_error_stream_decodes_too(monkeypatch):
    def closed(_descriptor):
        raise OSError

    monkeypatch.setattr(os, "dup", closed)
    assert overhear(lambda: 42) == (42, "")


def test_the_error_stream_is_given_back_after_a_failure(capfd):
    def work():
        message = "no"
        raise KeyError(message)

    with pytest.raises(KeyError, match="no"):
        overhear(work)
    os.write(2, b"still here\n")
    assert capfd.readouterr().err == "still here\n"


def test_threads_take_turns(capfd):
    heard = []

    def listen(word):
        heard.append(overhear(lambda: os.write(2, f"libpng warning: {word}\n".encode()))[1])

    threads = [threading.Thread(target=listen, args=(word,)) for word in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(heard) == [f"libpng warning: {word}\n" for word in "abcd"]
    assert capfd.readouterr().err == ""
