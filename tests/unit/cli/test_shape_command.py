from __future__ import annotations

import csv
import io
import json
import shlex
from pathlib import Path

import cv2
import pytest
from helpers.bends import bent
from helpers.cases import points, write_image
from typer.main import get_command

from radlength.cli.app import build_app
from radlength.trade import CAUTION

GROUP = get_command(build_app()).commands["shape"]
NAMES = ("preview", "curvature", "compare")
BENT = [tuple(p) for p in bent(12, 6, 45, 2, 14) * 10 + (20, 60)]


@pytest.fixture
def curved(tmp_path: Path, invoke) -> Path:
    """An image of 0.1 mm a pixel with a canal that bends 45 degrees, and its root."""
    image = write_image(tmp_path / "curved.png", rows=260, columns=200)
    words = ("--tooth", "46", "--canal", "MB", "--path", points(BENT), "--offset-mm", "1")
    reference = ("--reference-path", "20,20 220,20", "--reference-length", "20", "--reference-limit", "0.1")
    done = invoke("mark", image, *words, *reference, "--placement", "beside")
    assert done.code == 0, done.err
    return image


EDGES = ("--edge", "left:90,45 140,48 175,60 195,75", "--edge", "right:90,75 130,78 160,92 180,110")


@pytest.mark.parametrize("name", NAMES)
def test_every_option_of_the_group_is_documented(name: str, invoke) -> None:
    command = GROUP.commands[name]
    assert command.help
    assert [p.name for p in command.params if not getattr(p, "help", None)] == []
    options = {option for p in command.params for option in p.opts}
    assert {"--json", "--debug", "--canal", "--records"} <= options
    done = invoke("shape", name, "--help")
    assert CAUTION in " ".join(done.out.split())
    assert f"radlength shape {name}" in done.out


@pytest.mark.parametrize("name", NAMES)
def test_the_example_of_the_group_parses(name: str) -> None:
    from importlib import import_module

    words = shlex.split(import_module(f"radlength.cli.shape_{name}").EXAMPLE)
    assert words[:3] == ["radlength", "shape", name]
    assert GROUP.commands[name].make_context(name, words[3:]).params


def test_a_preview_for_programs(curved: Path, invoke) -> None:
    words = (
        "--option",
        "25/.06",
        "--option",
        "30/.04",
        "--threshold",
        "1",
        "--needle",
        "30G",
        "--before",
        "10/.02",
    )
    data = invoke("shape", "preview", curved, *words, *EDGES, "--json").json
    assert data["caution"] == CAUTION
    assert data["canal"] == "46 MB"
    assert data["pairs"][0]["equal_at_mm"] == [pytest.approx(2.5)]
    assert data["options"][0]["diameter_mm"][:2] == [pytest.approx(0.25), pytest.approx(0.31)]
    assert data["options"][0]["needle"]["binds_short_mm"] == pytest.approx(1.0)
    assert [wall["edge"] for wall in data["options"][0]["walls"]] == ["left", "right"]
    assert all(finding["code"] != "clear" for finding in data["findings"])


def test_a_preview_as_text_with_its_files(curved: Path, tmp_path: Path, invoke) -> None:
    (tmp_path / "steps.csv").write_text(
        "step,instrument,set_length_mm,felt\napical,25/.06,19,stopped short\n"
    )
    (tmp_path / "rules.csv").write_text("felt,then\nstopped short,a smaller size first\n")
    (tmp_path / "mine.csv").write_text("mm,diameter_mm\n0,0.25\n4,0.57\n16,0.9\n")
    files = {name: tmp_path / name for name in ("shape.png", "plot.png", "shape.csv", "shape.html")}
    done = invoke(
        *("shape", "preview", curved, "--option", "mine", "--option", "25/.06@2 + 30/.04", *EDGES),
        *(
            "--table",
            f"mine={tmp_path / 'mine.csv'}",
            "--before",
            "10/.02",
            "--needle",
            "0.3",
            "--threshold",
            "2.5",
        ),
        *("--steps", tmp_path / "steps.csv", "--rules", tmp_path / "rules.csv"),
        *("--png", files["shape.png"], "--plot", files["plot.png"], "--csv", files["shape.csv"]),
        *("--html", files["shape.html"]),
    )
    assert done.code == 0, done.err
    said = " ".join(done.out.split())
    for words in (
        "25 red, 30 blue",
        "cone loose by",
        "a smaller size first",
        "Projected thickness: a hollow beside the canal is not seen, the true minimum is thinner.",
        "cut from the stated canal",
        "is below your 2.5 mm",
        CAUTION,
    ):
        assert words in said
    for name in ("shape.png", "plot.png"):
        picture = cv2.imread(str(files[name]))
        assert min(picture.shape[:2]) > 250
        assert len(set(map(tuple, picture[::7, ::7].reshape(-1, 3).tolist()))) > 20
    page = files["shape.html"].read_text()
    assert page.count(CAUTION.replace("'", "&#x27;")) == 2
    assert page.count("data:image/png;base64,") == 2
    assert "estimate, not confirmed" in page
    assert "<script" not in page
    rows = list(csv.DictReader(io.StringIO(files["shape.csv"].read_text(encoding="utf-8-sig"))))
    assert {row["option"] for row in rows} == {"mine", "25/.06@2 + 30/.04"}
    assert {row["caution"] for row in rows} == {CAUTION}


def test_strict_ends_with_3_where_the_outline_leaves_the_root(curved: Path, invoke) -> None:
    words = ("--option", "120/.1", "--edge", "left:90,52 140,54 175,66 195,80", "--strict")
    done = invoke("shape", "preview", curved, *words)
    assert done.code == 3
    assert "larger than this root allows" in " ".join(done.out.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(("--option", "0.25/.06"), "write 25 for a tip of 0.25 mm", id="size-in-mm"),
        pytest.param(("--option", "25/6"), "write 0.06 for 6 %", id="percent"),
        pytest.param(("--option", "-25/.06"), "size -25; 4 to 160", id="negative"),
        pytest.param(("--option", "25/.06", "--needle", "27"), "write 27G for a gauge", id="gauge"),
        pytest.param(("--option", "25/.06", "--edge", "1,2 3,4"), "names no path of its own", id="edge"),
        pytest.param(
            ("--option", "25/.06", "--table", "mine"), "'mine' is no table; --table NAME=FILE", id="table"
        ),
        pytest.param(("--option", "25/.06", "--step", "0"), "steps of 0.0 mm", id="step"),
        pytest.param(("--option", "25/.06", "--steps", "none.csv"), "none.csv: No such file", id="no-file"),
        pytest.param(("--option", "25/.06", "--canal", "DB"), "DB", id="canal"),
    ],
)
def test_a_mistake_is_one_sentence(curved: Path, invoke, words, said) -> None:
    done = invoke("shape", "preview", curved, *words)
    assert done.code == 1
    assert done.out == ""
    assert said in done.err
    assert done.err.count("\n") == 1


def test_files_that_are_no_tables_are_refused(curved: Path, tmp_path: Path, invoke) -> None:
    (tmp_path / "big.csv").write_bytes(b"x" * 1_000_001)
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00")
    for name, said in (("big.csv", "larger than a megabyte"), ("odd.csv", "not text; a CSV table in UTF-8")):
        done = invoke("shape", "preview", curved, "--option", "25/.06", "--steps", tmp_path / name)
        assert (done.code, said in done.err) == (1, True)


def test_several_canals_and_none_named_is_refused(curved: Path, invoke) -> None:
    moved = [(row, column + 20) for row, column in BENT]
    invoke("mark", curved, "--tooth", "46", "--canal", "D", "--path", points(moved))
    done = invoke("shape", "curvature", curved)
    assert done.code == 1
    assert "2 canals are marked; one of: 46 MB, 46 D; name it with --canal" in done.err


def test_curvature_for_programs(curved: Path, invoke) -> None:
    data = invoke("shape", "curvature", curved, "--rule", "Schneider 1971", "--json").json
    by_name = {one["name"]: one for one in data["readings"]}
    assert by_name["Weine angle"]["value"] == pytest.approx(45, abs=0.3)
    assert by_name["Pruett angle"]["method"] == "Pruett"
    assert by_name["Schneider angle"]["low"] < by_name["Schneider angle"]["value"]
    assert (data["rule"], data["class"]) == ("Schneider 1971", "severe")
    assert data["caution"] == CAUTION


def test_curvature_as_text_with_its_files(curved: Path, tmp_path: Path, invoke) -> None:
    plot, table = tmp_path / "bend.png", tmp_path / "bend.csv"
    html = tmp_path / "bend.html"
    words = ("--plot", plot, "--csv", table, "--html", html, "--rule", "Schneider 1971")
    done = invoke("shape", "curvature", curved, *words)
    assert "46 MB: curvature" in html.read_text()
    said = " ".join(done.out.split())
    for words in ("one bend, in the plane of the image", "Pruett et al. 1997", "class by the rule", CAUTION):
        assert words in said
    assert cv2.imread(str(plot)).shape[1] > 800
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    assert {row["method"] for row in rows} >= {"Schneider", "Weine", "Pruett", "profile"}


def test_an_unknown_rule_is_refused(curved: Path, invoke) -> None:
    done = invoke("shape", "curvature", curved, "--rule", "mine", "--json")
    assert done.code == 1
    assert "curvature rule 'mine' is unknown" in json.loads(done.out)["error"]["message"]


@pytest.fixture
def block(tmp_path: Path, invoke) -> list[Path]:
    """Two photographs of an invented block, marked, 0.15 mm of transportation planted."""
    from helpers.blocks import write_block

    images, files, _ = write_block(tmp_path, 3)
    for image, marks in zip(images, files, strict=True):
        assert invoke("mark", image, "--from", marks).code == 0
    return images


def test_a_comparison_as_text_and_files_and_for_programs(block, tmp_path: Path, invoke) -> None:
    picture, table = tmp_path / "compared.png", tmp_path / "compared.csv"
    words = (
        "--kind",
        "block",
        "--levels",
        "2,3,5,7",
        "--png",
        picture,
        "--csv",
        table,
        "--html",
        tmp_path / "c.html",
    )
    done = invoke("shape", "compare", *block, *words)
    assert done.code == 0, done.err
    said = " ".join(done.out.split())
    for told in (
        "before and after, projected",
        "transportation, 95 %",
        "straightening, Schneider angle",
        CAUTION,
    ):
        assert told in said
    assert cv2.imread(str(picture)).shape[0] > 600
    assert "before and after" in (tmp_path / "c.html").read_text()
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    carried = [float(row["value"]) for row in rows if row["figure"] == "projected transportation"]
    assert carried == pytest.approx([0.15] * 4, abs=0.03)
    data = invoke("shape", "compare", *block, "--kind", "block", "--levels", "3", "--json").json
    assert data["levels"][0]["projected_transportation_mm"] == pytest.approx(0.15, abs=0.03)
    assert data["registration"]["turn_deg"] == pytest.approx(-2, abs=0.02)
    assert data["caution"] == CAUTION


def test_a_needle_that_binds_nowhere_is_not_said_to_bind_at_the_end(curved: Path, invoke) -> None:
    said = " ".join(invoke("shape", "preview", curved, "--option", "40/.02", "--needle", "30G").out.split())
    assert "needle 0.31 mm (30 gauge): reaches the end of the working length and binds nowhere. " in said
    said = " ".join(invoke("shape", "preview", curved, "--option", "31/.02", "--needle", "30G").out.split())
    assert "binds nowhere; the thickest of its limits 0.50 mm short" in said
    said = " ".join(invoke("shape", "preview", curved, "--option", "25/.06", "--needle", "0.31").out.split())
    assert "needle 0.31 mm: binds 1.00 mm short of the working length (1.00–1.00)" in said


def test_the_sides_of_a_comparison_are_those_of_the_image_everywhere(block, tmp_path: Path, invoke) -> None:
    """Planted toward the right of the image, see :mod:`helpers.blocks`; to the left of who looks down the canal."""
    table = tmp_path / "c.csv"
    words = ("--kind", "block", "--levels", "3")
    said = " ".join(invoke("shape", "compare", *block, *words, "--csv", table).out.split())
    data = invoke("shape", "compare", *block, *words, "--json").json["levels"][0]
    assert data["left_on_image"] == "right"
    assert data["projected_transportation_mm"] > 0.1
    right, left = data["removed_left_mm"], data["removed_right_mm"]
    assert f"left {left:z.2f}, right {right:z.2f} mm" in said
    assert f"{data['projected_transportation_mm']:.2f} ±" in said
    assert "mm to the right" in said
    assert "left and right as on the first image" in said
    assert "to the right side of the image: at 3 mm" in said
    assert "plus: to the right side of the image" in table.read_text(encoding="utf-8-sig")


@pytest.mark.parametrize("command", ["compare", "preview", "curvature"])
def test_every_command_of_a_shape_tells_the_status_of_all_its_records(
    command, block, tmp_path: Path, invoke, monkeypatch
):
    """Only the second image is invented; on pictures the words are drawn, so they are caught on their way."""
    import radlength.report.shape_compare as compared
    import radlength.report.shape_picture as previewed
    import radlength.report.shape_plots as plotted

    drawn: list[str] = []
    for module in (compared, previewed, plotted):
        real = module.wrapped
        monkeypatch.setattr(
            module, "wrapped", lambda text, *more, _real=real: drawn.append(text) or _real(text, *more)
        )
    images = block if command == "compare" else block[1:]
    for image, invented in zip(block, (False, True), strict=True):
        path = image.with_name(image.name + ".radlength.json")
        data = json.loads(path.read_text())
        path.write_text(json.dumps({k: v for k, v in data.items() if k != "sha256"} | {"invented": invented}))
    words = {
        "compare": ("--kind", "block", "--levels", "3", "--png", tmp_path / "c.png"),
        "preview": ("--option", "25/.04", "--png", tmp_path / "c.png", "--plot", tmp_path / "p.png"),
        "curvature": ("--plot", tmp_path / "p.png"),
    }[command]
    status = "estimate, not confirmed · invented case"
    if command == "preview":
        assert invoke("mark", *images, "--tooth", "46", "--canal", "MB", "--offset-mm", "1").code == 0
    done = invoke("shape", command, *images, *words)
    assert done.code == 0, done.err
    assert status in done.out
    assert drawn.count(status) == sum(str(word).endswith(".png") for word in words)
    data = invoke("shape", command, *images, *words, "--json").json
    assert (data["status"], data["invented"]) == ("estimate, not confirmed", True)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(
            ("--levels", "1;2"), "'1;2' are no levels; millimetres with commas between", id="levels"
        ),
        pytest.param(
            ("--levels", "30"), "levels at 30 mm; distances from the apical end", id="off-the-canal"
        ),
        pytest.param(("--wall", "left:1,2 3,4"), "1 wall of a canal; two walls, or none", id="one-wall"),
    ],
)
def test_a_comparison_that_cannot_be_is_one_sentence(block, invoke, words, said) -> None:
    done = invoke("shape", "compare", *block, "--kind", "block", *words)
    assert done.code == 1
    assert said in done.err


def test_walls_given_by_a_person_are_taken(block, invoke) -> None:
    path = json.loads(block[0].with_name("before.marks.json").read_text())["canals"][0]["path_px"]
    walls = [
        f"{side}:" + " ".join(f"{r},{c + shift}" for r, c in path) for side, shift in (("a", 7), ("b", -7))
    ]
    words = ("--wall", walls[0], "--wall", walls[1], "--kind", "block", "--levels", "5", "--json")
    assert invoke("shape", "compare", *block, *words).json["walls"] == ["marked", "found"]


def test_nothing_turned_or_moved_has_no_minus(capsys: pytest.CaptureFixture[str]) -> None:
    from types import SimpleNamespace as Made

    from rich.console import Console

    from radlength.cli.shape_tables import print_comparison

    laid = Made(turn_deg=-0.001, size=1.0, residual_px=0.1, worst_px=0.2, blocks=Made(places_px=[(0.0, 0.0)]))
    level = Made(
        at_mm=1.0, left_mm=-0.001, right_mm=-0.001, transportation_mm=-0.001, u_mm=0.1, centring=-0.001
    )
    found = Made(
        label="46 MB", registration=laid, residual_mm=0.01, levels=[level], left_on_image=["right"], readings=[],
        findings=[],
    )  # fmt: skip
    print_comparison(Console(width=200), found, status="estimate, not confirmed")  # type: ignore[arg-type]
    out = capsys.readouterr().out
    assert "turned 0.00 degrees" in out
    assert "0.00 ±0.20 mm" in out
    assert "mm to the" not in out
    assert "-0.00" not in out
