"""A file that is there whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO


@contextmanager
def whole_file(file: Path) -> Iterator[IO[bytes]]:
    """To be written: beside its place, brought to the disk, and then named. Whatever goes wrong, it
    is as it was before. Raises: OSError.
    """
    beside = file.with_name(f"{file.name}.{os.getpid()}")
    try:
        with beside.open("wb") as opened:
            yield opened
            opened.flush()
            os.fsync(opened.fileno())
        beside.replace(file)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
