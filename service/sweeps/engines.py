"""Who works on the parts: this process, or several; a cluster in `service.sweeps.cluster`.

Each gives the parts back as they are done, every one once, whatever happened to who worked on it.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing, contextmanager
from functools import partial

from service.many import Crew
from service.sweeps.part import SweepPart, SweptPart, decide_part

Done = Generator[tuple[SweepPart, SweptPart], None, None]
Engine = Callable[[Iterable[SweepPart]], Done]


def in_this_process(parts: Iterable[SweepPart]) -> Done:
    """One after the other."""
    for part in parts:
        yield part, decide_part(part)


def in_processes(parts: Iterable[SweepPart], *, crew: Crew) -> Done:
    """In the processes of a crew; what was with one that died is done here."""
    with closing(crew.run(decide_part, parts, here=decide_part)) as done:
        yield from done


@contextmanager
def on_this_machine(processes: int) -> Iterator[Engine]:
    """So many processes of this machine; of one it is this one."""
    if processes == 1:
        yield in_this_process
        return
    crew = Crew(processes=processes, log_level="WARNING")
    try:
        yield partial(in_processes, crew=crew)
    finally:
        crew.close()
