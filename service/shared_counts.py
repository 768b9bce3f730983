"""The folder in which server processes count together, made before the first, deleted at the end.

It is apart from what counts, so that who only starts the server need not load that.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Final

SHARED_FOLDER: Final = "PROMETHEUS_MULTIPROC_DIR"  # the library's own name; read at its import
FOLDER_PREFIX: Final = "approach-metrics-"


def make_shared() -> None:
    """Make the folder for this run, unless one is given."""
    if SHARED_FOLDER not in os.environ:
        os.environ[SHARED_FOLDER] = tempfile.mkdtemp(prefix=FOLDER_PREFIX)


def forget_process(number: int) -> None:
    """Delete what a process that has ended says of the present."""
    folder = os.environ.get(SHARED_FOLDER)
    for file in Path(folder).glob(f"gauge_live*_{number}.db") if folder else ():
        file.unlink(missing_ok=True)


def forget_shared() -> None:
    """Delete the folder of the counts, if it is one that was made for this run."""
    folder = Path(os.environ.get(SHARED_FOLDER, ""))
    if folder.name.startswith(FOLDER_PREFIX):
        shutil.rmtree(folder, ignore_errors=True)
