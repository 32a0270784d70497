"""From a record to something to look at or give away: annotated picture, PDF, HTML, tables, shared copy."""

from radlength.report.case_content import CasePage, case_pages
from radlength.report.case_share import share_case
from radlength.report.case_tables import case_csv, case_json
from radlength.report.catalogue import Words, read_words, template
from radlength.report.content import Page, pages
from radlength.report.html import html_report
from radlength.report.html_case import case_html
from radlength.report.pdf import pdf_report
from radlength.report.pdf_case import case_pdf
from radlength.report.picture import annotated_picture, write_png
from radlength.report.share import Shared, share_copy
from radlength.report.tables import table_csv, table_geojson, table_json
from radlength.report.words import status_words

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
