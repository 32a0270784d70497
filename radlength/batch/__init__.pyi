# ruff: noqa: TID252 - the lazy loader reads this file and knows relative names only
from .cluster import on_scheduler
from .find import images_below
from .jobs import JOBS
from .local import on_processes
from .run import Batch, run_batch
from .study import StudyRow, run_study, study_table
from .table import batch_csv, batch_json, batch_parquet
from .task import Outcome, Task

__all__ = [
    "JOBS",
    "Batch",
    "Outcome",
    "StudyRow",
    "Task",
    "batch_csv",
    "batch_json",
    "batch_parquet",
    "images_below",
    "on_processes",
    "on_scheduler",
    "run_batch",
    "run_study",
    "study_table",
]
