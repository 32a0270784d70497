"""The marks being edited: snapshots, undo, a live estimate, proposals of a program, saving. Knows no window."""

from radlength.session.confirming import ConfirmationShown
from radlength.session.core import Session
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft
from radlength.session.proposal import Proposal
from radlength.session.unsaved import Unsaved, unsaved_path

__all__ = [
    "Annotation",
    "CanalDraft",
    "ConfirmationShown",
    "Proposal",
    "ReferenceDraft",
    "Session",
    "Unsaved",
    "unsaved_path",
]
