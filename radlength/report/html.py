"""A report as one HTML file: no network, no script, the image and its marks in it."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files

from radlength.report.catalogue import Words
from radlength.report.charts import budget_chart, time_chart
from radlength.report.content import Page, budget_parts
from radlength.report.direction import marked, of_language
from radlength.report.drawing import svg
from radlength.report.extra import extra_module
from radlength.report.overlay import apex_drawing, image_drawing, legend

MOST_INSETS = 8


def html_report(pages: Sequence[Page], words: Words | None = None) -> str:
    """Return pages as one self-contained HTML document.

    Raises
    ------
    ReportError
        The ``report`` extra is not installed.
    """
    words = words or Words()
    safe = extra_module("markupsafe").Markup
    return rendered("report.html", words, pages=[_told(page, words, safe) for page in pages])


def rendered(name: str, words: Words, **told: object) -> str:
    """Return a template of the package filled in, every text escaped, with the style of all pages in it.

    What is written in English or begins with a tooth runs from left to right whatever name it begins with (``ltr``),
    what is in the words of the page as these do (``ours``); what a person typed runs its own way.

    Raises
    ------
    ReportError
        The ``report`` extra is not installed.
    """
    jinja2 = extra_module("jinja2")
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    markup, base = extra_module("markupsafe").Markup, of_language(words.language)
    environment.filters["ltr"] = lambda text: markup('<bdi dir="ltr">{}</bdi>').format(marked(text))
    environment.filters["ours"] = lambda text: markup('<bdi dir="{}">{}</bdi>').format(
        base, marked(text) if base == "ltr" else text
    )
    folder = files("radlength.report").joinpath("templates")
    template = environment.from_string(folder.joinpath(name).read_text(encoding="utf-8"))
    style = markup(folder.joinpath("report.css").read_text(encoding="utf-8"))
    return str(template.render(_=words, language=words.language, direction=base, style=style, **told))


def _told(page: Page, words: Words, safe: type[str]) -> dict[str, object]:
    alt = words("image_alt", name=page.image, tooth=page.tooth)
    ends = any(e.working_length for e in page.estimates)
    return {
        "page": page,
        "image": safe(svg(image_drawing(page.radiograph, page.estimates, alt))),
        "apices": [
            safe(svg(apex_drawing(page.radiograph, page.estimates, number, words)))
            for number in range(min(len(page.estimates), MOST_INSETS))
        ],
        "legend": [(name, safe(svg(drawing))) for name, drawing in legend(words, ends=ends)],
        "budgets": [
            (safe(svg(budget_chart(e, words))), e.canal.label, budget_parts(e)) for e in page.estimates
        ],
        "time": safe(svg(time_chart(page.events, page.tooth, words))) if page.events else None,
    }
