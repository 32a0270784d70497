"""From a record to something to look at: the annotated picture."""

from radlength.report.picture import annotated_picture, write_png
from radlength.report.words import status_words

__all__ = ["annotated_picture", "status_words", "write_png"]
