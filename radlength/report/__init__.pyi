# ruff: noqa: TID252 - the lazy loader reads this file and knows relative names only
from .case_content import CasePage, case_pages
from .case_share import share_case
from .case_tables import case_csv, case_json
from .catalogue import Words, read_words, template
from .content import Page, pages
from .html import html_report
from .html_case import case_html
from .pdf import pdf_report
from .pdf_case import case_pdf
from .picture import annotated_picture, write_png
from .share import Shared, share_copy
from .tables import table_csv, table_geojson, table_json
from .words import status_words

__all__ = [
    "CasePage",
    "Page",
    "Shared",
    "Words",
    "annotated_picture",
    "case_csv",
    "case_html",
    "case_json",
    "case_pages",
    "case_pdf",
    "html_report",
    "pages",
    "pdf_report",
    "read_words",
    "share_case",
    "share_copy",
    "status_words",
    "table_csv",
    "table_geojson",
    "table_json",
    "template",
    "write_png",
]
