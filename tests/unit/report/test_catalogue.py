from __future__ import annotations

import io
import string
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from radlength.errors import ReportError
from radlength.report import Words, read_words, template
from radlength.report.catalogue import WORDS


def test_the_template_is_read_by_a_translators_tool() -> None:
    found = {message.id for message in read_po(io.StringIO(template())) if message.id}
    assert found == set(WORDS.values())


def _mo(path: Path, **texts: str) -> Path:
    catalogue = Catalog(locale="de")
    for key, text in texts.items():
        catalogue.add(WORDS[key], text)
    with path.open("wb") as stream:
        write_mo(stream, catalogue)
    return path


def test_a_translation_is_used_and_a_broken_one_falls_back(tmp_path: Path) -> None:
    path = _mo(tmp_path / "de.mo", title="Zahn {tooth}: Kanallänge", mm="{wert} mm", canal="Kanal")
    words = read_words(path, "de")
    assert words("title", tooth="46") == "Zahn 46: Kanallänge"
    assert words("canal") == "Kanal"
    assert words("mm", value="20.7") == "20.7 mm"
    assert words("image") == "Image"


@pytest.mark.parametrize("content", [b"", b"not a catalogue", bytes(40)], ids=["empty", "text", "zeros"])
def test_a_file_that_is_no_catalogue_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.mo"
    path.write_bytes(content)
    with pytest.raises(ReportError, match="the words cannot be read"):
        read_words(path, "de")


def test_every_text_can_be_filled_in() -> None:
    for key, text in WORDS.items():
        names = [name for _, name, _, _ in string.Formatter().parse(text) if name]
        assert Words()(key, **dict.fromkeys(names, "x"))


def test_universal_numbers_stand_beside_those_of_iso_on_request_only(tmp_path: Path) -> None:
    path = _mo(tmp_path / "de.mo", title="Zahn {tooth}: Kanallänge", universal="{iso} (Universal: {number})")
    assert Words()("title", tooth="45, 85") == "Tooth 45, 85: root canal length"
    both = Words(universal=True)
    assert both("title", tooth="45, 85") == "Tooth 45 (Universal 29), 85 (Universal T): root canal length"
    assert both("case_title", tooth="11") == "Tooth 11 (Universal 8): lengths over time"
    assert both("mm", value="21.5") == "21.5 mm"
    assert (
        read_words(path, "de", universal=True)("title", tooth="46") == "Zahn 46 (Universal: 30): Kanallänge"
    )
