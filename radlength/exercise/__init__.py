"""Teaching: sets of exercises with known answers, taking them blind, scoring, and agreement between observers."""

from __future__ import annotations

from radlength.exercise.build import Made, build_set
from radlength.exercise.chance import new_secret
from radlength.exercise.collect import collect_attempt
from radlength.exercise.course import Item, assessment_items, course_items
from radlength.exercise.files import load_attempt, load_set, load_truth, save_attempt, save_set, save_truth
from radlength.exercise.models import Answer, Attempt, ExerciseSet, SealedTruth, Task, Truth
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.score import Key, Result, score_answers
from radlength.exercise.sitting import Sitting, make_answer

__all__ = [
    "Answer",
    "Attempt",
    "ExerciseError",
    "ExerciseSet",
    "Item",
    "Key",
    "Made",
    "Result",
    "SealedTruth",
    "Sitting",
    "Task",
    "Truth",
    "assessment_items",
    "build_set",
    "collect_attempt",
    "course_items",
    "load_attempt",
    "load_set",
    "load_truth",
    "make_answer",
    "new_secret",
    "save_attempt",
    "save_set",
    "save_truth",
    "score_answers",
]
